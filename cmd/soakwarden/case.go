package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
)

func newCaseCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "case",
		Short: "Begin, list and report the cases: from the first suspicion to the all-clear",
	}
	cmd.AddCommand(newCaseBeginCommand(), newCaseListCommand(), newCaseReportCommand(), newCaseRoomCommand())
	return cmd
}

func newCaseBeginCommand() *cobra.Command {
	var board boardFlags
	var person personFlags
	var w casebook.Words
	var asJSON bool
	questions := ""
	for q := range procedure.QuestionCount {
		a := procedure.Question(q).Ask()
		questions += fmt.Sprintf("\n  %-10s %s\n             %s", a.Word, a.Text, a.Follow)
	}
	cmd := &cobra.Command{
		Use:   "begin STATION --animal LABEL --asked",
		Short: "Begin a case at a tub",
		Long: `Begin a case at a tub. The heat budget of the tub is worked out first: a pad that
would be dangerous cannot be started unattended. Every question is answered:
--asked says that all were asked and are no, except those that --yes names. A
yes means veterinarian first: write who said what with --vet.
` + questions,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			w.Case, w.Order, w.Who, w.Why = args[0], procedure.Begin.String(), person.name(), person.why
			return order(cmd, &board, w, asJSON)
		},
	}
	board.add(cmd)
	person.add(cmd)
	f := cmd.Flags()
	f.StringVar(&w.Animal, "animal", "", "label of the animal, as on its enclosure")
	f.BoolVar(&w.Asked, "asked", false, "every question was asked; those not in --yes are no")
	f.StringSliceVar(&w.Yes, "yes", nil, "questions whose answer is yes, with commas between")
	f.StringVar(&w.Vet, "vet", "", "what the veterinarian said, and who")
	f.StringVar(&w.Soak, "soak", "", "length of the soak with its rests, 4d to 7d (default 6d)")
	f.StringVar(&w.Wet, "wet", "", "longest unbroken time in water, at most 24h (default 24h)")
	f.StringVar(&w.Rest, "rest", "", "dry rest, at least (default 8h)")
	f.StringVar(&w.Water, "water", "", "water change at the latest (default 12h)")
	f.StringVar(&w.Rounds, "rounds", "", "a round at the latest (default 6h)")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

func newCaseListCommand() *cobra.Command {
	var board boardFlags
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "Where every case stands, what is due and what comes next",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			c, err := board.client()
			if err != nil {
				return err
			}
			all, err := c.Cases(cmd.Context())
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), all)
			} else {
				err = printCases(cmd.OutOrStdout(), all)
			}
			if err == nil && overdue(all) {
				err = errBadNews
			}
			return err
		},
	}
	board.add(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

func overdue(all []casebook.Line) bool {
	for _, l := range all {
		for _, d := range l.Due {
			if d.Priority != procedure.NoPriority.String() {
				return true
			}
		}
	}
	return false
}

func printCases(w io.Writer, all []casebook.Line) error {
	var b strings.Builder
	if len(all) == 0 {
		b.WriteString("no case; begin one with soakwarden case begin STATION\n")
	}
	for _, l := range all {
		fmt.Fprintf(&b, "%s  %s, %s, for %s\n", l.Case, l.Animal, l.Stage, l.Since)
		for _, row := range [][2]string{
			{"PAUSED", l.Paused}, {"where", l.Place}, {"program checks", l.Checks}, {"you confirm", l.Confirms},
			{"lasts", l.Lasts}, {"next", l.Next}, {"stops it", l.Stops},
		} {
			if row[1] != "" {
				fmt.Fprintf(&b, "  %-15s %s\n", row[0], row[1])
			}
		}
		for _, d := range l.Due {
			when := "in " + d.In
			switch {
			case d.InS < 0:
				when = "OVERDUE by " + strings.TrimPrefix(d.In, "-")
			case d.InS == 0:
				when = "now"
			}
			if d.Priority != procedure.NoPriority.String() {
				when += ", " + d.Priority + " alarm"
			}
			if d.Quiet {
				when += ", not told before the morning"
			}
			fmt.Fprintf(&b, "  %-15s %s (%s)\n", "due", d.What, when)
		}
		if l.TopUpL != nil && *l.TopUpL >= 0.1 {
			fmt.Fprintf(&b, "  %-15s about %.1f L is missing since the change: plain water of the set point, in attended mode\n", "top up", *l.TopUpL)
		}
		if l.FollowUp != nil {
			for _, e := range l.FollowUp.Events {
				fmt.Fprintf(&b, "  %-15s %s  %s\n", "follow-up", e.Date, e.What)
			}
		}
		for _, k := range l.Used {
			state := "NOT aired: no animal goes there"
			if k.Aired != "" {
				state = "aired: " + k.Aired
			}
			fmt.Fprintf(&b, "  %-15s %s on %s, by %s (%s)\n", "chemical", k.Product, k.Where, k.By, state)
		}
		for _, i := range l.Items {
			state := "not treated"
			switch {
			case i.Way == procedure.ThrowAway.String():
				state = "sealed in a bag, out of the house"
			case i.Record != "" && (i.Sealed || i.Enclosure):
				state = "record " + i.Record
			case i.Record != "":
				state = "record " + i.Record + ", NOT sealed and labelled"
			}
			fmt.Fprintf(&b, "  %-15s %s: %s (%s)\n", "furnishing", i.Name, i.Way, state)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// order gives a case an order and says what became of it and what is next. A
// refusal is bad news.
func order(cmd *cobra.Command, board *boardFlags, w casebook.Words, asJSON bool) error {
	c, err := board.client()
	if err != nil {
		return err
	}
	reply, err := c.Order(cmd.Context(), w)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	switch {
	case asJSON:
		err = printJSON(out, reply)
	case !reply.Done:
		_, err = fmt.Fprintln(out, reply.Refused)
	default:
		fmt.Fprintf(out, "done: %s (%s, %s)\n", reply.Says, reply.Case, reply.Stage)
		for _, do := range reply.Do {
			fmt.Fprintln(out, "  "+do)
		}
	}
	if err == nil && !reply.Done {
		err = errBadNews
	}
	return err
}
