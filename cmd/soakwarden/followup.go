package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/followup"
	"soakwarden/internal/status"
)

func newFollowupCommand() *cobra.Command {
	var treated, room, units, file, animal string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "followup --treated DATE --room 27C",
		Short: "The days on which to look again after a treatment",
		Long: `The days on which survivors would hatch, feed and lay at this room temperature,
the last day for a second soak and the earliest all-clear. DATE is the later of
"furnishings done" and "animal back", as 2031-10-04. The hours are a lower bound
from the nearest relative of the snake mite with published rates; each number
says which species it comes from. With --ics they are written to a new
iCalendar file of whole days.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			u, err := status.ParseUnits(units)
			if err != nil {
				return err
			}
			day, err := time.Parse(time.DateOnly, treated)
			if err != nil {
				return fmt.Errorf("--treated %q: write the date as 2031-10-04", treated)
			}
			if room == "" {
				return errors.New("write the temperature of the room in which the animal lives: --room 27C or --room 80F")
			}
			t, err := status.ParseTemperature(room)
			if err != nil {
				return fmt.Errorf("--room: %w", err)
			}
			c, err := followup.Of(day, t, u)
			if err != nil {
				return err
			}
			if file != "" {
				if err := writeFile(file, func(w io.Writer) error { return c.WriteCalendar(w, animal, time.Now()) }); err != nil {
					return err
				}
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), c)
			}
			return c.Write(cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.StringVar(&treated, "treated", "", "later of the day the furnishings were done and the day the animal was back, 2031-10-04")
	f.StringVar(&room, "room", "", "temperature of the room with its unit, 27C or 80F")
	f.StringVar(&file, "ics", "", "also write this new iCalendar file")
	f.StringVar(&animal, "animal", "", "name of the animal in the calendar file")
	f.StringVar(&units, "units", "both", "C, F or both")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
