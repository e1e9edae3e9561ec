package daemon

import (
	"context"
	"slices"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/internal/config"
	"soakwarden/internal/plan"
	"soakwarden/sensors"
)

// BusSurvey is everything that a bus says about itself.
type BusSurvey struct {
	Name   string
	Err    error // the bus could not be opened, searched or read
	Probes []ProbeSurvey
}

// ProbeSurvey is one probe that is on a bus, or ought to be.
type ProbeSurvey struct {
	ROM     string
	Family  string
	Present bool // it answered the search
	Station string
	Probe   *config.Probe // nil when the configuration does not name it
	Sample  *sensors.Sample
}

// Survey searches and reads every bus of a configuration, each for at most
// limit, at the same time. It switches nothing.
func Survey(ctx context.Context, cfg *config.Config, limit time.Duration) []BusSurvey {
	all := make([]BusSurvey, len(cfg.Buses))
	done := make(chan struct{})
	for i, b := range cfg.Buses {
		go func() {
			all[i] = surveyBus(ctx, cfg, b, limit)
			done <- struct{}{}
		}()
	}
	for range cfg.Buses {
		<-done
	}
	return all
}

func surveyBus(ctx context.Context, cfg *config.Config, b config.Bus, limit time.Duration) BusSurvey {
	s := BusSurvey{Name: b.Name}
	source, closer, err := openSource(b)
	if err != nil {
		s.Err = err
		return s
	}
	defer closer.Close()
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	found, err := search(ctx, source)
	if err != nil {
		s.Err = err
	}
	probes := plan.Probes(cfg, b.Name)
	for _, a := range found {
		known := slices.ContainsFunc(probes, func(p sensors.Probe) bool { return p.Address == a })
		if !known && sensors.Known(sensors.Family(a)) {
			probes = append(probes, sensors.Probe{Address: a})
		}
	}
	var cycle *sensors.Cycle
	if s.Err == nil {
		cycle, s.Err = read(ctx, b.Name, source, probes)
	}
	for _, p := range probes {
		one := ProbeSurvey{ROM: sensors.FormatROM(p.Address), Family: sensors.FamilyName(sensors.Family(p.Address)), Present: slices.Contains(found, p.Address)}
		for i := range cfg.Stations {
			for k := range cfg.Stations[i].Probes {
				if c := &cfg.Stations[i].Probes[k]; c.Bus == b.Name && c.Address == p.Address {
					one.Station, one.Probe = cfg.Stations[i].Name, c
				}
			}
		}
		if cycle != nil {
			for i := range cycle.Samples {
				if cycle.Samples[i].Address == p.Address {
					one.Sample = &cycle.Samples[i]
				}
			}
		}
		s.Probes = append(s.Probes, one)
	}
	for _, a := range found {
		if !sensors.Known(sensors.Family(a)) {
			s.Probes = append(s.Probes, ProbeSurvey{ROM: sensors.FormatROM(a), Family: sensors.FamilyName(sensors.Family(a)), Present: true})
		}
	}
	return s
}

// search gives up when ctx ends; the source's goroutine ends with its call.
func search(ctx context.Context, source sensors.Source) ([]onewire.Address, error) {
	type answer struct {
		found []onewire.Address
		err   error
	}
	got := make(chan answer, 1)
	go func() {
		found, err := source.Search()
		got <- answer{found, err}
	}()
	select {
	case a := <-got:
		return a.found, a.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// read runs two cycles, because a first reading is only believed when a second
// agrees.
func read(ctx context.Context, name string, source sensors.Source, probes []sensors.Probe) (*sensors.Cycle, error) {
	start := time.Now()
	bus, err := sensors.NewBus(sensors.Options{
		Name: name, Source: source, Probes: probes, Now: func() time.Duration { return time.Since(start) },
	})
	if err != nil {
		return nil, err
	}
	inner, cancel := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- bus.Run(inner) }()
	defer func() { cancel(); <-ended }()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for bus.Latest().Seq < 2 && ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
	c := bus.Latest()
	if c.Seq == 0 {
		return nil, ctx.Err()
	}
	return c, c.Err
}
