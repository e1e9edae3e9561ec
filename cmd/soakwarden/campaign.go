package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/rehearsal"
	"soakwarden/sim/rig"
)

func newCampaignCommand() *cobra.Command {
	var c rehearsal.Campaign
	var fault, probes, failing string
	var seed int64
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "campaign",
		Short: "Rehearse many tubs, each with a fault, and judge them all",
		Long: "Draws tubs from the promised envelope, off the nominal values that the controller is told, in a busy room, " +
			"and gives each a fault (or none, or two). The same seed gives the same answer, however many processors work on it.\n" +
			"Exit status 1 means that a judge objects.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if seed < 0 {
				return fmt.Errorf("--seed is %d: write 0 or more", seed)
			}
			c.Seed, c.Fault, c.Probes = uint64(seed), rig.FaultKind(fault), rehearsal.ProbeSet(probes)
			if err := c.Check(); err != nil {
				return err
			}
			if !asJSON {
				last := time.Time{}
				c.Progress = func(done, all int) {
					if now := time.Now(); done == all || now.Sub(last) > time.Second {
						last = now
						fmt.Fprintf(cmd.ErrOrStderr(), "\r%d of %d runs", done, all)
					}
					if done == all {
						fmt.Fprintln(cmd.ErrOrStderr())
					}
				}
			}
			out, err := c.Run()
			if err != nil {
				return err
			}
			if failing != "" && c.Plain {
				return fmt.Errorf("--failing does not go with --plain: a scenario is always run by the program")
			}
			if failing != "" && len(out.Violations) > 0 {
				if err := c.WriteFailing(failing, out.Violations[0]); err != nil {
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
			if out.Bad() {
				return errBadNews
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.IntVar(&c.Runs, "runs", 300, "how many tubs")
	f.Int64Var(&seed, "seed", 1, "where the draw begins")
	f.StringVar(&fault, "fault", "", "only this kind of fault")
	f.BoolVar(&c.Pairs, "pairs", false, "two faults in each run: every pair in turn on each tub")
	f.BoolVar(&c.Swarm, "swarm", false, "many faults in each run: some kinds never, others at wild rates")
	f.BoolVar(&c.Plain, "plain", false, "let a plain limit (one probe, differential, cutoff) control the same tubs")
	f.IntVar(&c.First, "first", 0, "the number of the first run, to go on or to repeat one")
	f.DurationVar(&c.Longest, "longest", 0, "begin no further run after this time and tell of those that were run; 0 for all")
	f.BoolVar(&c.NoFaults, "no-faults", false, "a week without a fault in each run")
	f.StringVar(&probes, "probes", "", "one, two or floor; all three in turn when left out")
	f.IntVar(&c.Workers, "workers", 0, "processors to use, 0 for all")
	f.BoolVar(&c.Unprotected, "unprotected", false, "weld both relays in every run: a judge must object")
	f.BoolVar(&c.Replay, "replay", false, "decide every run again from its record: a decision that differs is an objection")
	f.StringVar(&c.Journals, "journals", "", "folder into which the record of each run is written")
	f.StringVar(&failing, "failing", "", "folder into which the first failing run is written, shrunk, as a scenario")
	f.BoolVar(&asJSON, "json", false, "print the result as JSON")
	return cmd
}
