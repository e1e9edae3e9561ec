package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/internal/socket"
)

func newNoteCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var station string
	cmd := &cobra.Command{
		Use:   "note TEXT…",
		Short: "Write a remark into the journal",
		Args:  cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := board.client()
			if err != nil {
				return err
			}
			if _, err := c.Note(cmd.Context(), socket.Remark{
				Station: station, Who: person.name(), Text: strings.Join(args, " "),
			}); err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), "written and on disk")
			return nil
		},
	}
	board.add(cmd)
	cmd.Flags().StringVar(&person.who, "who", "", "who writes this (default: the user who is logged in)")
	cmd.Flags().StringVar(&station, "station", "", "station it is about (default: the whole bench)")
	return cmd
}
