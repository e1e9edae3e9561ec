package observer

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

// Lines that a value can hit exactly: on the line nothing has happened yet,
// unless equality is what counts.
func TestExactlyOnTheLine(t *testing.T) {
	at := func(answer float64) envelope {
		e := learned()
		e.still = 0
		e.answer = answer
		return e
	}
	for name, c := range map[string]struct {
		answer, u float64
		holds     func(e *envelope) bool
	}{
		"a quarter of the answer is no absence":               {0.25, 1, (*envelope).absent},
		"seven tenths of the answer are no heat that arrives": {0.7, 1, (*envelope).heated},
		"a quarter of the answer is no floor that cooled":     {0.25, 0, (*envelope).cleared},
	} {
		e := at(1)
		e.on = c.u == 0
		if got := e.blocks(100, c.answer, c.u, true, func() bool { return c.holds(&e) }); got >= 0 {
			t.Errorf("%s: but after %v s", name, got)
		}
	}

	o := watcher(t)
	o.openFor, o.filter.x[iD], o.hottest = 1000, 1, 29.4+float64(o.params.Differential/2)
	if o.level(10, 0, 29); o.riseHold != 0 {
		t.Error("water at the switching point is called heat from outside")
	}
	o.on, o.top = 1000, 29
	if o.level(10, 1, o.top-fallMost); o.fallHold != 0 {
		t.Error("0.3 K under the mark is called further under it")
	}
	o = toggling(t, func(o *Observer) { o.unasks.phase = 10; o.hottest = o.setPoint + closeRoom })
	if o.inquireWeld(10, 0, true); o.unasks.shut {
		t.Error("the series relay closes in water 0.45 K over the set point")
	}
	o.unasks.shut = true
	if o.judge(10); o.Advice().CloseSeries {
		t.Error("the series relay is advised to close in water 0.45 K over the set point")
	}
	o = withholding(t, nil)
	if o.inquireDead(10, 1, 29.25, true); o.acquitted() {
		t.Error("a rise of a quarter of a kelvin acquits")
	}
	o = watcher(t)
	o.pair.leanAge, o.pair.rise, o.pair.lean, o.dead.Sum = 7200, 1, -0.25, 6
	if o.plain() {
		t.Error("a quarter of the layering missing is called more")
	}
	for _, share := range []float64{0.6, 1.6} {
		o = watcher(t)
		o.filter.x[iG1], o.filter.x[iG2] = share*o.params.Gain, 0
		if o.judge(10); o.Findings().OffGain {
			t.Errorf("a gain of %v of the configured one is told", share)
		}
	}

	p := &pair{leanAge: 7200, rise: 1.5, leanVar: 1}
	if _, known := p.missing(); !known {
		t.Error("a rise of one and a half deviations is not known")
	}
	p = &pair{jumped: None, limit: 0.5}
	for range 60 {
		p.step(1, 0.5)
	}
	p.block(10, 0, false, false)
	if p.over != 0 || p.long != 0 {
		t.Error("a difference at the threshold counts")
	}
	p = &pair{jumped: None, limit: 0.3, count: 1}
	for range 60 {
		p.step(1, pairMoved)
	}
	if p.jumped != None {
		t.Error("0.35 K against the past is a jump")
	}
	p = &pair{jumped: Guard, limit: 1, sum: pairBack, n: 1}
	if p.block(10, 0, false, false); p.agree != 0 {
		t.Error("a probe 0.2 K from its baseline agrees")
	}
	p = &pair{jumped: None, limit: 1, sum: pairFreeze, n: 1}
	if p.block(10, 0, false, true); p.base == 0 {
		t.Error("a baseline does not follow a difference of 0.3 K")
	}
	r := run{known: true, begun: true, age: 300, drift: math.NaN()}
	if r.alone(10, 5*codeStep, 0, false); !r.frozen {
		t.Error("heat of five codes does not count")
	}
}

// What has been far away for a minute without a break counts from then on.
func TestFarAwayForAMinute(t *testing.T) {
	r := run{known: true, code: 470, longest: 3600}
	for k := range 30 {
		away := 0.0
		if k >= 15 {
			away = 0.5
		}
		r.block(10, 29+away, 0)
		if want := k >= 15+5; r.frozen != want {
			t.Fatalf("frozen %v after %d s of distance", r.frozen, 10*(k-14))
		}
	}
}

// A gain that is no gain at all is put back on the least.
func TestGainOfNothing(t *testing.T) {
	var f filter
	f.noise = 0.003
	f.prior(6e-4, 120)
	f.x[iG1], f.x[iG2] = 0, 0
	if f.correct(); f.rate() != f.least {
		t.Errorf("gain %v, want %v", f.rate(), f.least)
	}
	if cubeRoot(0) != 0 {
		t.Error("the cube root of nothing")
	}
}

func TestLowIsAShareOfTheFirst(t *testing.T) {
	for v, low := range map[float64]bool{2.9: true, 2.8: true, 2.7: false} {
		a := answers{last: [5]float64{v, v, v, v, v}, first: 2}
		if a.weigh(); a.low() != low {
			t.Errorf("answers of %v after ones of 2: low %v", v, a.low())
		}
	}
}

// Before heat was withheld a plain answer proves nothing about the test.
func TestNothingIsPlainBeforeTheTest(t *testing.T) {
	o := withholding(t, func(o *Observer) {
		o.on, o.filter.noise = 500, 0.001
		o.show(300, 1, 0)
	})
	if o.inquireDead(10, 1, 29, true); o.norise.shut || o.norise.wait != 990 {
		t.Errorf("withheld %v, the next look in %v s", o.norise.shut, o.norise.wait)
	}
}

// A plain answer is looked for in the last fifteen minutes alone.
func TestPlainAnswerLooksBackFifteenMinutes(t *testing.T) {
	for _, obeys := range []float64{0, 1} {
		o := withholding(t, func(o *Observer) {
			o.norise.asked, o.on, o.filter.noise = true, 500, 0.001
			o.show(200, 1-obeys, 0)
			o.show(100, obeys, 0)
		})
		if o.inquireDead(10, 1, 29, true); o.norise.votes != 1 {
			t.Errorf("obeys %v: %d votes", obeys, o.norise.votes)
		}
	}
}

// A vote about the pad looks back three half periods and no further.
func TestVoteAboutThePadLooksBackThreeHalfPeriods(t *testing.T) {
	for _, obeys := range []float64{0, 1} {
		o := withholding(t, func(o *Observer) {
			o.norise.wait, o.norise.asked = 10, true
			o.filter.noise = 0.001
			o.show(150, 1-obeys, 0)
			o.show(150, obeys, 0)
		})
		if o.inquireDead(10, 1, 29, true); o.norise.votes != 1 || (o.norise.last > 0) != (obeys == 0) {
			t.Errorf("obeys %v: %d votes, the last %v", obeys, o.norise.votes, o.norise.last)
		}
	}
}

// The look at the last switch takes in the pause before it, up to 300 s and a
// coast: with less of it this noise would hide what the water did.
func TestLookTakesInThePause(t *testing.T) {
	o := watcher(t)
	o.filter.noise = 0.0025
	o.show(300, 0, 0)
	o.on, o.offBefore = 200, 9999
	span := func(s float64) float64 { return o.trace.weigh(int(s/blockLength), dead, o.filter.noise) }
	if span(200+300-120) > straightVote || span(200+300+120) <= straightVote {
		t.Fatalf("votes %v and %v: the noise hides both or neither", span(380), span(620))
	}
	if !o.straight() {
		t.Error("the pause before the switch was not looked at")
	}
}

// The hottest is the hotter of the probes that are valid and believed.
func TestHottestOfTheBelieved(t *testing.T) {
	for _, c := range []struct {
		control, guard Reading
		hottest        float64
	}{
		{Reading{Value: 29, Valid: true, Believed: true}, Reading{Value: 30, Valid: true, Believed: true}, 30},
		{Reading{Value: 29, Valid: true, Believed: true}, Reading{Value: 30, Valid: true}, 29},
		{Reading{Value: 29, Valid: true, Believed: true}, Reading{Value: 30, Believed: true}, 29},
		{Reading{Value: 31, Valid: true}, Reading{Value: 30, Valid: true, Believed: true}, 30},
		{Reading{Value: 31}, Reading{Value: 30}, math.Inf(-1)},
	} {
		o := watcher(t)
		in := both(29, 29)
		o.Step(in)
		in.Probes[Control], in.Probes[Guard] = c.control, c.guard
		o.seconds(in, 1)
		if o.latest(in); o.hottest != c.hottest {
			t.Errorf("%+v: the hottest is %v", c, o.hottest)
		}
		before := o.n
		if o.Step(in); o.n != before {
			t.Error("a step without time in it counts its readings again")
		}
	}
}

// A lone probe is told what the pad brought and what the water does by itself:
// the drift only where it is known to a quarter of the gain and no changed water
// settles. The floor's code is compared with the water's alone.
func TestLoneProbeIsToldOfHeatAndDrift(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		known bool
	}{
		{"known to a quarter of the gain", func(o *Observer) { o.filter.cov[iD][iD] = math.Pow(float64(0.25*o.filter.rate()), 2) }, true},
		{"a hair worse", func(o *Observer) { o.filter.cov[iD][iD] = 1.001 * math.Pow(0.25*6e-4, 2) }, false},
		{"while changed water settles", func(o *Observer) { o.filter.cov[iD][iD], o.changed = 0, 1 }, false},
	} {
		for _, place := range []Place{Control, Guard} {
			o := watcher(t)
			c.set(o)
			o.filter.x[iD] = -1e-4
			var have [3]bool
			have[place] = true
			o.runs[place] = run{known: true}
			o.probes(10, [3]float64{29, 29, 29}, have, 1, 0.5, true)
			r := o.runs[place]
			if want := 6e-4 * 0.5 * 10; math.Abs(r.heat-want) > 1e-12 {
				t.Errorf("%s: heat of %v K, want %v", c.name, r.heat, want)
			}
			if want := 6e-4*0.5*10 - 1e-3; c.known && math.Abs(r.path-want) > 1e-12 || !c.known && !math.IsNaN(r.path) {
				t.Errorf("%s: a path of %v K, want %v", c.name, r.path, want)
			}
		}
	}
	o := watcher(t)
	o.runs[Floor] = run{known: true}
	if o.probes(10, [3]float64{}, [3]bool{Floor: true}, 1, 0.5, true); o.runs[Floor].age != 0 {
		t.Error("a floor probe without water to compare with is judged")
	}
	// The share of the pad's power is that of both lags.
	o = watcher(t)
	in := both(29, 29)
	in.Probes[Guard] = Reading{}
	in.Pad, in.Series = true, true
	o.believe[1] = false
	o.Step(in)
	o.known = false
	o.seconds(in, 10)
	o.runs[Control] = run{known: true, code: in.Probes[Control].Code}
	want, pad := 0.0, [2]float64{o.filter.pad[0], o.filter.pad[1]}
	for range 12 {
		share := [2]float64{}
		for i, lag := range [2]float64{40, 240} {
			p := 1 + (pad[i]-1)*math.Exp(-10/lag)
			share[i], pad[i] = (pad[i]+p)/2, p
		}
		o.seconds(in, 10)
		want += 10 * (o.filter.x[iG1]*share[0] + o.filter.x[iG2]*share[1])
	}
	if got := o.runs[Control].heat; math.Abs(got/want-1) > 0.05 {
		t.Errorf("two minutes of heat brought %v K, want %v", got, want)
	}
}

// Heat in more than half of a block counts a difference for that phase.
func TestPhaseOfADifference(t *testing.T) {
	for u, on := range map[float64]bool{0.5: false, 0.51: true, 0: false, 1: true} {
		o := watcher(t)
		o.pair.sum, o.pair.n = 2, 1
		o.probes(10, [3]float64{29, 29}, [3]bool{true, true}, u, 0, true)
		if (o.pair.on == 10) != on || (o.pair.off == 10) == on {
			t.Errorf("heat for %v of a block: %v s with heat, %v without", u, o.pair.on, o.pair.off)
		}
	}
}

// A floor reading at a tub that has no floor probe teaches nothing, and a block
// without one neither.
func TestFloorIsLearnedWhereThereIsOne(t *testing.T) {
	for _, c := range []struct{ has, reads, learns bool }{{true, true, true}, {false, true, false}, {true, false, false}} {
		o := watcher(t)
		o.params.HasFloor = c.has
		in := both(29, 29)
		in.Probes[Floor] = Reading{Value: 29.5, Code: 472, Valid: c.reads, Fresh: true}
		o.Step(in)
		if o.seconds(in, 30); (o.floor.age > 0) != c.learns {
			t.Errorf("%+v: floor of age %v", c, o.floor.age)
		}
	}
}

// A refusal names the first thing that is wrong.
func TestRefusalNamesTheFirst(t *testing.T) {
	b := newBench(5, true, false)
	b.run(8 * 3600)
	saved := b.o.Save()
	set := func(values map[int]uint64) []byte {
		c := bytes.Clone(saved)
		for word, v := range values {
			for i := range 8 {
				c[8*word+i] = byte(v >> (56 - 8*i))
			}
		}
		return c
	}
	nan := math.Float64bits(math.NaN())
	for name, c := range map[string]struct {
		b    []byte
		says string
	}{
		"version before all":        {set(map[int]uint64{0: 99, 1: nan, 3: nan, 9: 99}), "version"},
		"gain before its variance":  {set(map[int]uint64{1: nan, 3: nan}), "saved gain"},
		"variance before the stage": {set(map[int]uint64{3: nan, 9: 99}), "variance"},
		"stage before the votes":    {set(map[int]uint64{9: 99, 12: 99}), "stage"},
	} {
		if err := b.o.Restore(c.b); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A variance of twice the largest gain, squared, is the most.
	most := 4 * math.Pow(2.5*b.o.params.Gain, 2)
	for v, ok := range map[float64]bool{most * 0.999: true, most * 1.001: false} {
		if err := b.o.Restore(set(map[int]uint64{3: math.Float64bits(v)})); (err == nil) != ok {
			t.Errorf("a variance of %v: %v", v, err)
		}
	}
}

// A test that ran goes on with a fresh half period; an inquiry that did not run
// stays idle.
func TestTestGoesOnAfterARestart(t *testing.T) {
	for _, st := range []stage{idle, watched, suspected, undecided, proven} {
		o := watcher(t)
		o.unasks.stage, o.norise.stage = st, st
		o.unasks.wait, o.norise.lowest = 7, 29
		o.unasks.row, o.norise.row = 3, 1<<20
		n, err := New(o.params)
		if err != nil {
			t.Fatal(err)
		}
		if err := n.Restore(o.Save()); err != nil {
			t.Fatal(err)
		}
		for i, q := range []inquiry{n.unasks, n.norise} {
			want := inquiry{stage: st, row: [2]int32{3, 1 << 20}[i]}
			if st != idle {
				want.wait, want.phase, want.lowest = 300, 300, math.Inf(1)
			}
			if q != want {
				t.Errorf("stage %d: %+v, want %+v", st, q, want)
			}
		}
	}
}
