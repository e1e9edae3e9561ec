// Package plan turns a checked configuration into what the loop runs on: which
// probe of which bus belongs to which station, which relay heats it, and the
// plain numbers that its controller is told. It opens nothing; the caller
// brings pins, contacts and buses, real ones or simulated ones.
package plan

import (
	"fmt"
	"slices"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/sizing"
	"soakwarden/sensors"
)

// Parts are the things that a plan needs beside the configuration.
type Parts struct {
	Pins    []gpio.PinOut                    // in the order of Config.Relays
	Buses   []loop.Bus                       // in the order of Config.Buses
	Input   func(name string) loop.Feedback  // a named input, nil when it is not wired
	Buzzer  gpio.PinOut                      // nil when there is none
	Saved   map[string][]byte                // state of each station from before
	Truth   func(i int) *loop.TruthView      // the model's truth, nil on hardware
	Treat   func(station string) loop.Driver // of a chamber's treatments; nil: no chamber heats
	Version string
	// Settings are a station's settings when the caller has them already, as one
	// that plans the same station many times does; nil computes them.
	Settings func(cfg *config.Config, i int) (controller.Settings, error)
	// Wall is the date against which calibrations are overdue; zero when no
	// clock can be trusted, and then none is.
	Wall  time.Time
	Demo  bool
	Speed float64
}

// Build makes the loop's plan.
func Build(cfg *config.Config, parts Parts) (loop.Plan, error) {
	p := loop.Plan{Name: cfg.Name, Version: parts.Version, Config: cfg.Checksum, Demo: parts.Demo, Speed: parts.Speed}
	if len(parts.Pins) != len(cfg.Relays) || len(parts.Buses) != len(cfg.Buses) {
		return p, fmt.Errorf("%d pins for %d relays and %d buses for %d", len(parts.Pins), len(cfg.Relays), len(parts.Buses), len(cfg.Buses))
	}
	seen := make(map[string]string) // relay → its feedback input
	for i := range cfg.Stations {
		st := &cfg.Stations[i]
		seen[st.PadRelay], seen[st.SeriesRelay] = st.PadFeedback, st.SeriesFeedback
	}
	for i, r := range cfg.Relays {
		relay := loop.RelayPlan{Name: r.Name, Pin: parts.Pins[i]}
		if name := seen[r.Name]; name != "" && parts.Input != nil {
			relay.Seen = parts.Input(name)
		}
		p.Relays = append(p.Relays, relay)
	}
	buzzer := loop.NoRelay
	if parts.Buzzer != nil {
		buzzer = len(p.Relays)
		p.Relays = append(p.Relays, loop.RelayPlan{Name: cfg.Notify.Buzzer, Pin: parts.Buzzer, Tells: true})
	}
	for i, b := range cfg.Buses {
		p.Buses = append(p.Buses, loop.BusPlan{Name: b.Name, Bus: parts.Buses[i]})
	}
	for i := range cfg.Stations {
		s, err := station(cfg, i, parts)
		if err != nil {
			return p, err
		}
		s.Buzzer = buzzer
		p.Stations = append(p.Stations, s)
	}
	return p, nil
}

func station(cfg *config.Config, i int, parts Parts) (loop.StationPlan, error) {
	st := &cfg.Stations[i]
	size := sizing.Settings
	if parts.Settings != nil {
		size = parts.Settings
	}
	settings, err := size(cfg, i)
	if err != nil {
		return loop.StationPlan{}, fmt.Errorf("station %s: %w", st.Name, err)
	}
	settings.Probes = slices.Clone(settings.Probes) // whoever gave them may share them
	alone := ""
	if settings.AttendedOnly {
		if alone, err = sizing.NeverAlone(st); err != nil {
			return loop.StationPlan{}, fmt.Errorf("station %s: %w", st.Name, err)
		}
	}
	s := loop.StationPlan{
		NeverAlone: alone,
		Name:       st.Name, Species: st.Species.Name, Settings: settings, Saved: parts.Saved[st.Name],
		Pad: cfg.RelayIndex(st.PadRelay), Series: cfg.RelayIndex(st.SeriesRelay), Fan: cfg.RelayIndex(st.FanRelay),
		Tub: loop.TubView{
			Length: st.Tub.Length, Width: st.Tub.Width, Depth: st.Tub.Depth,
			PadPower: st.Tub.PadPower, Lid: st.Tub.Lid,
		},
	}
	if parts.Input != nil && st.DoorInput != "" {
		s.Door = parts.Input(st.DoorInput)
	}
	if parts.Input != nil && st.AirflowInput != "" {
		s.Airflow = parts.Input(st.AirflowInput)
	}
	if parts.Treat != nil {
		s.Treat = parts.Treat(st.Name)
	}
	if parts.Truth != nil {
		s.Truth = func() *loop.TruthView { return parts.Truth(i) }
	}
	for k, probe := range st.Probes {
		s.Settings.Probes[k].Overdue = !parts.Wall.IsZero() && probe.Calibration.Overdue(parts.Wall)
		s.Probes = append(s.Probes, loop.ProbePlan{Bus: busIndex(cfg, probe.Bus), Address: probe.Address, ROM: probe.ROM})
	}
	return s, nil
}

func busIndex(cfg *config.Config, name string) int {
	for i, b := range cfg.Buses {
		if b.Name == name {
			return i
		}
	}
	return -1
}

// Probes lists the probes of one bus with their calibrations.
func Probes(cfg *config.Config, bus string) []sensors.Probe {
	var list []sensors.Probe
	for i := range cfg.Stations {
		for _, p := range cfg.Stations[i].Probes {
			if p.Bus == bus {
				list = append(list, sensors.Probe{Address: p.Address, Calibration: p.Calibration.Applied()})
			}
		}
	}
	return list
}
