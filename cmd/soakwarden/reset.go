package main

import (
	"errors"

	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

func newResetCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var seen []string
	cmd := &cobra.Command{
		Use:   "reset STATION CAUSE --seen THINGS --who NAME --why REASON",
		Short: "Reset a trip, after looking at the animal, the level, the probe and the pad",
		Long: `Reset a trip. It is refused while its cause persists, and when what must be
looked at for this cause (animal, level, probe, pad; in a chamber probe, heater) was not named in --seen.
Name only what you have looked at: the reset lets heat return to the animal.`,
		Args: stationAndCause,
		RunE: func(cmd *cobra.Command, args []string) error {
			if person.who == "" || person.why == "" {
				return errors.New("a reset stands in the journal under a name and with a reason: write --who NAME --why REASON")
			}
			return act(cmd, &board, status.Request{
				Station: args[0], Act: "reset", Cause: args[1], Seen: seen, Who: person.who, Why: person.why,
			})
		},
	}
	board.add(cmd)
	person.add(cmd)
	cmd.Flags().StringSliceVar(&seen, "seen", nil, "what you have looked at: animal,level,probe,pad,heater")
	return cmd
}
