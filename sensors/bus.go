package sensors

import (
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// Probe is one probe that a bus is asked to read.
type Probe struct {
	Address     onewire.Address
	Calibration Calibration
}

// Options of a bus. Only Source is needed; zero durations take the defaults.
type Options struct {
	Name   string
	Source Source
	Probes []Probe

	// Now is the clock of Run, the same as that of controller.Input.Now.
	Now func() time.Duration
	// Wait lets virtual time pass in RunCycle while the probes convert. Nil
	// passes no time.
	Wait func(time.Duration)

	Period         time.Duration // from one start of a cycle to the next, at least; 1 s
	StartDeadline  time.Duration // for Source.Start; 2 s
	ReadDeadline   time.Duration // for Source.Read, 1 s more when it converts; 1.5 s
	SearchDeadline time.Duration // for Source.Search; 5 s
	Rescan         time.Duration // between searches while Run runs; 1 min
}

// Bus is one 1-Wire bus with its probes. Either Run or RunCycle drives it,
// never both; Latest and Inventory may be called from anywhere.
type Bus struct {
	options   Options
	trackers  []Tracker
	latest    atomic.Pointer[Cycle]
	inventory atomic.Pointer[Inventory]
	seq       uint64

	driving sync.Mutex // held by Run for as long as it runs, by RunCycle for a cycle
	spare   [2]Cycle   // RunCycle's, in turn
	direct  direct
}

// NewBus makes a bus. It reads nothing yet: until the first cycle is complete,
// Latest returns an empty one whose readings are unknown.
func NewBus(options Options) (*Bus, error) {
	if options.Source == nil {
		return nil, fmt.Errorf("bus %q has no source to read from", options.Name)
	}
	seen := make(map[onewire.Address]bool)
	for i, p := range options.Probes {
		rom := FormatROM(p.Address)
		if !Known(Family(p.Address)) {
			return nil, fmt.Errorf("bus %q: probe %s is of no family that can be read", options.Name, rom)
		}
		if seen[p.Address] {
			return nil, fmt.Errorf("bus %q: probe %s is listed twice", options.Name, rom)
		}
		seen[p.Address] = true
		if err := options.Probes[i].Calibration.Validate(); err != nil {
			return nil, fmt.Errorf("bus %q: probe %s: %w", options.Name, rom, err)
		}
	}
	for _, d := range []struct {
		at       *time.Duration
		fallback time.Duration
	}{
		{&options.Period, time.Second},
		{&options.StartDeadline, 2 * time.Second},
		{&options.ReadDeadline, 1500 * time.Millisecond},
		{&options.SearchDeadline, 5 * time.Second},
		{&options.Rescan, time.Minute},
	} {
		if *d.at <= 0 {
			*d.at = d.fallback
		}
	}
	b := &Bus{options: options, trackers: make([]Tracker, len(options.Probes))}
	b.direct = direct{source: options.Source, pass: options.Wait}
	b.spare = [2]Cycle{{Samples: b.emptySamples()}, {Samples: b.emptySamples()}}
	b.latest.Store(&Cycle{Samples: b.emptySamples()})
	b.inventory.Store(&Inventory{})
	return b, nil
}

func (b *Bus) emptySamples() []Sample {
	samples := make([]Sample, len(b.options.Probes))
	for i := range samples {
		samples[i].Address = b.options.Probes[i].Address
	}
	return samples
}

// Name is the name that the bus was given.
func (b *Bus) Name() string { return b.options.Name }

// Counts are the counters of probe i. They belong to the goroutine that drives
// the bus: call it from there or after Run.
func (b *Bus) Counts(i int) Counts { return b.trackers[i].Counts }

// Probes lists the probes in the order of the samples. Do not change them.
func (b *Bus) Probes() []Probe { return b.options.Probes }

// Latest is the last complete cycle. It never blocks and is never nil. What it
// returns may be old: readings carry their moment.
func (b *Bus) Latest() *Cycle { return b.latest.Load() }

// RunCycle runs one whole cycle at the moment now, in the caller's goroutine,
// publishes it and returns it. It allocates nothing. The cycle before the one
// returned is still valid; the one before that is written over.
//
// It has no deadlines: use it with sources that cannot block.
func (b *Bus) RunCycle(now time.Duration) *Cycle {
	b.driving.Lock()
	defer b.driving.Unlock()
	c := &b.spare[b.seq%2]
	b.direct.at = now
	b.cycle(c, &b.direct)
	b.latest.Store(c)
	return c
}

// steps is how a cycle reaches its source: directly, or through a goroutine
// that can be given up. A step that was given up returns an error with a
// Timeout method.
type steps interface {
	now() time.Duration
	start() (Conversion, error)
	wait(time.Duration) error
	read(a onewire.Address, pad *[9]byte, converts bool) error
}

// cycle fills c with one round of the bus.
func (b *Bus) cycle(c *Cycle, via steps) {
	b.seq++
	c.Seq, c.Fault, c.Err = b.seq, NoFault, nil
	c.Started = via.now()
	conversion, err := via.start()
	if err == nil {
		err = via.wait(conversion.Wait)
	}
	if err != nil {
		b.spoil(c, 0, err)
		c.Ended = via.now()
		return
	}
	shorted, absent := 0, 0
	at := c.Started
	for i := range c.Samples {
		s := &c.Samples[i]
		if conversion.EachRead {
			at = via.now()
		}
		var (
			code int16
			bits uint8
			flaw controller.Flaw
		)
		if err := via.read(s.Address, &s.Raw, conversion.EachRead); err == nil {
			code, bits, flaw = judge(&s.Raw, Family(s.Address))
		} else {
			s.Raw = [9]byte{}
			if fault, _ := faultOf(err); fault == BusHung {
				b.spoil(c, i, err)
				break
			}
			flaw = flawOf(err)
		}
		b.fill(s, i, at, code, bits, flaw)
		switch s.Reading.Flaw {
		case controller.NoFlaw:
		case controller.Shorted:
			shorted++
		case controller.Absent:
			absent++
		}
	}
	if n := len(c.Samples); n > 0 && c.Fault == NoFault {
		switch n {
		case shorted:
			c.Fault = BusShorted
		case absent:
			c.Fault = BusEmpty
		}
	}
	c.Ended = via.now()
}

// fill writes one sample from a judged scratchpad.
func (b *Bus) fill(s *Sample, i int, at time.Duration, code int16, bits uint8, flaw controller.Flaw) {
	t := &b.trackers[i]
	s.Bits = bits
	quality, flaw := t.Take(at, code, bits, flaw)
	s.Errors = t.Counts.Bad
	r := &s.Reading
	r.At, r.Quality, r.Flaw = at, quality, flaw
	if flaw != controller.NoFlaw {
		r.Code, r.Value = 0, 0
		return
	}
	r.Code, r.Value = code, b.options.Probes[i].Calibration.Apply(fromCode(code))
}

// spoil marks the cycle with the fault of err, and every sample from first on
// as not read.
func (b *Bus) spoil(c *Cycle, first int, err error) {
	var flaw controller.Flaw
	c.Fault, flaw = faultOf(err)
	c.Err = err
	for i := first; i < len(c.Samples); i++ {
		c.Samples[i].Raw = [9]byte{}
		b.fill(&c.Samples[i], i, c.Started, 0, 0, flaw)
	}
}

// direct runs the steps in the caller's goroutine, in the caller's time.
type direct struct {
	source Source
	pass   func(time.Duration)
	at     time.Duration
}

func (d *direct) now() time.Duration         { return d.at }
func (d *direct) start() (Conversion, error) { return d.source.Start() }

func (d *direct) wait(span time.Duration) error {
	d.at += span
	if d.pass != nil {
		d.pass(span)
	}
	return nil
}

func (d *direct) read(a onewire.Address, pad *[9]byte, _ bool) error {
	return d.source.Read(a, pad)
}
