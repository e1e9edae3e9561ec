package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/daemon"
	"soakwarden/sensors"
)

// calibrateFlags are the flags of the command as they were written.
type calibrateFlags struct {
	probe, config, bus, keep   string
	at, readings               []string
	count                      int
	every                      time.Duration
	reference, from, to, drift string
	date, due, method          string
	json                       bool
}

type calibrateResult struct {
	Probe       string           `json:"probe"`
	Points      []calibratePoint `json:"points"`
	Uncertainty float64          `json:"uncertainty_k"`
	Before      float64          `json:"uncertainty_before_k"` // as if never calibrated
	FromC       float64          `json:"from_c"`
	ToC         float64          `json:"to_c"`
	Budget      []calibrateTerm  `json:"budget"`
	Method      string           `json:"method"`
	TOML        string           `json:"toml"`
}

type calibratePoint struct {
	ReferenceC  float64 `json:"reference_c"`
	ReadC       float64 `json:"read_c"`
	CorrectionK float64 `json:"correction_k"`
	Readings    int     `json:"readings"`
}

type calibrateTerm struct {
	Source    string  `json:"source"`
	Basis     string  `json:"basis"`
	StandardK float64 `json:"standard_k"`
}

func newCalibrateCommand() *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate --probe ROM --at ice|TEMPERATURE (-c FILE | --readings FILE)",
		Short: "Compare a probe with melting ice or a reference; print what to write",
		Long: "Compare a probe with melting ice or with a reference thermometer, and print the\n" +
			"lines for its place in the configuration, with a budget of what stays uncertain.\n" +
			"With -c it reads the probe live; --keep saves the readings, so that a second\n" +
			"point can be measured later. For two points give --at and --readings twice, in\n" +
			"rising order. For a tub measure at about the set point, or in ice and above it:\n" +
			"ice alone says little about warm water. For a chamber measure in ice and near the\n" +
			"target, and give --from and --to of its range, such as --from 45C --to 62C.\n\n" +
			"Stir. Immerse the probe a hand deep. Wait until it stands still.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			result, err := calibrate(cmd.Context(), &f, time.Now())
			if errors.Is(err, sensors.ErrReplace) {
				fmt.Fprintf(cmd.OutOrStdout(), "%s: %v\n", f.probe, err)
				return errBadNews
			}
			if err != nil {
				return err
			}
			if f.json {
				return printJSON(cmd.OutOrStdout(), result)
			}
			printCalibration(cmd, result)
			return nil
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.probe, "probe", "", "ROM code of the probe, such as 28-0316a2795cff")
	flags.StringArrayVar(&f.at, "at", nil, "\"ice\", or the reference's temperature such as 29.43C; once or twice")
	flags.StringArrayVar(&f.readings, "readings", nil, "CSV file of uncorrected readings, one for each --at")
	flags.StringVarP(&f.config, "config", "c", "", "configuration whose bus to read the probe on")
	flags.StringVar(&f.bus, "bus", "", "name of the bus, when the configuration has several and does not place the probe")
	flags.IntVar(&f.count, "count", 60, "readings to take")
	flags.DurationVar(&f.every, "every", time.Second, "time between readings, at least")
	flags.StringVar(&f.keep, "keep", "", "CSV file to save the live readings in")
	flags.StringVar(&f.reference, "reference-uncertainty", "0.05K", "expanded uncertainty of reference and bath")
	flags.StringVar(&f.from, "from", "26C", "coldest at which the probe will be relied on")
	flags.StringVar(&f.to, "to", "34C", "warmest at which the probe will be relied on")
	flags.StringVar(&f.drift, "drift", "0.1K", "how far the probe may wander until it is due again")
	flags.StringVar(&f.date, "date", "", "day of the measurement, such as 2026-03-01; today when left out")
	flags.StringVar(&f.due, "due", "", "day on which to calibrate again; a year later when left out")
	flags.StringVar(&f.method, "method", "", "what to record as the method; from --at when left out")
	flags.BoolVar(&f.json, "json", false, "print JSON")
	_ = cmd.MarkFlagRequired("probe")
	_ = cmd.MarkFlagRequired("at")
	return cmd
}

// calibrate collects the readings and fits them.
func calibrate(ctx context.Context, f *calibrateFlags, today time.Time) (*calibrateResult, error) {
	address, err := sensors.ParseROM(f.probe)
	if err != nil {
		return nil, err
	}
	plan, err := f.plan(today)
	if err != nil {
		return nil, err
	}
	points, err := f.points()
	if err != nil {
		return nil, err
	}
	switch {
	case f.config != "" && len(f.readings) == 0:
		if len(points) != 1 {
			return nil, errors.New("one bath at a time: give one --at with -c, save with --keep, and combine the files with --readings")
		}
		if points[0].Readings, err = f.live(ctx, address); err != nil {
			return nil, err
		}
	case f.config == "" && len(f.readings) == len(points):
		for i, file := range f.readings {
			if points[i].Readings, err = readColumn(file, f.probe); err != nil {
				return nil, err
			}
		}
	default:
		return nil, errors.New("readings come from -c FILE or from --readings FILE, one for each --at")
	}
	c, budget, err := sensors.Fit(points, plan)
	if err != nil {
		return nil, err
	}
	return worded(f.probe, &c, budget, points, plan), nil
}

func readColumn(file, probe string) ([]physic.Temperature, error) {
	r, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	readings, err := sensors.ReadColumn(r, probe)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return readings, nil
}

// plan reads the flags that say what the result is for.
func (f *calibrateFlags) plan(today time.Time) (plan sensors.Plan, err error) {
	if plan.From, err = config.ParseTemperature(f.from); err != nil {
		return plan, fmt.Errorf("--from: %w", err)
	}
	if plan.To, err = config.ParseTemperature(f.to); err != nil {
		return plan, fmt.Errorf("--to: %w", err)
	}
	if plan.Drift, err = config.ParseDifference(f.drift); err != nil {
		return plan, fmt.Errorf("--drift: %w", err)
	}
	plan.Date = today.UTC().Truncate(24 * time.Hour)
	for _, d := range []struct {
		flag, text string
		to         *time.Time
	}{{"--date", f.date, &plan.Date}, {"--due", f.due, &plan.Due}} {
		if d.text == "" {
			continue
		}
		if *d.to, err = time.Parse(time.DateOnly, d.text); err != nil {
			return plan, fmt.Errorf("%s: %q is no day; write it as in 2026-03-01", d.flag, d.text)
		}
	}
	if plan.Method = f.method; plan.Method == "" {
		var names []string
		for _, at := range f.at {
			name := "reference at " + at
			if isIce(at) {
				name = "ice point"
			}
			names = append(names, name)
		}
		plan.Method = strings.Join(names, " and ")
	}
	return plan, nil
}

func isIce(at string) bool { return strings.EqualFold(strings.TrimSpace(at), "ice") }

// points reads the references.
func (f *calibrateFlags) points() (points []sensors.Point, err error) {
	uncertainty, err := config.ParseDifference(f.reference)
	if err != nil {
		return nil, fmt.Errorf("--reference-uncertainty: %w", err)
	}
	for _, at := range f.at {
		p := sensors.Point{Reference: sensors.IcePoint, Uncertainty: uncertainty}
		if !isIce(at) {
			if p.Reference, err = config.ParseTemperature(at); err != nil {
				return nil, fmt.Errorf("--at: %w; or write ice", err)
			}
		}
		points = append(points, p)
	}
	return points, nil
}

// live takes readings from the bus that the probe hangs on.
func (f *calibrateFlags) live(ctx context.Context, address onewire.Address) ([]physic.Temperature, error) {
	if f.count < sensors.FewestReadings {
		return nil, fmt.Errorf("--count: %d readings are too few; take %d at least", f.count, sensors.FewestReadings)
	}
	cfg, err := loadConfig(f.config)
	if err != nil {
		return nil, err
	}
	bus, err := f.busOf(cfg, address)
	if err != nil {
		return nil, err
	}
	source, err := daemon.OpenSource(*bus)
	if err != nil {
		return nil, err
	}
	record, err := sensors.Collect(ctx, source, address, f.count, f.every)
	if err != nil {
		return nil, err
	}
	if f.keep != "" {
		var text strings.Builder
		fmt.Fprintf(&text, "time,%s [C]\n", f.probe)
		for _, r := range record {
			fmt.Fprintf(&text, "%s,%.4f\n", r.At.UTC().Format(time.RFC3339Nano), r.Value.Celsius())
		}
		if err := os.WriteFile(f.keep, []byte(text.String()), 0o644); err != nil {
			return nil, err
		}
	}
	readings := make([]physic.Temperature, len(record))
	for i, r := range record {
		readings[i] = r.Value
	}
	return readings, nil
}

// busOf is the bus that --bus names, or that the configuration places the probe
// on, or the only one.
func (f *calibrateFlags) busOf(cfg *config.Config, address onewire.Address) (*config.Bus, error) {
	name := f.bus
	for _, s := range cfg.Stations {
		for _, p := range s.Probes {
			if p.Address == address && name == "" {
				name = p.Bus
			}
		}
	}
	if name == "" && len(cfg.Buses) == 1 {
		return &cfg.Buses[0], nil
	}
	var names []string
	for i := range cfg.Buses {
		if cfg.Buses[i].Name == name {
			return &cfg.Buses[i], nil
		}
		names = append(names, cfg.Buses[i].Name)
	}
	return nil, fmt.Errorf("on which bus is probe %s? give --bus with one of %s", f.probe, strings.Join(names, ", "))
}

func worded(probe string, c *sensors.Calibration, budget sensors.Budget, points []sensors.Point, plan sensors.Plan) *calibrateResult {
	r := &calibrateResult{
		Probe:       probe,
		Uncertainty: inKelvin(c.Expanded()),
		Before:      inKelvin(sensors.Uncalibrated),
		FromC:       plan.From.Celsius(),
		ToC:         plan.To.Celsius(),
		Method:      plan.Method,
		TOML:        c.TOML(),
	}
	for i, p := range points {
		r.Points = append(r.Points, calibratePoint{
			ReferenceC:  p.Reference.Celsius(),
			ReadC:       c.Corrections[i].At.Celsius(),
			CorrectionK: inKelvin(c.Corrections[i].Add),
			Readings:    len(p.Readings),
		})
	}
	for _, t := range budget {
		r.Budget = append(r.Budget, calibrateTerm{t.Source, t.Basis, t.Standard})
	}
	return r
}

func inKelvin(d controller.Difference) float64 { return float64(d) / float64(controller.Kelvin) }

func printCalibration(cmd *cobra.Command, r *calibrateResult) {
	out := cmd.OutOrStdout()
	for _, p := range r.Points {
		fmt.Fprintf(out, "# %s: %d readings, mean %.3f °C where the reference stood at %.3f °C\n", r.Probe, p.Readings, p.ReadC, p.ReferenceC)
	}
	fmt.Fprintf(out, "# what stays uncertain between %.1f and %.1f °C, in K:\n", r.FromC, r.ToC)
	for _, t := range r.Budget {
		fmt.Fprintf(out, "#   %-24s %6.3f  %s\n", t.Source, t.StandardK, t.Basis)
	}
	fmt.Fprintf(out, "#   %-24s %6.3f  root of the sum of squares, times 2\n", "expanded", r.Uncertainty)
	if len(r.Points) == 1 {
		fmt.Fprintf(out, "# for the record of a treatment that it follows: treat release CHAMBER --after \"%s=%+.3fK,%s\"\n", r.Probe, r.Points[0].CorrectionK, r.Method)
	}
	fmt.Fprint(out, r.TOML)
}
