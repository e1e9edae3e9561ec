package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/controller/treatment"
	"soakwarden/internal/assess"
)

func newAssessCommand() *cobra.Command {
	var q assess.Question
	var asJSON bool
	d := assess.Defaults()
	var names []string
	for _, s := range treatment.Schedules() {
		names = append(names, s.Name)
	}
	cmd := &cobra.Command{
		Use:   "assess LOG.csv",
		Short: "Judge any instrument's time–temperature log against a schedule",
		Long: `Judge any instrument's time–temperature log against a schedule.

The log has a header, a time by RFC 3339 in its first column and one column for
each probe with its unit in the header: core [C], plank (°F). Columns are
separated by commas, semicolons or tabs; with the latter two numbers may have
decimal commas. Every probe must be at the target or past it together, its
uncertainty taken off, without a break.

Ends with 0 for PASS, 1 for FAIL, 2 when the log cannot be judged.`,
		Example: "  soakwarden assess oven.csv --schedule core-56-30min --uncertainty 0.5K\n" +
			"  soakwarden assess freezer.csv --target -18C --hold 14d --freeze --unit C",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("%d files are named: name one log", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return err
			}
			defer f.Close()
			a, err := assess.Ask(f, q)
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), a)
			} else {
				_, err = fmt.Fprint(cmd.OutOrStdout(), a.Text())
			}
			if err == nil && a.Result != treatment.Pass.String() {
				err = errBadNews
			}
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&q.Schedule, "schedule", "", "a built-in schedule: "+strings.Join(names, ", "))
	f.StringVar(&q.Target, "target", "", "temperature to hold, with its unit")
	f.StringVar(&q.Hold, "hold", "", "for how long, such as 48h or 14d")
	f.BoolVar(&q.Freeze, "freeze", false, "the target is to be held from below")
	f.StringVar(&q.Unit, "unit", "", "C or F, of columns without a unit")
	f.StringSliceVar(&q.Columns, "column", nil, "columns of probes, when there are others too")
	f.StringVar(&q.Uncertainty, "uncertainty", d.Uncertainty, "expanded uncertainty of a reading")
	f.StringVar(&q.LongestGap, "longest-gap", d.LongestGap, "longest time without data that does not restart the clock")
	f.StringVar(&q.Reference, "reference", d.Reference, "reference temperature of the lethality")
	f.StringVar(&q.Z, "z", d.Z, "z in kelvin below the reference")
	f.StringVar(&q.ZAbove, "z-above", d.ZAbove, "z in kelvin above the reference")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
