package sensors

import (
	"encoding/binary"
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
// never both. With Run, Latest and Inventory may be called from anywhere.
type Bus struct {
	options   Options
	learned   []learned // of each probe
	latest    atomic.Pointer[Cycle]
	inventory atomic.Pointer[Inventory]
	seq       uint64

	running sync.Mutex // held by Run for as long as it runs
	own     *Cycle     // RunCycle's
}

// learned is what a bus keeps of one probe from cycle to cycle.
type learned struct {
	border  border
	tracker Tracker
	probe   *Probe
	sample  *Sample // in RunCycle's cycle
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
	b := &Bus{options: options, learned: make([]learned, len(options.Probes))}
	b.own = &Cycle{Samples: b.emptySamples()}
	for i := range b.learned {
		b.learned[i].probe, b.learned[i].sample = &b.options.Probes[i], &b.own.Samples[i]
	}
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
func (b *Bus) Counts(i int) Counts { return b.learned[i].tracker.Counts }

// Probes lists the probes in the order of the samples. Do not change them.
func (b *Bus) Probes() []Probe { return b.options.Probes }

// Latest is the last complete cycle. It never blocks and is never nil. What it
// returns may be old: readings carry their moment.
func (b *Bus) Latest() *Cycle { return b.latest.Load() }

// RunCycle runs one whole cycle at the moment now, in the caller's goroutine,
// publishes it and returns it. It allocates nothing and writes over the cycle
// before, so Latest is for the same goroutine then.
//
// It has no deadlines: use it with sources that cannot block.
//
//go:noinline
func (b *Bus) RunCycle(now time.Duration) *Cycle {
	source, c := b.options.Source, b.own
	b.open(c, now)
	conversion, err := source.Start()
	if err != nil {
		b.spoil(c, 0, err)
	} else {
		now += conversion.Wait
		if b.options.Wait != nil {
			b.options.Wait(conversion.Wait)
		}
		at := c.Started
		if conversion.EachRead {
			at = now
		}
		for i := range b.learned {
			l := &b.learned[i]
			if err := source.Read(l.probe.Address, &l.sample.Raw); err == nil {
				l.take(c, l.sample, at)
			} else if !b.miss(c, i, at, err) {
				break
			}
		}
	}
	b.close(c, now)
	if c.Seq == 1 { // later it is there already
		b.latest.Store(c)
	}
	return c
}

// open begins a cycle.
func (b *Bus) open(c *Cycle, now time.Duration) {
	b.seq++
	c.Seq, c.Started, c.flawed = b.seq, now, false
	if c.Fault != NoFault {
		c.Fault, c.Err = NoFault, nil
	}
}

// take judges the bytes that were read into sample s.
func (l *learned) take(c *Cycle, s *Sample, at time.Duration) {
	code, sure := l.border.code(binary.LittleEndian.Uint64(s.Raw[:8]), s.Raw[8])
	if !sure || !l.tracker.goesOn(at, code) {
		code, bits, flaw := l.border.judge(&s.Raw, Family(s.Address))
		l.fill(c, s, at, code, bits, flaw)
		return
	}
	// Nearly always, and what the general way finds, too.
	s.Bits, s.Errors = l.border.bits, l.tracker.Counts.Bad
	r := &s.Reading
	r.At, r.Quality, r.Flaw = at, controller.Good, controller.NoFlaw
	r.Code, r.Value = code, l.probe.Calibration.Apply(fromCode(code))
}

// miss notes that probe i could not be read, and says whether the bus can be
// asked for the next one.
func (b *Bus) miss(c *Cycle, i int, at time.Duration, err error) bool {
	if fault, _ := faultOf(err); fault == BusHung {
		b.spoil(c, i, err)
		return false
	}
	c.Samples[i].Raw = [9]byte{}
	b.learned[i].fill(c, &c.Samples[i], at, 0, 0, flawOf(err))
	return true
}

// fill writes a sample from a judged scratchpad.
func (l *learned) fill(c *Cycle, s *Sample, at time.Duration, code int16, bits uint8, flaw controller.Flaw) {
	quality, flaw := l.tracker.Take(at, code, bits, flaw)
	s.Bits, s.Errors = bits, l.tracker.Counts.Bad
	r := &s.Reading
	r.At, r.Quality, r.Flaw = at, quality, flaw
	if flaw != controller.NoFlaw {
		r.Code, r.Value, c.flawed = 0, 0, true
		return
	}
	r.Code, r.Value = code, l.probe.Calibration.Apply(fromCode(code))
}

// spoil marks the cycle with the fault of err, and every sample from first on
// as not read.
func (b *Bus) spoil(c *Cycle, first int, err error) {
	var flaw controller.Flaw
	c.Fault, flaw = faultOf(err)
	c.Err = err
	for i := first; i < len(c.Samples); i++ {
		c.Samples[i].Raw = [9]byte{}
		b.learned[i].fill(c, &c.Samples[i], c.Started, 0, 0, flaw)
	}
}

// close ends a cycle. What all probes say alike is said of the bus.
func (b *Bus) close(c *Cycle, now time.Duration) {
	c.Ended = now
	if !c.flawed || c.Fault != NoFault {
		return
	}
	alike := c.Samples[0].Reading.Flaw
	for i := range c.Samples {
		if c.Samples[i].Reading.Flaw != alike {
			return
		}
	}
	switch alike {
	case controller.Shorted:
		c.Fault = BusShorted
	case controller.Absent:
		c.Fault = BusEmpty
	}
}
