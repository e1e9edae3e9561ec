package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
	"soakwarden/internal/status"
)

// stageActs are the acts of "stage" that a station takes, in the order in which
// they are explained. Where a case has the tub they go through the case.
var stageActs = []string{
	"attended", "extend", "done", "water-changed", "fill-confirmed",
	"animal-in", "animal-out", "out-of-service", "in-service", "prove",
}

// stageOrders are those that only a case takes.
var stageOrders = []procedure.Order{
	procedure.Detergent, procedure.LiftOut, procedure.Box, procedure.Fill, procedure.DoRinse, procedure.Paper,
	procedure.Return, procedure.Look, procedure.Clear, procedure.Again, procedure.Outage, procedure.Weigh, procedure.Place,
	procedure.Furnish, procedure.Treat, procedure.Seal, procedure.Unseal, procedure.UseChemical, procedure.Air, procedure.Stop,
}

func stageWords() []string {
	words := slices.Clone(stageActs)
	for _, o := range stageOrders {
		words = append(words, o.String())
	}
	return words
}

func newStageCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var w casebook.Words
	var mites int
	cmd := &cobra.Command{
		Use:   "stage STATION ACT",
		Short: "Say what happens at a station or in its case: attended, water-changed, animal-in, rest …",
		Long: `Say what happens at a station:

  attended         the lid comes off: both relays open. Unplug before you reach in.
  extend           more time for that, twice at most
  done             the lid is on, the hands are out
  water-changed    the water was changed (--water 26C)
  fill-confirmed   the level was looked at and is right
  animal-in        an animal is in the tub
  animal-out       no animal is in the tub (lifted out at once)
  out-of-service   no heat until in-service
  in-service       back from out-of-service
  prove            begin the proof of relays and pairing; stay with the tub

and in the case that has the tub (or write the number of a case for STATION):

  detergent        soak water was made, with the lid off (attended first)
  rest --box 27C   the animal is in its warm, dry, dark box
  box --box 27C    the box measured again
  fill             filled again with plain water, after the rest
  rinse            rinsed and looked over; --why when it ends early
  paper            back on paper
  return --room 27C [--date D]   furnishings and animal back in the enclosure
  look --mites N [--date D]      a look of the follow-up
  clear [--date D] all-clear
  again            mites were seen: a new soak
  outage --off 5h  how long the power was off; --off unknown
  weigh --grams N [--text CONDITION], place --text WHERE
  furnish --item NAME --way heat|freeze|wash|"throw away" [--enclosure]
  treated --item NAME --record R, sealed --item NAME --record R, opened --item NAME
  chemical --item WHERE --text PRODUCT    a record: the product as its label says, and where;
                   veterinarian first, no dose here; nothing goes back before it is aired
  aired --item WHERE --text HOW           dry, aired, no smell
  stop --why REASON`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 || !slices.Contains(stageWords(), args[1]) {
				return fmt.Errorf("write the station and one of: %s", strings.Join(stageWords(), ", "))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if args[1] == "attended" {
				fmt.Fprintln(cmd.OutOrStdout(), "Unplug before you reach in.")
			}
			if slices.Contains(stageActs, args[1]) {
				return act(cmd, &board, status.Request{
					Station: args[0], Act: args[1], Water: w.Water, Who: person.name(), Why: person.why,
				})
			}
			w.Case, w.Order, w.Who, w.Why = args[0], args[1], person.name(), person.why
			if cmd.Flags().Changed("mites") {
				w.Mites = &mites
			} else if args[1] == procedure.Look.String() {
				return fmt.Errorf("a look counts mites: write --mites 0 when none was seen")
			}
			return order(cmd, &board, w, false)
		},
	}
	board.add(cmd)
	person.add(cmd)
	f := cmd.Flags()
	f.StringVar(&w.Water, "water", "", "water-changed: temperature of the new water with its unit, 26C or 79F")
	f.StringVar(&w.Box, "box", "", "rest, box: temperature of the dry box, 27C or 81F")
	f.StringVar(&w.Room, "room", "", "return: temperature of the animal's room, 27C or 80F")
	f.StringVar(&w.Date, "date", "", "return, look, clear: the day, when it was not today, 2031-10-04")
	f.StringVar(&w.Off, "off", "", "outage: how long, 30m, 5h or 2d, or unknown")
	f.StringVar(&w.Text, "text", "", "weigh: condition; place: where the animal is; chemical: product; aired: how")
	f.StringVar(&w.Item, "item", "", "furnish, treated, sealed, opened: name of the furnishing; chemical, aired: where")
	f.StringVar(&w.Way, "way", "", "furnish: heat, freeze, wash or \"throw away\"")
	f.StringVar(&w.Record, "record", "", "treated, sealed: number of the treatment's record, or how it was washed")
	f.BoolVar(&w.Encl, "enclosure", false, "furnish: this is the enclosure")
	f.IntVar(&w.Grams, "grams", 0, "weigh: mass")
	f.IntVar(&mites, "mites", 0, "look: mites seen")
	return cmd
}
