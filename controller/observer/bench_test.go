package observer

import (
	"math"
	"time"
)

// bench is the plant, an operating control and the observer, in one loop. The
// control is the plain hysteresis that the observer's caller would run; it
// obeys Advice and nothing else protects the water here.
type bench struct {
	*plant
	o         *Observer
	series    SeriesKind
	guard     bool
	floor     bool
	pad       bool
	closed    bool
	lastOn    float64
	lastOff   float64
	believed  [2]bool
	attended  float64 // s left
	refillDue bool
	ignore    bool // detectors do not act
	verdict   Verdict
	dt        float64
	heatOff   bool // of a tripped or latched bench
}

func newBench(seed uint64, floor, quiet bool) *bench {
	p := newPlant(seed, quiet)
	b := &bench{plant: p, series: OwnSeries, guard: true, floor: floor, closed: true, dt: 2, believed: [2]bool{true, true}}
	o, err := New(Params{
		Gain: p.gain() * p.between(0.8, 1.2), Coast: p.coast * p.between(0.75, 1.25), Flux: p.power / p.padArea,
		Depth: p.depth, SetPoint: setPointC, Differential: differential,
		HasFloor: floor, Series: OwnSeries, Seed: seed,
	})
	if err != nil {
		panic(err)
	}
	b.o = o
	b.lastOn, b.lastOff = -1e9, -1e9
	return b
}

// input is what the observer gets to see.
func (b *bench) input(wanted, changed bool) Input {
	in := Input{Now: time.Duration(b.now * 1e9), Pad: b.pad, Series: b.closed, Wanted: wanted,
		Attended: b.attended > 0, Changed: changed}
	for i := range b.probes {
		if i == int(Guard) && !b.guard || i == int(Floor) && !b.floor {
			continue
		}
		code := b.probes[i].code
		in.Probes[i] = Reading{Value: float64(code) / 16, Code: code, Valid: true, Fresh: true,
			Believed: i == int(Floor) || b.believed[i]}
	}
	return in
}

// tick is dt seconds of everything.
func (b *bench) tick() {
	b.plant.step(b.dt, b.pad, b.closed)
	changed := false
	if b.attended > 0 {
		if b.attended -= b.dt; b.attended <= 0 && b.refillDue {
			b.refill(b.between(27, 30))
			changed, b.refillDue = true, false
		}
	} else if !b.calm && b.within(1, b.dt) {
		b.attended, b.refillDue = b.between(300, 900), true
	}
	hot := math.Inf(-1)
	for i := range b.believed {
		if b.believed[i] && (i == 0 || b.guard) {
			hot = max(hot, float64(b.probes[i].code)/16)
		}
	}
	wanted := b.pad
	if hot >= setPointC+differential/2-b.o.Early() {
		wanted = false
	} else if hot <= setPointC-differential/2 {
		wanted = true
	}
	b.verdict = b.o.Step(pointer(b.input(wanted, changed)))
	pad := wanted
	a := b.o.Advice()
	if b.ignore {
		a = Advice{}
	}
	if a.WithholdPad {
		pad = false
	}
	if pad != b.pad && b.now-max(b.lastOn, b.lastOff) < 60 {
		pad = b.pad
	}
	if b.attended > 0 || b.heatOff {
		pad = false
	}
	if pad && !b.pad {
		b.lastOn = b.now
	} else if !pad && b.pad {
		b.lastOff = b.now
	}
	b.pad = pad
	b.closed = b.attended <= 0 && !b.heatOff && (pad || !a.OpenSeries || a.CloseSeries)
	if j := b.o.Findings().Jumped; j != None && !b.ignore {
		b.believed[j] = false
	} else if j == None {
		b.believed = [2]bool{true, true}
	}
}

// run goes on for so many seconds.
func (b *bench) run(seconds float64) {
	for end := b.now + seconds; b.now < end; {
		b.tick()
	}
}
