package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/journal"
	"soakwarden/internal/rehearsal"
)

func newSimulateCommand() *cobra.Command {
	var asJSON, narrate bool
	var seed int64
	var table, figure, kept string
	cmd := &cobra.Command{
		Use:   "simulate SCENARIO",
		Short: "Rehearse one scenario in virtual time, judged by the model's truth",
		Long: "Runs the configuration that the scenario names through the very loop that drives hardware, " +
			"on simulated buses, relays and a thermal model. It writes nothing but what you ask for.\n" +
			"Exit status 1 means that a promise was broken.",
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := rehearsal.LoadScenario(args[0])
			if err != nil {
				return err
			}
			if cmd.Flags().Changed("seed") {
				if seed < 0 {
					return fmt.Errorf("--seed is %d: write 0 or more", seed)
				}
				s.Seed = uint64(seed)
			}
			o := rehearsal.Options{}
			if narrate {
				o.Narrate = cmd.OutOrStdout()
			}
			var samples []*rehearsal.Sample
			if figure != "" {
				o.Sample = func(m *rehearsal.Sample) error { samples = append(samples, m); return nil }
			}
			if table != "" {
				closeTable, err := tableTo(table, &o)
				if err != nil {
					return err
				}
				defer closeTable()
			}
			if !asJSON {
				o.Progress = progress(cmd)
			}
			var record *journal.Memory
			if kept != "" {
				record = journal.NewMemory(journal.Options{Reason: "rehearsal of " + s.Name, Version: version(), Alone: true})
				o.Recorder = record
			}
			out, err := s.Run(o)
			if err != nil {
				return err
			}
			if kept != "" {
				if err := errors.Join(record.Close(), record.WriteFile(kept)); err != nil {
					return err
				}
			}
			if figure != "" {
				if err := rehearsal.PlotAll(figure, s.Config, samples); err != nil {
					return err
				}
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), out)
			} else {
				err = out.Print(cmd.OutOrStdout())
			}
			if err != nil {
				return err
			}
			if !out.Held() {
				return errBadNews
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the outcome as JSON")
	cmd.Flags().BoolVar(&narrate, "narrate", false, "tell everything that happens, a line each")
	cmd.Flags().Int64Var(&seed, "seed", 0, "use this seed instead of the scenario's")
	cmd.Flags().StringVar(&table, "csv", "", "write a row a minute and station to this file")
	cmd.Flags().StringVar(&kept, "journal", "", "write the record of the run to this new file, for the commands of journal")
	cmd.Flags().StringVar(&figure, "plot", "", "draw the run into this file (svg, png or pdf by its ending)")
	return cmd
}

// tableTo adds a CSV file to what the run hands out.
func tableTo(path string, o *rehearsal.Options) (closeTable func(), err error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	table, err := rehearsal.NewCSV(f)
	if err != nil {
		return nil, err
	}
	draw := o.Sample
	o.Sample = func(m *rehearsal.Sample) error {
		if draw != nil {
			if err := draw(m); err != nil {
				return err
			}
		}
		return table.Write(m)
	}
	return func() {
		if err := table.Close(); err != nil {
			fmt.Fprintln(os.Stderr, "soakwarden: csv:", err)
		}
		if err := f.Close(); err != nil {
			fmt.Fprintln(os.Stderr, "soakwarden: csv:", err)
		}
	}, nil
}

// progress writes how far a long run is, on one line of the terminal's error
// output, so that the answer stays clean.
func progress(cmd *cobra.Command) func(done, all time.Duration) {
	last := -1
	return func(done, all time.Duration) {
		percent := int(100 * done / all)
		if percent == last {
			return
		}
		last = percent
		fmt.Fprintf(cmd.ErrOrStderr(), "\rrehearsed %s of %s (%d %%)", done, all, percent)
		if done >= all {
			fmt.Fprintln(cmd.ErrOrStderr())
		}
	}
}
