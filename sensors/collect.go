package sensors

import (
	"context"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Taken is one uncorrected reading with the time of day at which it was taken.
type Taken struct {
	At    time.Time
	Value physic.Temperature
}

// Collect takes so many good readings of one probe, uncorrected and at least so
// long apart, as a calibration needs them. It runs the bus itself. More bad
// readings in a row than a bus that recovers would give end it with an error.
func Collect(ctx context.Context, source Source, a onewire.Address, count int, every time.Duration) ([]Taken, error) {
	const patience = 10
	start := time.Now()
	bus, err := NewBus(Options{
		Name: source.String(), Source: source, Probes: []Probe{{Address: a}},
		Now: func() time.Duration { return time.Since(start) }, Period: every,
	})
	if err != nil {
		return nil, err
	}
	inner, cancel := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- bus.Run(inner) }()
	defer func() { cancel(); <-ended }()
	tick := time.NewTicker(max(every/4, time.Millisecond))
	defer tick.Stop()
	var taken []Taken
	var seen uint64
	for poor := 0; len(taken) < count; {
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-tick.C:
		}
		c := bus.Latest()
		if c.Seq == seen {
			continue
		}
		seen = c.Seq
		r := c.Samples[0].Reading
		if r.Quality == controller.Good {
			taken, poor = append(taken, Taken{At: start.Add(r.At), Value: r.Value}), 0
			continue
		}
		if poor++; poor > patience {
			why := c.Err
			if why == nil {
				why = errors.New("its readings are bad or jump")
			}
			return nil, fmt.Errorf("probe %s cannot be read: %w", FormatROM(a), why)
		}
	}
	return taken, nil
}
