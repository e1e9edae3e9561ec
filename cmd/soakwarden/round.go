package main

import (
	"errors"

	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

func newRoundCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	cmd := &cobra.Command{
		Use:   "round STATION",
		Short: "Say that somebody is here and looks at the animal",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("write the station whose animal you look at")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return act(cmd, &board, status.Request{
				Station: args[0], Act: "present", Who: person.name(), Why: person.why,
			})
		},
	}
	board.add(cmd)
	person.add(cmd)
	return cmd
}
