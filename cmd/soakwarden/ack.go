package main

import (
	"errors"

	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

func newAckCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var shelve string
	var unshelve bool
	cmd := &cobra.Command{
		Use:   "ack STATION CAUSE",
		Short: "Acknowledge an alarm: somebody has seen it and acts",
		Args:  stationAndCause,
		RunE: func(cmd *cobra.Command, args []string) error {
			r := status.Request{
				Station: args[0], Act: "acknowledge", Cause: args[1], Who: person.name(), Why: person.why,
			}
			switch {
			case shelve != "" && unshelve:
				return errors.New("--shelve and --unshelve contradict each other: write one of them")
			case shelve != "":
				r.Act, r.For = "shelve", shelve
			case unshelve:
				r.Act = "unshelve"
			}
			return act(cmd, &board, r)
		},
	}
	board.add(cmd)
	person.add(cmd)
	cmd.Flags().StringVar(&shelve, "shelve", "", "silence the alarm for a time, 30m or 2h (at most 8h)")
	cmd.Flags().BoolVar(&unshelve, "unshelve", false, "end the silence")
	return cmd
}
