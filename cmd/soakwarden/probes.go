package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/controller"
	"soakwarden/internal/daemon"
	"soakwarden/internal/status"
)

type probesBus struct {
	Name   string       `json:"name"`
	Error  *string      `json:"error"`
	Probes []probesLine `json:"probes"`
}

type probesLine struct {
	ROM     string   `json:"rom"`
	Type    string   `json:"type"`
	Present bool     `json:"present"`
	Station *string  `json:"station"` // null: not in the configuration
	Role    *string  `json:"role"`
	ValueC  *float64 `json:"value_c"` // calibrated; null when there is no reading
	Quality string   `json:"quality"`
	Flaw    *string  `json:"flaw"`
}

func newProbesCommand() *cobra.Command {
	var file string
	var asJSON bool
	var limit time.Duration
	cmd := &cobra.Command{
		Use:   "probes -c FILE",
		Short: "List every probe on every bus, with its value and what is thought of it",
		Long: "List every probe on every bus of a configuration, with its value and what is\n" +
			"thought of it, and every configured probe that is not there. Nothing is switched.\n" +
			"Warm one probe in your hand to find out which it is.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			cfg, err := loadConfig(file)
			if err != nil {
				return err
			}
			buses, good := probesOf(daemon.Survey(cmd.Context(), cfg, limit))
			if asJSON {
				if err := printJSON(cmd.OutOrStdout(), map[string]any{"buses": buses}); err != nil {
					return err
				}
			} else {
				printProbes(cmd, buses)
			}
			if !good {
				return errBadNews
			}
			return nil
		},
	}
	cmd.Flags().StringVarP(&file, "config", "c", "", "configuration")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	cmd.Flags().DurationVar(&limit, "limit", 15*time.Second, "longest time for a bus")
	_ = cmd.MarkFlagRequired("config")
	return cmd
}

// probesOf words a survey; good says whether every bus answers and every
// configured probe reads well.
func probesOf(survey []daemon.BusSurvey) (buses []probesBus, good bool) {
	good = true
	for _, b := range survey {
		bus := probesBus{Name: b.Name, Probes: []probesLine{}}
		if b.Err != nil {
			good = false
			text := b.Err.Error()
			bus.Error = &text
		}
		for i := range b.Probes {
			line := probeLine(&b.Probes[i])
			good = good && (line.Station == nil || line.Quality == status.QualityWord(controller.Good))
			bus.Probes = append(bus.Probes, line)
		}
		buses = append(buses, bus)
	}
	return buses, good
}

func probeLine(p *daemon.ProbeSurvey) probesLine {
	line := probesLine{ROM: p.ROM, Type: p.Family, Present: p.Present, Quality: status.QualityWord(controller.Unknown)}
	if p.Probe != nil {
		station, role := p.Station, status.RoleWord(p.Probe.Role)
		line.Station, line.Role = &station, &role
	}
	if p.Sample == nil {
		return line
	}
	line.Quality = status.QualityWord(p.Sample.Reading.Quality)
	if p.Sample.Reading.Flaw != controller.NoFlaw {
		flaw := status.FlawWord(p.Sample.Reading.Flaw)
		line.Flaw = &flaw
		return line
	}
	value := status.DegreesC(p.Sample.Reading.Value)
	line.ValueC = &value
	return line
}

func printProbes(cmd *cobra.Command, buses []probesBus) {
	out := cmd.OutOrStdout()
	for _, b := range buses {
		fmt.Fprintf(out, "bus %s\n", b.Name)
		if b.Error != nil {
			fmt.Fprintf(out, "  fault: %s\n", *b.Error)
		}
		for _, p := range b.Probes {
			value := "no reading"
			if p.ValueC != nil {
				value = fmt.Sprintf("%.3f °C", *p.ValueC)
			}
			judgement := p.Quality
			if p.Flaw != nil {
				judgement += " (" + *p.Flaw + ")"
			}
			where := "not in the configuration"
			if p.Station != nil {
				where = *p.Station + "/" + *p.Role
			}
			if !p.Present {
				where += ", not found on the bus"
			}
			fmt.Fprintf(out, "  %s  %-9s %12s  %-24s %s\n", p.ROM, p.Type, value, judgement, where)
		}
	}
}
