package observer

import (
	"math"
	"testing"
)

// A block counts as heat when more than half of it was, as open when the series
// relay was closed for less than a hundredth of it.
func TestSpansOfABlock(t *testing.T) {
	for _, c := range []struct {
		u, closed     float64
		on, off, open float64
	}{
		{0.5, 0.01, 0, 110, 0}, {0.5 + 1e-9, 0.01, 110, 0, 0}, {0, 0.01 - 1e-9, 0, 110, 110}, {1, 1, 110, 0, 0},
	} {
		o := watcher(t)
		o.on, o.off, o.openFor = 100, 100, 100
		o.changed, o.attended, o.bad, o.unanswered = 5, 25, 15, 7
		o.clocks(10, c.u, c.closed)
		if o.on != c.on || o.off != c.off || o.openFor != c.open {
			t.Errorf("%+v: on %v s, off %v s, open %v s", c, o.on, o.off, o.openFor)
		}
		if o.changed != 0 || o.attended != 15 || o.bad != 5 || o.unanswered != 17 {
			t.Errorf("%+v: %v %v %v %v", c, o.changed, o.attended, o.bad, o.unanswered)
		}
	}
}

// A cycle is complete when heat of over a minute ends in a calm time.
func TestCyclesAreCounted(t *testing.T) {
	for _, c := range []struct {
		on, off, sum float64
		counted      bool
	}{{61, 0, 0, true}, {60, 0, 0, false}, {61, 10, 0, false}, {61, 0, 3, false}} {
		o := watcher(t)
		o.on, o.off, o.weld.Sum, o.cycles = c.on, c.off, c.sum, 4
		if o.clocks(10, 0, 0); (o.cycles == 5) != c.counted || o.on != 0 {
			t.Errorf("%+v: %d cycles", c, o.cycles)
		}
	}
	o := watcher(t)
	o.off, o.top = 700, 29
	o.clocks(10, 1, 1)
	if o.offBefore != 700 || !math.IsNaN(o.top) {
		t.Errorf("switched on after %v s, the mark is %v", o.offBefore, o.top)
	}
	o.top = 29
	if o.clocks(10, 1, 1); o.offBefore != 700 || o.top != 29 {
		t.Error("heat that goes on counts as switched on")
	}
}

// Once in forty minutes, when heat is switched on in a calm tub that is known,
// the size of the answer to the last cycles is kept.
func TestAnswerIsMeasured(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		kept  bool
		obeys float64
	}{
		{"as learned", func(*Observer) {}, true, 1},
		{"stronger", func(*Observer) {}, true, 1.6},
		{"not at all", func(*Observer) {}, false, 0},
		{"a second too soon", func(o *Observer) { o.unanswered = 2399 }, false, 1},
		{"not trusted", func(o *Observer) { o.cycles = 2 }, false, 1},
		{"not calm", func(o *Observer) { o.bad = 1 }, false, 1},
		{"temperature not known", func(o *Observer) { o.known = false }, false, 1},
		{"too noisy to tell", func(o *Observer) { o.filter.noise = 0.05 }, false, 1},
	} {
		o := watcher(t)
		o.filter.noise = 0.001
		o.show(300, c.obeys, 0)
		o.unanswered = 2400
		c.set(o)
		before := o.unanswered
		if o.measure(); (o.answers.count == 1) != c.kept {
			t.Errorf("%s: %d answers", c.name, o.answers.count)
		}
		if c.kept && (math.Abs(o.answers.last[0]/(c.obeys*6e-4)-1) > 1e-6 || o.unanswered != 0) {
			t.Errorf("%s: %v K/s, %v s ago", c.name, o.answers.last[0], o.unanswered)
		}
		if !c.kept && o.unanswered != before {
			t.Errorf("%s: the time since an answer was forgotten without one", c.name)
		}
	}
}

// The answer looks back forty minutes: what was before does not count.
func TestAnswerLooksBackFortyMinutes(t *testing.T) {
	o := watcher(t)
	o.filter.noise = 0.001
	o.show(60, 0, 0)
	o.show(240, 1.2, 0)
	o.unanswered = 2400
	if o.measure(); math.Abs(o.answers.last[0]/(1.2*6e-4)-1) > 1e-6 {
		t.Errorf("%v K/s, want %v", o.answers.last[0], 1.2*6e-4)
	}
}

// Trust needs three cycles and a gain known to 15 %.
func TestTrustAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		cycles  int32
		spread  float64
		trusted bool
	}{{3, 0.1499, true}, {2, 0.01, false}, {3, 0.1501, false}} {
		o := watcher(t)
		o.cycles = c.cycles
		o.filter.cov[iG1][iG1] = math.Pow(c.spread*6e-4, 2)
		o.filter.x[iG1] *= 1.1
		o.filter.x[iG2] *= 1.1
		o.filter.cov[iG1][iG1] *= 1.21
		if o.Trusted() != c.trusted {
			t.Errorf("%+v: trusted %v", c, o.Trusted())
		}
		gain, coast := 6e-4, 180.0
		if c.trusted {
			gain, coast = 6.6e-4, 120
		}
		if math.Abs(o.Gain()-gain) > 1e-12 || math.Abs(o.Coast()-coast) > 1e-9 {
			t.Errorf("%+v: gain %v coast %v", c, o.Gain(), o.Coast())
		}
	}
}

// The pad is switched off early by what it still gives less what the losses
// take, of a gain and a coast at most a quarter over the configured ones, 0.14 K
// at most.
func TestSwitchingOffEarly(t *testing.T) {
	for _, c := range []struct {
		name              string
		gain, drift, want float64
		set               func(*Observer)
	}{
		{"gain times coast", 1, 0, 0.072, nil},
		{"less the losses", 1, -2e-4, 0.048, nil},
		{"drift upward counts as much", 1, 2e-4, 0.048, nil},
		{"losses over the gain", 1, -7e-4, 0, nil},
		{"a gain far over the configured one", 1.5, 0, 1.25 * 0.072, nil},
		{"a coast far over the configured one", 1, 0, 6e-4 * 1.25 * 120, func(o *Observer) { o.filter.x[iG1], o.filter.x[iG2] = 2e-4, 4e-4 }},
		{"a strong pad", 1, 0, 0.14, func(o *Observer) {
			o.params.Gain = 3e-3
			o.filter.x[iG1] *= 3
			o.filter.x[iG2] *= 3
		}},
		{"not trusted", 1, 0, 0, func(o *Observer) { o.cycles = 0 }},
		{"temperature not known", 1, 0, 0, func(o *Observer) { o.known = false }},
	} {
		o := watcher(t)
		o.filter.x[iG1] *= c.gain
		o.filter.x[iG2] *= c.gain
		o.filter.x[iD] = c.drift
		if c.set != nil {
			c.set(o)
		}
		if got := o.Early(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %v K early, want %v", c.name, got, c.want)
		}
		if o.Drift() != c.drift {
			t.Errorf("%s: drift %v", c.name, o.Drift())
		}
	}
}

// An announced water change voids temperature and baselines of the moment for a
// time, and keeps what was learned of the tub.
func TestAnnouncedWaterChange(t *testing.T) {
	o := watcher(t)
	o.show(50, 1, 0)
	o.fall.count, o.answers.first, o.answers.count = 3, 6e-4, 6
	o.norise = inquiry{stage: watched, lowest: 28}
	in := both(29, 29)
	o.Step(in)
	in.Changed = true
	o.seconds(in, 1)
	in.Changed = false
	if o.changed != 2400 || o.known || o.pair.settle != 1200 || o.trace.count != 0 || o.fall.count != 0 || o.fall.quiet != 180 ||
		o.answers != (answers{}) || !math.IsInf(o.norise.lowest, 1) {
		t.Errorf("changed %v known %v settle %v trace %d fall %+v", o.changed, o.known, o.pair.settle, o.trace.count, o.fall)
	}
	if o.Gain() != 6e-4 {
		t.Error("the gain was forgotten")
	}
	in.Attended = true
	o.seconds(in, 1)
	if o.attended != 2400 || o.fall.quiet != 180 {
		t.Errorf("hands in the tub: tests are wide for %v s, falls quiet for %v", o.attended, o.fall.quiet)
	}
}

// Probes may stand apart twice as far while the water settles or after hands
// were in it, and by the flux through the surface.
func TestAllowanceOfTheMoment(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		limit float64
	}{
		{"calm", func(*Observer) {}, 0.45},
		{"settling", func(o *Observer) { o.changed = 1 }, 0.9},
		{"after hands", func(o *Observer) { o.attended = 1 }, 0.9},
		// 1 mK/s out of 60 mm of water are 251 W/m².
		{"cooling", func(o *Observer) { o.filter.x[iD] = -1e-3 }, 0.3 + 1e-3*0.06*4.18e6/400},
		{"warming", func(o *Observer) { o.filter.x[iD] = 1e-3 }, 0.45},
	} {
		o := watcher(t)
		c.set(o)
		if o.probes(10, [3]float64{29, 29}, [3]bool{true, true}, 0, 0, true); math.Abs(o.pair.limit-c.limit) > 1e-9 {
			t.Errorf("%s: %v K, want %v", c.name, o.pair.limit, c.limit)
		}
	}
}

// A block with a probe silent: the model goes on by the command, nothing is
// judged by it, and a set of probes that is empty ends what was known.
func TestBlindBlock(t *testing.T) {
	o := watcher(t)
	o.show(50, 1, 0)
	o.filter.x[iT], o.filter.x[iD] = 29, 0
	o.weld.pad, o.dead.pad, o.series = [2]float64{}, [2]float64{1, 1}, [2]float64{}
	o.blind(10, 0.25, 1, [2]float64{0.5, 0.5})
	if want := 29 + 10*0.5*6e-4; math.Abs(o.filter.x[iT]-want) > 1e-12 || !o.known {
		t.Errorf("the model stands at %v, known %v, want %v", o.filter.x[iT], o.known, want)
	}
	for i, lag := range []float64{40, 240} {
		rises, falls := 1-math.Exp(-10/lag), math.Exp(-10/lag)
		if math.Abs(o.weld.pad[i]-rises) > 1e-8 || math.Abs(o.series[i]-rises) > 1e-8 || math.Abs(o.dead.pad[i]-falls) > 1e-8 {
			t.Errorf("lag %v s: welded %v, series %v, dead %v", lag, o.weld.pad[i], o.series[i], o.dead.pad[i])
		}
	}
	if o.trace.count != 0 {
		t.Error("a trace with a hole in it is used")
	}
	// Open relays but heat in part of the block: a weld heats no less than that.
	o.weld.pad = [2]float64{}
	if o.blind(10, 0.25, 0, [2]float64{}); math.Abs(o.weld.pad[0]-0.25*(1-math.Exp(-0.25))) > 1e-8 {
		t.Errorf("welded %v", o.weld.pad[0])
	}
	o.believe = [2]bool{true, false}
	if o.blind(10, 0, 0, [2]float64{}); !o.known {
		t.Error("one believed probe is silent, and what was known is lost")
	}
	o.believe = [2]bool{}
	if o.blind(10, 0, 0, [2]float64{}); o.known {
		t.Error("no probe is believed, and the temperature is known")
	}
	o.filter.x[iT] = 29
	if o.blind(10, 1, 1, [2]float64{1, 1}); o.filter.x[iT] != 29 {
		t.Error("an unknown temperature was moved on")
	}
}

// The two stories that the trace keeps: what the command brings, and what a
// welded pad relay would bring beyond it while the series relay is closed.
func TestTraceKeepsBothStories(t *testing.T) {
	o := watcher(t)
	in := both(29, 29)
	in.Series = true
	o.Step(in)
	o.known = false // begins at the first block's reading
	pad, series := [2]float64{}, [2]float64{}
	var cmd, weld float64
	for k := range 30 {
		in.Pad, in.Series = k/10%2 == 1, k/5%2 == 1 || k/10%2 == 1
		o.seconds(in, 10)
		u, c := 0.0, 0.0
		if in.Pad {
			u = 1
		}
		if in.Series {
			c = 1
		}
		share := [2]float64{o.filter.x[iG1], o.filter.x[iG2]}
		for i, lag := range [2]float64{40, 240} {
			p, s := u+(pad[i]-u)*math.Exp(-10/lag), c+(series[i]-c)*math.Exp(-10/lag)
			mp, ms := (pad[i]+p)/2, (series[i]+s)/2
			pad[i], series[i] = p, s
			cmd += 10 * share[i] * mp
			weld += 10 * share[i] * (ms - mp)
		}
		last := (o.trace.head - 1 + traced) % traced
		if math.Abs(o.trace.cmd[last]-cmd) > 1e-8 || math.Abs(o.trace.weld[last]-weld) > 1e-8 || o.trace.y[last] != 29 || o.trace.count != k+1 {
			t.Fatalf("block %d: command %v, weld %v, want %v and %v", k, o.trace.cmd[last], o.trace.weld[last], cmd, weld)
		}
	}
}

// A fall is looked for in two minutes, against every block of them, and found
// at the second block in a row.
func TestFallAtItsBounds(t *testing.T) {
	rate := 650 / (0.8 * 0.06 * 4.18e6) // K/s, 650 W/m² out of four fifths of 60 mm
	for _, c := range []struct {
		name   string
		blocks int // at 29 °C before
		fell   float64
		found  int // block at which it is found, 0 never
	}{
		{"more than two blocks' loss", 2, 0.45 + 20*rate + 1e-9, 2},
		{"no more than that", 2, 0.45 + 20*rate - 1e-9, 0},
		{"after a long time", 30, 0.45 + 20*rate + 1e-9, 2},
	} {
		var f fall
		for range c.blocks {
			if f.add(10, 29, 0.06) {
				t.Fatalf("%s: found before it fell", c.name)
			}
		}
		found := 0
		for k := 1; k <= 3; k++ {
			if f.add(10, 29-c.fell, 0.06) && found == 0 {
				found = k
			}
		}
		if found != c.found {
			t.Errorf("%s: found at block %d, want %d", c.name, found, c.found)
		}
	}
	// One block too low is an eddy.
	var f fall
	for k := range 40 {
		y := 29.0
		if k%2 == 1 {
			y = 27
		}
		if f.add(10, y, 0.06) {
			t.Fatal("single blocks were added up")
		}
	}
	// What was more than twelve blocks ago no longer counts.
	for before, found := range map[int]bool{12: true, 13: false} {
		var f fall
		f.add(10, 40, 0.06)
		for k := 2; k <= before; k++ {
			f.add(10, 40-0.45-float64(k-1)*10*rate+1e-9, 0.06)
		}
		f.low = 1
		if got := f.add(10, 40-0.45-float64(before)*10*rate-1e-6, 0.06); got != found {
			t.Errorf("%d blocks ago: found %v", before, got)
		}
	}
	// Quiet after hands for as long as it says.
	f = fall{quiet: 20}
	f.add(10, 29, 0.06)
	if f.count != 0 || f.quiet != 10 {
		t.Errorf("%+v", f)
	}
	if f.add(10, 29, 0.06); f.count != 0 || f.quiet != 0 {
		t.Errorf("%+v", f)
	}
	if f.add(10, 29, 0.06); f.count != 1 {
		t.Error("the watch did not begin again")
	}
	if f.clear(); f != (fall{}) {
		t.Errorf("%+v", f)
	}
}
