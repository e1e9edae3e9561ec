package observer

import (
	"math"
	"strings"
	"testing"
	"time"
)

func TestTubsAtTheBounds(t *testing.T) {
	for name, c := range map[string]struct {
		set         func(*Params, float64)
		least, most float64
		unit        string
	}{
		"gain":         {func(p *Params, v float64) { p.Gain = v }, 1e-6, 0.1, "K/s"},
		"coast":        {func(p *Params, v float64) { p.Coast = v }, 1, 3600, "s"},
		"set point":    {func(p *Params, v float64) { p.SetPoint = v }, 1, 60, "°C"},
		"differential": {func(p *Params, v float64) { p.Differential = v }, 0.01, 10, "K"},
		"depth":        {func(p *Params, v float64) { p.Depth = v }, 0.001, 10, "m"},
		"flux":         {func(p *Params, v float64) { p.Flux = v }, 0, 1e5, "W/m²"},
	} {
		for v, ok := range map[float64]bool{c.least: true, c.most: true, c.least - 1e-9: false, c.most + 1e-6: false} {
			p := good()
			c.set(&p, v)
			_, err := New(p)
			if (err == nil) != ok || err != nil && !(strings.Contains(err.Error(), name) && strings.Contains(err.Error(), c.unit)) {
				t.Errorf("%s of %v: %v", name, v, err)
			}
		}
	}
	for coast, used := range map[float64]float64{10: 30, 30: 30, 400: 400, 900: 400} {
		p := good()
		p.Coast = coast
		if o, err := New(p); err != nil || math.Abs(o.filter.coast()-used) > 1e-9 {
			t.Errorf("a coast of %v s begins as %v, %v", coast, o.filter.coast(), err)
		}
	}
}

// seconds steps through so many seconds of one input.
func (o *Observer) seconds(in *Input, n int) {
	for range n {
		in.Now += time.Second
		o.Step(in)
	}
}

// both is an input with two probes in believed water.
func both(control, guard float64) *Input {
	in := &Input{Now: time.Hour, Wanted: true}
	for i, v := range []float64{control, guard} {
		in.Probes[i] = Reading{Value: v, Code: int16(16 * v), Valid: true, Believed: true, Fresh: true}
	}
	return in
}

// Heat is the time with both relays closed; without a series relay the pad's is
// enough.
func TestHeatOfABlock(t *testing.T) {
	for _, c := range []struct {
		kind               SeriesKind
		pad, series        bool
		heat, closed, pads float64
	}{
		{OwnSeries, true, true, 6, 6, 6}, {OwnSeries, true, false, 0, 0, 6}, {OwnSeries, false, true, 0, 6, 0}, {OwnSeries, false, false, 0, 0, 0},
		{NoSeries, true, false, 6, 6, 6}, {NoSeries, false, false, 0, 6, 0}, {SharedSeries, true, false, 0, 0, 6},
	} {
		o := watcher(t)
		o.params.Series = c.kind
		in := both(29, 29)
		o.Step(in) // the first only sets the clock
		in.Pad, in.Series = c.pad, c.series
		o.seconds(in, 6)
		if o.heat != c.heat || o.closed != c.closed || o.padOn != c.pads || o.length != 6 {
			t.Errorf("%+v: %v s of heat, %v closed, %v of pad", c, o.heat, o.closed, o.padOn)
		}
		if o.seconds(in, 4); o.length != 0 || o.heat != 0 || o.closed != 0 || o.padOn != 0 {
			t.Errorf("%+v: the next block does not begin empty", c)
		}
	}
}

// A minute without a step is a pause, more is a gap that voids what depends on
// how long it was; a step without time in it is none.
func TestGapsBetweenSteps(t *testing.T) {
	for gap, voids := range map[time.Duration]bool{time.Minute: false, time.Minute + 1: true} {
		o := watcher(t)
		in := both(29, 29)
		o.Step(in)
		o.seconds(in, 300)
		in.Now += gap
		if o.Step(in); o.trace.count > 1 == voids {
			t.Errorf("after %s the trace holds %d blocks", gap, o.trace.count)
		}
	}
	o := watcher(t)
	in := both(29, 29)
	o.Step(in)
	o.seconds(in, 5)
	o.Step(in)
	if o.length != 5 {
		t.Errorf("a step without time in it added %v s", o.length-5)
	}
}

func TestWhatAGapVoids(t *testing.T) {
	o := watcher(t)
	o.show(50, 1, 0)
	o.fall.count = 3
	o.length, o.heat, o.closed, o.padOn = 5, 5, 5, 5
	o.sum, o.n = [3]float64{1, 1, 1}, [3]int{1, 1, 1}
	o.on, o.off, o.openFor = 50, 50, 50
	o.levelHold, o.fallHold, o.riseHold = 50, 50, 50
	o.pair.count, o.pair.n, o.pair.sum, o.pair.over, o.pair.base = 5, 5, 5, 5, 0.1
	o.floor = learned()
	o.floor.over, o.floor.under, o.floor.since = 50, 50, 50
	for i := range o.runs {
		o.runs[i] = run{known: true, longest: 300}
	}
	o.unasks, o.cycles = inquiry{stage: suspected, sum: 3}, 9
	o.interrupt()
	if o.known || o.trace.count != 0 || o.fall.count != 0 {
		t.Error("the past before a gap is used")
	}
	for i, v := range []float64{o.length, o.heat, o.closed, o.padOn, o.on, o.off, o.openFor, o.levelHold, o.fallHold, o.riseHold,
		float64(o.pair.count), float64(o.pair.n), o.pair.sum, o.pair.over, o.floor.over, o.floor.under, o.floor.since} {
		if v != 0 {
			t.Errorf("span %d is %v after a gap", i, v)
		}
	}
	for i := range o.runs {
		if o.runs[i].known || o.runs[i].longest != 300 || o.sum[i] != 0 || o.n[i] != 0 {
			t.Errorf("probe %d: %+v", i, o.runs[i])
		}
	}
	if o.unasks.stage != suspected || o.unasks.sum != 3 || o.cycles != 9 || o.pair.base != 0.1 || o.floor.rise != 1 {
		t.Error("a gap voids what does not depend on its length")
	}
}

// A probe that is silent for 30 s still belongs to the mean, one that the caller
// disbelieves does not.
func TestShortSilenceKeepsAProbe(t *testing.T) {
	o := watcher(t)
	in := both(29, 29.2)
	o.Step(in)
	o.seconds(in, 20)
	in.Probes[Guard] = Reading{}
	if o.seconds(in, 30); !o.believe[1] {
		t.Error("a probe was dropped within 30 s of silence")
	}
	if o.seconds(in, 1); o.believe[1] {
		t.Error("a probe silent for longer still counts")
	}
	in.Probes[Guard] = in.Probes[Control]
	o.seconds(in, 1)
	in.Probes[Guard] = Reading{}
	if o.seconds(in, 30); !o.believe[1] {
		t.Error("the silence before the last reading was counted")
	}
	in = both(29, 29.2)
	in.Now = o.now
	in.Probes[Guard].Believed = false
	if o.seconds(in, 1); o.believe[1] {
		t.Error("a probe that is not believed counts")
	}
}

// When the set of believed probes changes the filter's temperature moves by what
// the mean of the set changes, in differences of control from guard.
func TestSetOfProbesMoves(t *testing.T) {
	const both, control, guard, none = 3, 1, 2, 0
	set := func(s int) [2]bool { return [2]bool{s&control != 0, s&guard != 0} }
	for _, c := range []struct {
		from, to int
		share    float64
		known    bool
	}{
		{both, control, 0.5, true}, {both, guard, -0.5, true}, {control, both, -0.5, true}, {guard, both, 0.5, true},
		{control, guard, -1, true}, {guard, control, 1, true}, {both, none, 0, false}, {none, both, 0, false}, {none, control, 0, false},
		{guard, none, 0, false}, {none, guard, 0, false}, {control, none, 0, false},
	} {
		for _, valid := range []bool{true, false} {
			o := watcher(t)
			o.filter.x[iT], o.pair.base, o.believe = 29, 0.3, set(c.from)
			o.show(20, 1, 0)
			o.fall.count, o.sum, o.n = 4, [3]float64{9, 9, 9}, [3]int{1, 1, 1}
			to := set(c.to)
			o.shift(to[0], to[1], 0.8, valid)
			differs := 0.3
			if valid {
				differs = 0.8
			}
			if want := 29 + c.share*differs; math.Abs(o.filter.x[iT]-want) > 1e-12 || o.known != c.known {
				t.Errorf("%+v, both valid %v: %v °C, known %v, want %v", c, valid, o.filter.x[iT], o.known, want)
			}
			if bad := map[bool]float64{true: 600}[c.known]; o.bad != bad {
				t.Errorf("%+v: nothing is learned for %v s, want %v", c, o.bad, bad)
			}
			if o.believe != to || o.trace.count != 0 || o.fall.count != 0 || o.sum[0] != 0 || o.n[0] != 0 {
				t.Errorf("%+v: the past of another set is kept", c)
			}
		}
	}
}

// The mean of a block needs every believed probe; the warmest is the warmer.
func TestMeanOfTheBelieved(t *testing.T) {
	mean := [3]float64{29, 29.4, 35}
	for _, c := range []struct {
		have, believe [2]bool
		water         float64
		known         bool
	}{
		{[2]bool{true, true}, [2]bool{true, true}, 29.2, true},
		{[2]bool{true, true}, [2]bool{true, false}, 29, true},
		{[2]bool{true, true}, [2]bool{false, true}, 29.4, true},
		{[2]bool{true, true}, [2]bool{false, false}, 0, false},
		{[2]bool{true, false}, [2]bool{true, true}, 0, false},
		{[2]bool{false, true}, [2]bool{true, true}, 0, false},
		{[2]bool{true, false}, [2]bool{true, false}, 29, true},
		{[2]bool{false, true}, [2]bool{true, false}, 0, false},
		{[2]bool{false, true}, [2]bool{false, true}, 29.4, true},
		{[2]bool{true, false}, [2]bool{false, true}, 0, false},
	} {
		o := watcher(t)
		o.believe = c.believe
		if v, known := o.water(mean, [3]bool{c.have[0], c.have[1], true}); math.Abs(v-c.water) > 1e-12 || known != c.known {
			t.Errorf("%+v: %v, %v", c, v, known)
		}
	}
	for believe, want := range map[[2]bool]float64{{true, true}: 29.4, {true, false}: 29, {false, true}: 29.4} {
		o := watcher(t)
		if o.believe = believe; o.warmest(mean) != want {
			t.Errorf("believed %v: the warmest is %v", believe, o.warmest(mean))
		}
	}
}

// What must be so for anything to be learned; of the water nothing more after
// forty minutes of unbroken heat, though the floor's answer still counts.
func TestWhatIsCalm(t *testing.T) {
	for name, c := range map[string]struct {
		set  func(*Observer)
		calm bool
	}{
		"nothing":               {func(*Observer) {}, true},
		"evidence of a weld":    {func(o *Observer) { o.weld.Sum = 2 + 1e-9 }, false},
		"little of it":          {func(o *Observer) { o.weld.Sum = 2 }, true},
		"evidence of no rise":   {func(o *Observer) { o.dead.Sum = 2 + 1e-9 }, false},
		"little of that":        {func(o *Observer) { o.dead.Sum = 2 }, true},
		"an inquiry":            {func(o *Observer) { o.unasks.stage = watched }, false},
		"another inquiry":       {func(o *Observer) { o.norise.stage = watched }, false},
		"changed water":         {func(o *Observer) { o.changed = 1 }, false},
		"hands":                 {func(o *Observer) { o.attended = 1 }, false},
		"another set of probes": {func(o *Observer) { o.bad = 1 }, false},
		"hours of heat":         {func(o *Observer) { o.on = 9999 }, true},
		"a frozen probe":        {func(o *Observer) { o.findings.Frozen = Floor }, false},
		"a jumped probe":        {func(o *Observer) { o.findings.Jumped = Guard }, false},
	} {
		o := watcher(t)
		if c.set(o); o.calm() != c.calm {
			t.Errorf("%s: calm %v", name, o.calm())
		}
		if o.on > 0 {
			continue
		}
		for on, learns := range map[float64]bool{2399: c.calm, 2400: false} {
			if o.on = on; o.learns() != learns {
				t.Errorf("%s, %v s of heat: learns %v", name, on, o.learns())
			}
		}
	}
}
