package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/internal/sizing"
	"soakwarden/internal/treat"
)

func newTreatCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "treat list|plan|start|stop|status|release",
		Short: "Heat or freeze empty furnishings, with a record that proves it",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return errors.New("what? write treat list, plan, start, stop, status or release")
		},
	}
	cmd.AddCommand(newTreatListCommand(), newTreatPlanCommand(), newTreatStartCommand(), newTreatStopCommand(), newTreatStatusCommand(), newTreatReleaseCommand())
	return cmd
}

// oneChamber wants the name of one chamber.
func oneChamber(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("%d names are given: write the name of one chamber", len(args))
	}
	return nil
}

func newTreatListCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "The schedules with their sources, and those that are refused with the reason",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			l := treat.Listed()
			if asJSON {
				return printJSON(cmd.OutOrStdout(), l)
			}
			var b strings.Builder
			for i, s := range treatment.Schedules() {
				way := "or above"
				if s.Freeze {
					way = "or below"
				}
				fmt.Fprintf(&b, "%s: %s %s for %s\n  for     %s\n  source  %s\n", s.Name, treatment.Words(s.Target), way, s.Hold, l.Schedules[i].For, s.Source)
				if s.Ours != "" {
					fmt.Fprintf(&b, "  OURS    %s\n", s.Ours)
				}
			}
			for _, r := range l.Refused {
				fmt.Fprintf(&b, "%s: REFUSED: %s\n  because %s\n  source  %s\n", r.Name, r.What, r.Reason, r.Source)
			}
			_, err := io.WriteString(cmd.OutOrStdout(), b.String())
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// orderFlags say what is to be done.
func orderFlags(cmd *cobra.Command, o *treat.Order) {
	f := cmd.Flags()
	f.StringVar(&o.Schedule, "schedule", "", "one of treat list")
	f.StringVar(&o.Target, "target", "", "of a schedule of one's own, with its unit")
	f.StringVar(&o.Hold, "hold", "", "for how long, such as 48h")
	f.StringVar(&o.LongestGap, "longest-gap", "", "longest time without data (default 5m)")
}

func newTreatPlanCommand() *cobra.Command {
	var board boardFlags
	var o treat.Order
	var asJSON bool
	var start string
	cmd := &cobra.Command{
		Use:   "plan CHAMBER --schedule NAME",
		Short: "How long each core takes, which probe covers what, and what does not fit",
		Long: `How long each core takes, which probe covers what, and what does not fit.

Asks the running daemon; with --start TEMPERATURE it plans from the
configuration alone, everything at that temperature. Ends with 1 when the plan
does not fit.`,
		Args: oneChamber,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Station = args[0]
			p, err := askPlan(cmd, &board, o, start)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), p)
			} else {
				_, err = io.WriteString(cmd.OutOrStdout(), p.Text())
			}
			if err == nil && !p.Fits {
				err = errBadNews
			}
			return err
		},
	}
	board.add(cmd)
	orderFlags(cmd, &o)
	cmd.Flags().StringVar(&start, "start", "", "plan without a daemon, all at this temperature, such as 18C (needs -c)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// askPlan asks the daemon, or plans from a configuration alone.
func askPlan(cmd *cobra.Command, board *boardFlags, o treat.Order, start string) (*sizing.Plan, error) {
	if start == "" {
		c, err := board.client()
		if err != nil {
			return nil, err
		}
		p := new(sizing.Plan)
		return p, c.Ask(cmd.Context(), "/treat/plan", o, p)
	}
	if board.config == "" {
		return nil, errors.New("--start plans from a configuration: name it with -c")
	}
	at, err := config.ParseTemperature(start)
	if err != nil {
		return nil, fmt.Errorf("--start: %w", err)
	}
	cfg, problems, err := config.Load(board.config)
	if err != nil {
		return nil, err
	}
	for _, p := range problems {
		if p.Severity == config.Error {
			return nil, fmt.Errorf("%s:%d:%d: %s", board.config, p.Line, p.Column, p.Message)
		}
	}
	return treat.PlanOf(cfg, o, at.Celsius())
}

func newTreatStartCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var o treat.Order
	var residents []string
	cmd := &cobra.Command{
		Use:   "start CHAMBER --schedule NAME --resident \"NAME=WHERE IT IS NOW\"",
		Short: "Begin a treatment, after a look inside",
		Long: `Begin a treatment. Every animal that lives in these furnishings is named, with
the place where it is now; if none does, say --no-residents. Then the command
shows the plan and asks for a sentence to be typed, anew each time. After that a
buzzer sounds for ten minutes before anything heats.`,
		Args: oneChamber,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Station, o.Operator = args[0], person.name()
			for _, r := range residents {
				name, now, ok := strings.Cut(r, "=")
				if !ok {
					return fmt.Errorf("--resident %q: write the animal and where it is now, such as --resident \"corn snake=tub south\"", r)
				}
				o.Residents = append(o.Residents, treat.Resident{Name: strings.TrimSpace(name), Now: strings.TrimSpace(now)})
			}
			return startTreatment(cmd, &board, o)
		},
	}
	board.add(cmd)
	person.add(cmd)
	orderFlags(cmd, &o)
	f := cmd.Flags()
	f.StringArrayVar(&residents, "resident", nil, "an animal that lives there and where it is now, \"NAME=PLACE\"; once for each")
	f.BoolVar(&o.NoResidents, "no-residents", false, "no animal lives in these furnishings")
	f.StringVar(&o.Load, "load", "", "what is in it, for the record")
	f.StringVar(&o.Mapping, "mapping", "", "when and how the cold spots were looked for, for the record")
	return cmd
}

// startTreatment announces, shows the plan, lets a person type, and starts.
func startTreatment(cmd *cobra.Command, board *boardFlags, o treat.Order) error {
	c, err := board.client()
	if err != nil {
		return err
	}
	var ch treat.Challenge
	if err := c.Ask(cmd.Context(), "/treat/announce", o, &ch); err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "%s\nTreatment %s. Open the chamber and look: behind, under and inside every piece.\n", ch.Plan.Text(), ch.Number)
	fmt.Fprintf(out, "Batteries, cans, solvents, loose paper: take them out.\nType this line to start, anything else to stop:\n\n  %s\n\n> ", ch.Type)
	line, err := bufio.NewReader(cmd.InOrStdin()).ReadString('\n')
	if err != nil {
		return fmt.Errorf("nothing was typed and nothing was started: %w", err)
	}
	var begun map[string]string
	if err := c.Ask(cmd.Context(), "/treat/start", treat.Begin{Station: o.Station, Typed: strings.TrimRight(line, "\r\n")}, &begun); err != nil {
		return err
	}
	fmt.Fprintf(out, "started: %s. The buzzer sounds for ten minutes; soakwarden treat stop %s ends it.\n", begun["number"], o.Station)
	return nil
}

func newTreatStopCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	cmd := &cobra.Command{
		Use:   "stop CHAMBER",
		Short: "Heat off; a treatment that was not held is a FAIL",
		Args:  oneChamber,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := board.client()
			if err != nil {
				return err
			}
			var done map[string]bool
			if err := c.Ask(cmd.Context(), "/treat/stop", treat.End{Station: args[0], Who: person.name(), Why: person.why}, &done); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "stopped: heat is off in %s; release it when it is at a safe temperature\n", args[0])
			return nil
		},
	}
	board.add(cmd)
	person.add(cmd)
	return cmd
}

func newTreatStatusCommand() *cobra.Command {
	var board boardFlags
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "status [CHAMBER]",
		Short: "How far a treatment is and what it waits for",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := board.client()
			if err != nil {
				return err
			}
			path := "/treat/status"
			if len(args) == 1 {
				path += "?station=" + url.QueryEscape(args[0])
			}
			var list []treat.Standing
			if err := c.Ask(cmd.Context(), path, nil, &list); err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), list)
			} else {
				_, err = io.WriteString(cmd.OutOrStdout(), standingText(list))
			}
			for _, s := range list {
				if err == nil && s.Result == treatment.Fail.String() {
					err = errBadNews
				}
			}
			return err
		},
	}
	board.add(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

func standingText(list []treat.Standing) string {
	var b strings.Builder
	span := func(s float64) string { return (time.Duration(s) * time.Second).String() }
	if len(list) == 0 {
		b.WriteString("the configuration has no chamber: nothing is treated here\n")
	}
	for _, s := range list {
		if s.Number == "" {
			fmt.Fprintf(&b, "%s: no treatment\n", s.Station)
			if s.Reason != "" {
				fmt.Fprintf(&b, "  mind       %s\n", s.Reason)
			}
			continue
		}
		fmt.Fprintf(&b, "%s: %s, %s: %s\n  waits for  %s\n", s.Station, s.Number, s.Schedule, s.Stage, s.Waits)
		fmt.Fprintf(&b, "  together   %s now, %s at best, of %s\n", span(s.TogetherS), span(s.LongestS), span(s.HoldS))
		if s.LeftS != nil {
			fmt.Fprintf(&b, "  left       about %s\n", span(*s.LeftS))
		}
		fmt.Fprintf(&b, "  result     %s\n", strings.TrimSpace(s.Result+" "+s.Reason))
		for _, d := range s.Deviations {
			fmt.Fprintf(&b, "  mind       %s\n", d)
		}
	}
	return b.String()
}

func newTreatReleaseCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var l treat.Release
	var after, hand []string
	cmd := &cobra.Command{
		Use:   "release CHAMBER --who NAME",
		Short: "Open a chamber at a safe temperature and print the record",
		Long: `Open a chamber at a safe temperature and print the record: every probe under
30 °C after heating, above 15 °C after freezing. A probe that is dead is spoken
for by --hand: unplug the heater, open the chamber with care, hold a thermometer
to the probe's place, and write what it reads. The record says so.`,
		Args: oneChamber,
		RunE: func(cmd *cobra.Command, args []string) error {
			if person.who == "" {
				return errors.New("who releases it? write --who with a name")
			}
			l.Station, l.Who = args[0], person.who
			for _, a := range after {
				rom, rest, ok := strings.Cut(a, "=")
				offset, method, _ := strings.Cut(rest, ",")
				if !ok {
					return fmt.Errorf("--after %q: write the probe and its offset now, such as --after \"28-0316a2795cff=+0.15K,ice point\"", a)
				}
				l.After = append(l.After, treat.After{ROM: strings.TrimSpace(rom), Offset: strings.TrimSpace(offset), Method: strings.TrimSpace(method)})
			}
			for _, h := range hand {
				rom, read, ok := strings.Cut(h, "=")
				if !ok {
					return fmt.Errorf("--hand %q: write the dead probe and what the thermometer reads, such as --hand \"28-0316a2795cff=24.5C\"", h)
				}
				l.Hand = append(l.Hand, treat.Hand{ROM: strings.TrimSpace(rom), Read: strings.TrimSpace(read)})
			}
			c, err := board.client()
			if err != nil {
				return err
			}
			var out treat.Released
			if err := c.Ask(cmd.Context(), "/treat/release", l, &out); err != nil {
				return err
			}
			if _, err := io.WriteString(cmd.OutOrStdout(), out.Record); err != nil {
				return err
			}
			if out.Result != treatment.Pass.String() {
				return errBadNews
			}
			return nil
		},
	}
	board.add(cmd)
	person.add(cmd)
	f := cmd.Flags()
	f.StringVar(&l.Reviewer, "reviewer", "", "who looked at the record")
	f.StringVar(&l.Label, "label", "", "on the load")
	f.StringVar(&l.Storage, "storage", "", "where the load is kept from now on")
	f.StringArrayVar(&hand, "hand", nil, "a hand thermometer's reading at the place of a dead probe, \"ROM=TEMPERATURE\"; once for each")
	f.StringArrayVar(&after, "after", nil, "a calibration after the treatment, \"ROM=OFFSET,METHOD\"; once for each probe")
	return cmd
}
