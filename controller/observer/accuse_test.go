package observer

import (
	"math"
	"testing"
)

// watcher is an observer of a tub whose gain of 6e-4 K/s and coast of 120 s are
// known exactly and trusted, in the middle of a calm time.
func watcher(t *testing.T) *Observer {
	t.Helper()
	p := good()
	p.SetPoint, p.Differential = 29.4, 0.28
	o, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	o.cycles = cyclesLeast
	for _, i := range []int{iG1, iG2} {
		for _, j := range []int{iG1, iG2} {
			o.filter.cov[i][j] = 0
		}
	}
	o.known, o.believe = true, [2]bool{true, true}
	o.hottest, o.top = 29.4, math.NaN()
	o.wanted = true
	if !o.Trusted() || math.Abs(o.Gain()-6e-4) > 1e-12 || math.Abs(o.Coast()-120) > 1e-9 {
		t.Fatalf("gain %v coast %v", o.Gain(), o.Coast())
	}
	return o
}

// show fills the trace with so many blocks: obeys and welds are the shares of
// command and of a weld that reach the water. In cycles of ten minutes the series
// relay is closed with the pad relay open, then both are open, then both closed.
func (o *Observer) show(blocks int, obeys, welds float64) {
	y := 29.4
	if n := o.trace.count; n > 0 {
		y = o.trace.y[(o.trace.head-1+traced)%traced]
	}
	for k := range blocks {
		cmd, weld := 0.0, 0.0
		switch phase := k % 60; {
		case phase < 25:
			weld = 6e-4
		case phase >= 40:
			cmd = 6e-4
		}
		y += 10 * (obeys*cmd + welds*weld - 2e-4)
		o.trace.add(10, y, cmd, weld)
	}
}

// a half period lies a fifth either way of its middle, and the test tub's middle
// is at coast + (2400·R/g²)^⅓ = 120 + 271 s.
const halfOfTheTub = 391.4

func (o *Observer) isHalf(t *testing.T, what string, got float64) {
	t.Helper()
	if got < 0.79*halfOfTheTub || got > 1.21*halfOfTheTub {
		t.Errorf("%s: %v s is no half period", what, got)
	}
}

// Half periods are drawn evenly over a fifth either way, from 300 to 1200 s.
func TestHalfPeriods(t *testing.T) {
	for _, c := range []struct{ noise, gain, middle float64 }{
		{0.003, 1, halfOfTheTub}, {0.001, 2.4, 300}, {0.05, 0.4, 1200}, {0.03, 1, 120 + 584.8},
	} {
		o := watcher(t)
		o.filter.noise = c.noise
		o.filter.x[iG1] *= c.gain
		o.filter.x[iG2] *= c.gain
		low, high, sum := math.Inf(1), 0.0, 0.0
		for range 4000 {
			h := o.half()
			low, high, sum = min(low, h), max(high, h), sum+h
		}
		for name, v := range map[string][2]float64{"least": {low, 0.8}, "most": {high, 1.2}, "mean": {sum / 4000, 1}} {
			if math.Abs(v[0]/c.middle-v[1]) > 0.006 {
				t.Errorf("noise %v, gain %v: the %s is %v s, want %v", c.noise, c.gain, name, v[0], v[1]*c.middle)
			}
		}
	}
}

// The level rule: with heat off for a minute and a coast the water may not stand
// 0.2 K and three tenths of gain × coast over the switching point and rise.
func TestLevelRuleAtItsBounds(t *testing.T) {
	line := 29.4 + 0.14 + 0.2 + 0.3*6e-4*120
	for _, c := range []struct {
		name                   string
		u, off, drift, hottest float64
		holds                  bool
	}{
		{"over the line", 0, 180, 1e-9, line + 1e-9, true},
		{"under it", 0, 180, 1e-9, line - 1e-9, false},
		{"off for a second less", 0, 179, 1e-9, line + 1, false},
		{"not rising", 0, 180, 0, line + 1, false},
		{"a little heat", 0.01, 180, 1e-9, line + 1, false},
		{"less than that", 0.009, 180, 1e-9, line + 1, true},
	} {
		o := watcher(t)
		o.off, o.filter.x[iD], o.hottest = c.off, c.drift, c.hottest
		o.level(10, c.u, 29)
		o.level(10, c.u, 29)
		if want := map[bool]float64{true: 20}[c.holds]; o.levelHold != want {
			t.Errorf("%s: holds for %v s, want %v", c.name, o.levelHold, want)
		}
		o.off = 0
		if o.level(10, 0, 29); o.levelHold != 0 {
			t.Errorf("%s: it holds on when the pad is on", c.name)
		}
	}
}

// Heat from outside: with the series relay open for a minute and three coasts
// the water over the switching point rises by more than a tenth of the gain.
func TestRiseFromOutsideAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name                 string
		open, drift, hottest float64
		holds                bool
	}{
		{"all of it", 420, 6e-5 + 1e-12, 29.54 + 1e-9, true},
		{"open for a second less", 419, 6e-5 + 1e-12, 29.54 + 1e-9, false},
		{"a tenth of the gain", 420, 6e-5 - 1e-12, 29.54 + 1e-9, false},
		{"at the switching point", 420, 6e-5 + 1e-12, 29.54 - 1e-9, false},
	} {
		o := watcher(t)
		o.openFor, o.filter.x[iD], o.hottest = c.open, c.drift, c.hottest
		o.level(10, 0, 29)
		o.level(10, 0, 29)
		if want := map[bool]float64{true: 20}[c.holds]; o.riseHold != want {
			t.Errorf("%s: rises for %v s, want %v", c.name, o.riseHold, want)
		}
	}
}

// Three minutes and two and a half coasts of heat may not leave the water 0.3 K
// under where it stood one coast after switching on.
func TestFallUnderHeatAtItsBounds(t *testing.T) {
	o := watcher(t)
	if o.on = 120; true {
		o.level(10, 1, 29)
	}
	if !math.IsNaN(o.top) {
		t.Error("the mark was set before a coast was over")
	}
	o.on = 121
	o.level(10, 1, 29)
	o.level(10, 1, 28.5)
	if o.top != 29 {
		t.Errorf("the mark is %v", o.top)
	}
	for _, c := range []struct {
		on, water float64
		holds     bool
	}{{481, 28.7 - 1e-9, true}, {480, 28.7 - 1e-9, false}, {481, 28.7 + 1e-9, false}} {
		o.on = c.on
		if o.level(10, 1, c.water); (o.fallHold == 10) != c.holds {
			t.Errorf("%+v: holds for %v s", c, o.fallHold)
		}
		o.on = 0
		if o.level(10, 1, 29); o.fallHold != 0 {
			t.Errorf("%+v: it holds on without heat", c)
		}
	}
}

// What accuses: seven nats, nine before the tub is known, twice that after hands
// were in it.
func TestEvidenceThatAccuses(t *testing.T) {
	for _, c := range []struct {
		trusted  bool
		attended float64
		limit    float64
	}{{true, 0, 7}, {false, 0, 9}, {true, 1, 14}, {false, 1, 18}} {
		o := watcher(t)
		if !c.trusted {
			o.cycles = 0
		}
		o.attended = c.attended
		for _, over := range []bool{false, true} {
			o.weld.Sum, o.dead.Sum = c.limit, c.limit
			if over {
				o.weld.Sum, o.dead.Sum = c.limit+1e-9, c.limit+1e-9
			}
			o.inquire(10, 0, 0, 29)
			if got := o.unasks.stage == suspected; got != over {
				t.Errorf("%+v: unasked rise is suspected %v", c, got)
			}
			if got := o.norise.stage == watched; got != over {
				t.Errorf("%+v: no rise is watched %v", c, got)
			}
		}
		if o.weld.Threshold != c.limit || o.dead.Threshold != c.limit {
			t.Errorf("%+v: thresholds %v and %v", c, o.weld.Threshold, o.dead.Threshold)
		}
	}
	// While water that was changed settles, evidence accuses nobody.
	o := watcher(t)
	o.changed, o.weld.Sum, o.dead.Sum, o.fallHold = 1, 99, 99, 10
	if o.inquire(10, 0, 0, 29); o.unasks.stage != idle || o.norise.stage != idle {
		t.Error("evidence of a water change accuses")
	}
	// The level rule does all the same.
	o.levelHold = 10
	o.inquire(10, 0, 0, 29)
	if o.unasks.stage != suspected {
		t.Error("the level rule accuses nobody")
	}
	o.isHalf(t, "until the first vote", o.unasks.wait)
	if o.unasks.phase != o.unasks.wait {
		t.Errorf("the first toggle after %v s, the first vote after %v", o.unasks.phase, o.unasks.wait)
	}
}

// While a test withholds the pad's heat nothing can come unasked through a
// shared relay: the evidence starts anew.
func TestWithheldHeatIsNotUnasked(t *testing.T) {
	for _, kind := range []SeriesKind{NoSeries, SharedSeries, OwnSeries} {
		o := watcher(t)
		o.params.Series = kind
		o.norise = inquiry{stage: suspected, shut: true, wait: 500}
		o.weld.Sum, o.weld.Threshold = 99, 7
		o.inquireWeld(10, 0, true)
		if own := kind == OwnSeries; (o.unasks.stage == suspected) != own || (o.weld.Sum == 0) == own {
			t.Errorf("kind %d: stage %d, evidence %v", kind, o.unasks.stage, o.weld.Sum)
		}
	}
}

// toggling is a watcher that suspects unasked rise and is in its test.
func toggling(t *testing.T, set func(*Observer)) *Observer {
	o := watcher(t)
	o.unasks = inquiry{stage: suspected, wait: 1000, phase: 50}
	o.weld.Sum = 8
	if set != nil {
		set(o)
	}
	return o
}

// The test closes the series relay for half periods, only with the pad relay
// open, in water at most 0.45 K over the set point, and not while another test
// withholds heat; a relay that is not the station's own is never closed.
func TestSeriesRelayInItsTest(t *testing.T) {
	const keep = -1
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		pad   float64
		shut  bool
		phase float64 // keep: a new half period
	}{
		{"half a period is not over", nil, 0, false, 40},
		{"it is over", func(o *Observer) { o.unasks.phase = 10 }, 0, true, keep},
		{"a hair is missing", func(o *Observer) { o.unasks.phase = 10 + 1e-9 }, 0, false, 1e-9},
		{"over with the relay closed", func(o *Observer) { o.unasks.phase, o.unasks.shut = 10, true }, 0, false, keep},
		{"going on with the relay closed", func(o *Observer) { o.unasks.shut = true }, 0, true, 40},
		{"too warm to close", func(o *Observer) { o.unasks.phase, o.hottest = 10, 29.85+1e-9 }, 0, false, keep},
		{"just cool enough", func(o *Observer) { o.unasks.phase, o.hottest = 10, 29.85-1e-9 }, 0, true, keep},
		{"too warm to stay closed", func(o *Observer) { o.unasks.shut, o.hottest = true, 29.85+1e-9 }, 0, false, keep},
		{"heat that was asked for", func(o *Observer) { o.unasks.shut = true }, 0.1, false, 0},
		{"another test withholds heat", func(o *Observer) { o.unasks.shut, o.norise.shut = true, true }, 0, false, 50},
		{"a shared relay", func(o *Observer) { o.unasks.shut, o.params.Series = true, SharedSeries }, 0, false, 50},
		{"no relay", func(o *Observer) { o.unasks.shut, o.params.Series = true, NoSeries }, 0, false, 50},
		{"hands in the tub", func(o *Observer) { o.unasks.shut, o.attended = true, 1 }, 0, false, 0},
	} {
		o := toggling(t, c.set)
		o.inquireWeld(10, c.pad, true)
		if o.unasks.shut != c.shut {
			t.Errorf("%s: closed %v", c.name, o.unasks.shut)
		}
		if c.phase == keep {
			o.isHalf(t, c.name, o.unasks.phase)
		} else if math.Abs(o.unasks.phase-c.phase) > 1e-12 {
			t.Errorf("%s: %v s until the next toggle, want %v", c.name, o.unasks.phase, c.phase)
		}
	}
	o := toggling(t, func(o *Observer) { o.unasks.shut = true })
	if o.inquireWeld(10, 0, false); o.unasks.shut || o.unasks.phase != 0 {
		t.Error("the test goes on while changed water settles")
	}
	o.isHalf(t, "after a water change", o.unasks.wait)
}

// A vote is taken when its half period is over and the window holds a switch; it
// looks back two half periods and no further.
func TestVotesAboutUnaskedRise(t *testing.T) {
	now := func(o *Observer) { o.unasks.wait = 10 }
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		show  func(*Observer)
		votes int32
		sign  float64
	}{
		{"not yet", func(o *Observer) { o.unasks.wait = 10 + 1e-9 }, func(o *Observer) { o.show(300, 1, 1) }, 0, 0},
		{"welded", now, func(o *Observer) { o.show(300, 1, 1) }, 1, 1},
		{"obedient", now, func(o *Observer) { o.show(300, 1, 0) }, 1, -1},
		{"welded before and obedient now", now, func(o *Observer) { o.show(200, 1, 1); o.show(100, 1, 0) }, 1, -1},
		{"obedient before and welded now", now, func(o *Observer) { o.show(200, 1, 0); o.show(100, 1, 1) }, 1, 1},
	} {
		o := toggling(t, c.set)
		c.show(o)
		o.inquireWeld(10, 0, true)
		if q := o.unasks; q.votes != c.votes || q.last*c.sign < 0 || c.sign != 0 && math.Abs(q.last) < 2 {
			t.Errorf("%s: %d votes, the last %v", c.name, q.votes, q.last)
		}
		if c.votes > 0 {
			o.isHalf(t, c.name, o.unasks.wait)
		}
	}
	o := toggling(t, now)
	if o.inquireWeld(10, 0, true); o.unasks.votes != 0 || o.unasks.wait != 60 {
		t.Errorf("without a switch: %d votes, the next in %v s", o.unasks.votes, o.unasks.wait)
	}
}

// Six strong votes in a row that come to sixteen nats prove a weld in a tub that
// is known; two votes that come to minus seven acquit.
func TestVerdictAboutUnaskedRise(t *testing.T) {
	for _, c := range []struct {
		name    string
		row     int32
		sum     float64
		votes   int32
		trusted bool
		welded  bool
		want    stage
	}{
		{"the sixth", 5, 30, 5, true, true, proven},
		{"the fifth", 4, 30, 5, true, true, suspected},
		{"the sixth, and little altogether", 5, 0, 5, true, true, suspected},
		{"the sixth, in a tub that is not known", 5, 30, 5, false, true, suspected},
		{"the second for obedience", 0, -6, 1, true, false, idle},
		{"the first for obedience", 0, -6, 0, true, false, suspected},
	} {
		o := toggling(t, nil)
		if !c.trusted {
			o.cycles = 0
		}
		o.unasks.wait, o.unasks.row, o.unasks.sum, o.unasks.votes = 10, c.row, c.sum, c.votes
		o.show(300, 1, map[bool]float64{true: 1}[c.welded])
		o.levelHold = 10
		o.inquireWeld(10, 0, true)
		if o.unasks.stage != c.want {
			t.Errorf("%s: stage %d, want %d", c.name, o.unasks.stage, c.want)
		}
		if c.want == idle && (o.weld.Sum != 0 || o.levelHold != 0 || o.unasks != (inquiry{})) {
			t.Errorf("%s: acquitted and still accused", c.name)
		}
	}
}

// The floor's word ends the inquiry, whatever the water says.
func TestFloorDecidesAboutUnaskedRise(t *testing.T) {
	for _, st := range []stage{idle, suspected, undecided} {
		o := toggling(t, func(o *Observer) { o.unasks.stage, o.unasks.shut = st, true })
		o.floor = learned()
		o.floor.over = floorHold
		if o.inquireWeld(10, 0, true); o.unasks.stage != proven || o.unasks.shut {
			t.Errorf("from stage %d: stage %d, series relay closed %v", st, o.unasks.stage, o.unasks.shut)
		}
		// Proven stays proven.
		o.floor.over = 0
		o.floor.on, o.floor.fine = false, floorHold
		if o.inquireWeld(10, 0, true); o.unasks.stage != proven {
			t.Error("a proof was taken back")
		}
	}
	o := toggling(t, nil)
	o.levelHold = 10
	o.floor = learned()
	o.floor.on, o.floor.fine = false, floorHold
	if o.inquireWeld(10, 0, true); o.unasks != (inquiry{}) || o.weld.Sum != 0 || o.levelHold != 0 {
		t.Errorf("the floor clears the relay and the suspicion stays: %+v", o.unasks)
	}
}
