package main

import (
	"github.com/spf13/cobra"

	"soakwarden/internal/status"
)

func newStatusCommand() *cobra.Command {
	var board boardFlags
	var asJSON bool
	var units string
	cmd := &cobra.Command{
		Use:   "status",
		Short: "What every station does now; ends with 1 while an alarm is active",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			u, err := status.ParseUnits(units)
			if err != nil {
				return err
			}
			c, err := board.client()
			if err != nil {
				return err
			}
			s, err := c.Status(cmd.Context())
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), s)
			} else {
				err = status.Write(cmd.OutOrStdout(), s, u)
			}
			if err == nil && s.Alarming() {
				err = errBadNews
			}
			return err
		},
	}
	board.add(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	cmd.Flags().StringVar(&units, "units", "both", "C, F or both")
	return cmd
}
