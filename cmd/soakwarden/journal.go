package main

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/replay"
)

func newJournalCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "journal",
		Short: "Check, export and print the record",
	}
	cmd.AddCommand(newJournalVerifyCommand(), newJournalExportCommand(), newJournalReportCommand())
	return cmd
}

func newJournalVerifyCommand() *cobra.Command {
	var asJSON, again bool
	var heads []string
	cmd := &cobra.Command{
		Use:   "verify FILE",
		Short: "Compute the chain anew and say whether the record is whole",
		Long: `Computes every hash of the record anew, trusting nothing that is stored, and says
whether an entry was changed, removed, added or moved. A head that was printed
on a report pins everything before it: --head 1234:HEX. With --replay every
decision is made again from its recorded input and compared; what another
decision core recorded is not comparable, which is no failure.

Ends with 1 when the journal does not verify, 2 when the file is no journal.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			known, err := parseHeads(heads)
			if err != nil {
				return err
			}
			var rep verified
			if rep.Report, err = journal.Verify(args[0], known...); err != nil {
				return err
			}
			if again {
				if err := rep.replay(args[0]); err != nil {
					return err
				}
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), rep)
			} else {
				err = rep.print(cmd.OutOrStdout())
			}
			if err == nil && !rep.OK {
				err = errBadNews
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	cmd.Flags().BoolVar(&again, "replay", false, "make every decision again and compare")
	cmd.Flags().StringArrayVar(&heads, "head", nil, "a chain head noted elsewhere, as ENTRIES:HEX")
	return cmd
}

// verified is the answer of verify, with that of the replay when it was asked for.
type verified struct {
	verify.Report
	Replay *replay.Report `json:"replay,omitempty"`
}

func (v *verified) replay(path string) error {
	r, err := journal.OpenReader(path)
	if err != nil {
		return err
	}
	v.Replay, err = replay.Run(r, controller.Core())
	if err = errors.Join(err, r.Close()); err != nil {
		return err
	}
	if !v.Replay.OK {
		v.OK = false
		v.Problems = append(v.Problems, "the decisions in the record do not come out again")
	}
	return nil
}

func (v *verified) print(w io.Writer) error {
	for _, p := range v.Problems {
		if _, err := fmt.Fprintln(w, p); err != nil {
			return err
		}
	}
	if v.Replay != nil {
		if err := printReplay(w, v.Replay); err != nil {
			return err
		}
	}
	word := "the record is whole"
	if !v.OK {
		word = "the record is NOT whole"
	}
	_, err := fmt.Fprintf(w, "%s: %d entries, chain %s\n", word, v.Entries, v.Chain)
	return err
}

func printReplay(w io.Writer, rep *replay.Report) error {
	for _, d := range rep.Differences {
		if _, err := fmt.Fprintf(w, "run %d, %s, %.3f s: %s was %s, comes out as %s\n",
			d.Run, d.Station, d.NowS, d.What, d.Recorded, d.Replayed); err != nil {
			return err
		}
	}
	for _, s := range rep.Stations {
		text := fmt.Sprintf("run %d, %s: %d of %d decisions compared, %d differ", s.Run, s.Name, s.Compared, s.Ticks, s.Different)
		if s.NotComparable != "" {
			text += "; not comparable: " + s.NotComparable
		}
		if _, err := fmt.Fprintln(w, text); err != nil {
			return err
		}
	}
	return nil
}

func parseHeads(texts []string) ([]verify.Head, error) {
	var out []verify.Head
	for _, text := range texts {
		size, root, _ := strings.Cut(text, ":")
		n, err := strconv.ParseUint(size, 10, 64)
		b, hexErr := hex.DecodeString(root)
		if err != nil || hexErr != nil || len(b) != len(verify.Hash{}) {
			return nil, fmt.Errorf("--head %q: write the number of entries, a colon and 64 hexadecimal digits", text)
		}
		out = append(out, verify.Head{Size: n, Root: verify.Hash(b)})
	}
	return out, nil
}

func newJournalExportCommand() *cobra.Command {
	var asJSON bool
	var station, treatment, from, to, copyTo, out string
	var kinds []string
	var every time.Duration
	cmd := &cobra.Command{
		Use:   "export FILE",
		Short: "Write the record as CSV or JSON lines, or copy it",
		Long: `Writes the record as CSV, with --json as JSON lines, or with --sqlite as a
consistent copy of the journal itself; also while the daemon writes it. Times
are RFC 3339 and --to is not included.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			filter := journal.Filter{Station: station, Every: every}
			if filter.Kinds, err = parseKinds(kinds); err != nil {
				return err
			}
			if filter.From, err = parseMoment("--from", from); err != nil {
				return err
			}
			if filter.To, err = parseMoment("--to", to); err != nil {
				return err
			}
			r, err := journal.OpenReader(args[0])
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, r.Close()) }()
			if copyTo != "" {
				return r.Copy(copyTo)
			}
			if treatment != "" {
				if err := filter.OfTreatment(r, treatment); err != nil {
					return err
				}
			}
			write := func(w io.Writer) error {
				if asJSON {
					return journal.ExportJSON(w, r, filter)
				}
				return journal.ExportCSV(w, r, filter)
			}
			if out != "" {
				return writeFile(out, write)
			}
			return write(cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.BoolVar(&asJSON, "json", false, "JSON lines instead of CSV")
	f.StringVar(&station, "station", "", "only this station")
	f.StringVar(&treatment, "treatment", "", "only the time and chamber of the treatment with this number")
	f.StringVar(&from, "from", "", "from this time on, RFC 3339")
	f.StringVar(&to, "to", "", "up to this time, RFC 3339, not included")
	f.StringSliceVar(&kinds, "kind", nil, "only these kinds: "+strings.Join(entry.Kinds(), ", "))
	f.DurationVar(&every, "every", 0, "readings at most this often; every one without it")
	f.StringVar(&copyTo, "sqlite", "", "copy the journal to this new file instead")
	f.StringVarP(&out, "out", "o", "", "write to this new file instead of the standard output")
	return cmd
}

func parseKinds(words []string) ([]entry.Kind, error) {
	var out []entry.Kind
	for _, word := range words {
		k, ok := entry.KindOf(word)
		if !ok {
			return nil, fmt.Errorf("--kind %q is unknown; the kinds are %s", word, strings.Join(entry.Kinds(), ", "))
		}
		out = append(out, k)
	}
	return out, nil
}

func parseMoment(flag, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{time.RFC3339Nano, time.DateOnly} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%s %q: write a date or an RFC 3339 time, such as 2031-10-04T12:00:00Z", flag, text)
}
