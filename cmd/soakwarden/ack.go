package main

import (
	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

func newAckCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	cmd := &cobra.Command{
		Use:   "ack STATION CAUSE",
		Short: "Acknowledge an alarm: somebody has seen it and acts",
		Args:  stationAndCause,
		RunE: func(cmd *cobra.Command, args []string) error {
			return act(cmd, &board, status.Request{
				Station: args[0], Act: "acknowledge", Cause: args[1], Who: person.name(), Why: person.why,
			})
		},
	}
	board.add(cmd)
	person.add(cmd)
	return cmd
}
