package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/journal"
	"soakwarden/internal/journal/report"
	"soakwarden/internal/status"
)

func newJournalReportCommand() *cobra.Command {
	var station, treatment, from, to, out, paper, units string
	cmd := &cobra.Command{
		Use:   "report FILE --station NAME --out FILE.pdf",
		Short: "Print the record of a station as a drawing sheet",
		Long: `Prints the record of one station: the curve with limits and events, each probe's
time at temperature, treatments with their whole record, alarms, acts and notes,
deviations, and the chain head that pins the record. --out ends in .pdf or .html.

Ends with 1 when the journal does not verify; the report is written and says so.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			write, err := reportWriter(out)
			if err != nil {
				return err
			}
			query := report.Query{Station: station, Treatment: treatment}
			if query.From, err = parseMoment("--from", from); err != nil {
				return err
			}
			if query.To, err = parseMoment("--to", to); err != nil {
				return err
			}
			work := report.Paperwork{Printed: time.Now().UTC(), Program: version()}
			if work.Paper, err = report.PaperOf(paper); err != nil {
				return err
			}
			if work.Units, err = status.ParseUnits(units); err != nil {
				return err
			}
			r, err := journal.OpenReader(args[0])
			if err != nil {
				return err
			}
			sheet, err := report.Collect(r, query)
			if err = errors.Join(err, r.Close()); err != nil {
				return err
			}
			if err := writeFile(out, func(w io.Writer) error { return write(w, sheet, work) }); err != nil {
				return err
			}
			if !sheet.Head.OK {
				return errBadNews
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&station, "station", "", "the station to print")
	f.StringVar(&treatment, "treatment", "", "only the treatment with this number, and its time")
	f.StringVar(&from, "from", "", "from this time on, RFC 3339; from the first reading without it")
	f.StringVar(&to, "to", "", "up to this time, RFC 3339, not included; to the last reading without it")
	f.StringVarP(&out, "out", "o", "", "the new file to write, .pdf or .html")
	f.StringVar(&units, "units", "both", "C, F or both")
	f.StringVar(&paper, "paper", "A4", "A4 or Letter")
	for _, must := range []string{"station", "out"} {
		if err := cmd.MarkFlagRequired(must); err != nil {
			panic(err)
		}
	}
	return cmd
}

func reportWriter(name string) (func(io.Writer, *report.Sheet, report.Paperwork) error, error) {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".pdf":
		return report.PDF, nil
	case ".html":
		return report.HTML, nil
	}
	return nil, fmt.Errorf("--out %q: end the name in .pdf or .html", name)
}

// writeFile writes a file that must not exist yet.
func writeFile(name string, write func(io.Writer) error) error {
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return errors.Join(write(file), file.Close())
}
