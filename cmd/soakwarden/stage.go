package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

// stageActs are the acts of "stage", in the order in which they are explained.
var stageActs = []string{
	"attended", "extend", "done", "water-changed", "fill-confirmed",
	"animal-in", "animal-out", "out-of-service", "in-service", "prove",
}

func newStageCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var water string
	cmd := &cobra.Command{
		Use:   "stage STATION ACT",
		Short: "Say what happens at a station: attended, water-changed, animal-in …",
		Long: `Say what happens at a station:

  attended         the lid comes off: both relays open. Unplug before you reach in.
  extend           more time for that, twice at most
  done             the lid is on, the hands are out
  water-changed    the water was changed (--water 26C)
  fill-confirmed   the level was looked at and is right
  animal-in        an animal is in the tub
  animal-out       no animal is in the tub
  out-of-service   no heat until in-service
  in-service       back from out-of-service
  prove            begin the proof of relays and pairing; stay with the tub`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 || !slices.Contains(stageActs, args[1]) {
				return fmt.Errorf("write the station and one of: %s", strings.Join(stageActs, ", "))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if args[1] == "attended" {
				fmt.Fprintln(cmd.OutOrStdout(), "Unplug before you reach in.")
			}
			return act(cmd, &board, status.Request{
				Station: args[0], Act: args[1], Water: water, Who: person.name(), Why: person.why,
			})
		},
	}
	board.add(cmd)
	person.add(cmd)
	cmd.Flags().StringVar(&water, "water", "", "water-changed: temperature of the new water with its unit, 26C or 79F")
	return cmd
}
