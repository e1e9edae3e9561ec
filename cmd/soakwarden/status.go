package main

import (
	"fmt"
	"time"

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
		Long: `What every station does now. Ends with 1 while an alarm is active, and with 2
when nobody answers or when the numbers are old because ticks have stopped.`,
		Args: cobra.NoArgs,
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
			if age, stale := s.Age(time.Now()); err == nil && stale {
				return fmt.Errorf("NOT LIVE: these numbers are of %s, %s ago; look at the animals, then at the daemon", s.Time, age.Round(time.Second))
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
