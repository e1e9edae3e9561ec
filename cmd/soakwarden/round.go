package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
	"soakwarden/internal/status"
)

func newRoundCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var w casebook.Words
	var mites int
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "round STATION",
		Short: "Say that somebody is here and looks at the animal; with --all-well or --not the whole round",
		Long: `Say that somebody is here and looks at the animal. Where a case runs, a round is
done when everything on the list was looked at: say --all-well, or --not with
the words of what is not well and then everything else is.` + roundList(),
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("write the station whose animal you look at")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if w.AllWell || len(w.Not) > 0 {
				w.Case, w.Order, w.Who, w.Why = args[0], procedure.DoRound.String(), person.name(), person.why
				if cmd.Flags().Changed("mites") {
					w.Mites = &mites
				}
				return order(cmd, &board, w, asJSON)
			}
			if err := act(cmd, &board, status.Request{
				Station: args[0], Act: "present", Who: person.name(), Why: person.why,
			}); err != nil {
				return err
			}
			remindOfList(cmd, &board, args[0])
			return nil
		},
	}
	board.add(cmd)
	person.add(cmd)
	f := cmd.Flags()
	f.BoolVar(&w.AllWell, "all-well", false, "everything on the list was looked at and is well")
	f.StringSliceVar(&w.Not, "not", nil, "what is not well, with commas between; everything else was looked at and is well")
	f.IntVar(&mites, "mites", 0, "mites counted in the drained water")
	f.StringVar(&w.At, "at", "", "when it was, RFC 3339, when it was not now")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

func roundList() string {
	list := "\n"
	for c := range procedure.CheckCount {
		s := procedure.Check(c).See()
		list += fmt.Sprintf("\n  %-7s %s", s.Word, s.Text)
	}
	return list
}

// remindOfList says, where a case has the tub, that looking in is no round yet.
// A daemon that leads no cases has no list to remind of.
func remindOfList(cmd *cobra.Command, board *boardFlags, station string) {
	c, err := board.client()
	if err != nil {
		return
	}
	all, err := c.Cases(cmd.Context())
	if err != nil {
		return
	}
	for _, l := range all {
		if l.Station == station && l.Stage != procedure.Cleared.String() && l.Stage != procedure.Stopped.String() {
			fmt.Fprintf(cmd.OutOrStdout(), "looking in is no round yet; look at everything, then soakwarden round %s --all-well, or --not WORDS:%s\n", station, roundList())
			return
		}
	}
}
