package main

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/entry"
)

func newCaseReportCommand() *cobra.Command {
	var asJSON bool
	var id string
	cmd := &cobra.Command{
		Use:   "report JOURNAL",
		Short: "Tell a case from its journal: soaks, rests, rounds, trips, treatments, looks",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, err := journal.OpenReader(args[0])
			if err != nil {
				return err
			}
			var all casebook.Reporter
			err = r.Documents(casebook.Topic, func(e *entry.Entry, d *entry.Document) error {
				return all.Take(e.Seq, e.Station, d.JSON)
			})
			if err = errors.Join(err, r.Close()); err != nil {
				return err
			}
			report, err := all.Report(id)
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), report)
			}
			return report.Write(cmd.OutOrStdout(), time.Local)
		},
	}
	cmd.Flags().StringVar(&id, "case", "", "number of the case; may be left away when there is one")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
