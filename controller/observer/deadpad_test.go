package observer

import (
	"math"
	"testing"
)

// withholding is a watcher that suspects a dead pad and is in its test.
func withholding(t *testing.T, set func(*Observer)) *Observer {
	o := watcher(t)
	o.norise = inquiry{stage: suspected, wait: 1000, lowest: 29}
	o.dead.Sum = 8
	o.top, o.fallHold = 29, 10
	if set != nil {
		set(o)
	}
	return o
}

func (o *Observer) acquitted() bool {
	return o.norise == inquiry{} && o.dead.Sum == 0 && math.IsNaN(o.top) && o.fallHold == 0
}

// What begins an inquiry about a dead pad: a look at the last switch from five
// nats on, enough evidence to watch, or water that falls on under heat.
func TestWhatAccusesThePad(t *testing.T) {
	straight := func(o *Observer) { o.show(240, 0, 0); o.on, o.offBefore = 400, 400 }
	answers := func(answer float64) func(*Observer) {
		return func(o *Observer) {
			o.fallHold = 10
			o.floor = learned()
			o.floor.since, o.floor.answer = 5000, answer
		}
	}
	for _, c := range []struct {
		name  string
		sum   float64
		set   func(*Observer)
		stage stage
		wait  float64 // −1: a half period
	}{
		{"five nats and a straight line", 5 + 1e-9, straight, suspected, -1},
		{"five nats", 5, straight, idle, 0},
		{"more, and no switch to look at", 6, nil, idle, 0},
		{"evidence and no switch to look at", 7 + 1e-9, nil, watched, 120},
		{"seven nats", 7, nil, idle, 0},
		{"water that falls", 0, func(o *Observer) { o.fallHold = 10 }, watched, 0},
		{"water that falls over a floor that answers", 0, answers(0.7 + 1e-9), idle, 0},
		{"water that falls over a floor that hardly does", 0, answers(0.7), watched, 0},
		{"a floor that will tell within minutes", 6, func(o *Observer) {
			straight(o)
			o.floor = learned()
			o.floor.since = 2.5*120 + 210 - 1
		}, idle, 0},
		{"a floor that had its time", 6, func(o *Observer) {
			straight(o)
			o.floor = learned()
			o.floor.since = 2.5*120 + 210
		}, suspected, -1},
		{"a floor that begins to answer", 6, func(o *Observer) {
			straight(o)
			o.floor = learned()
			o.floor.since, o.floor.fine = 9999, 10
		}, idle, 0},
		{"a floor under a pad that is off", 6, func(o *Observer) {
			straight(o)
			o.floor = learned()
			o.floor.since, o.floor.on = 10, false
		}, suspected, -1},
		{"a floor that knows nothing yet", 6, func(o *Observer) {
			straight(o)
			o.floor = learned()
			o.floor.since, o.floor.age = 10, 7199
		}, suspected, -1},
	} {
		o := watcher(t)
		o.dead.Threshold = 7
		if c.set != nil {
			c.set(o)
		}
		o.dead.Sum = c.sum
		o.inquireDead(10, 1, 29.1, true)
		q := o.norise
		if q.stage != c.stage {
			t.Errorf("%s: stage %d, want %d", c.name, q.stage, c.stage)
		}
		if c.wait < 0 {
			o.isHalf(t, c.name, q.wait)
		} else if q.wait != c.wait {
			t.Errorf("%s: %v s until the next look, want %v", c.name, q.wait, c.wait)
		}
		if q.stage != idle && q.lowest != 29.1 {
			t.Errorf("%s: the lowest is %v", c.name, q.lowest)
		}
		if first := map[bool]float64{true: 900}[c.name == "evidence and no switch to look at"]; q.first != first {
			t.Errorf("%s: %v s for a first look, want %v", c.name, q.first, first)
		}
		// Nothing of it counts while changed water settles.
		o = watcher(t)
		if c.set != nil {
			c.set(o)
		}
		o.dead.Sum, o.dead.Threshold = c.sum, 7
		if o.inquireDead(10, 1, 29.1, false); o.norise.stage != idle {
			t.Errorf("%s: accused while changed water settles", c.name)
		}
	}
}

// A floor that lacks its answer accuses whatever else is said, also while
// changed water settles, and proves nothing.
func TestFloorThatLacksItsAnswerAccuses(t *testing.T) {
	for _, from := range []stage{idle, watched, suspected, undecided, proven} {
		for _, quiet := range []bool{true, false} {
			o := watcher(t)
			o.norise = inquiry{stage: from, votes: 3, sum: 4, lowest: 28}
			o.floor = learned()
			o.floor.since, o.floor.lack = 190, 70
			o.inquireDead(10, 1, 28.2, quiet)
			q := o.norise
			if q.stage != max(from, suspected) {
				t.Errorf("from %d, quiet %v: %d", from, quiet, q.stage)
			}
			if from < suspected {
				if q.votes != 0 || q.sum != 0 || q.lowest != 28.2 {
					t.Errorf("from %d, quiet %v: %+v", from, quiet, q)
				}
			} else if q.votes != 3 || q.sum != 4 || q.lowest != 28 {
				t.Errorf("from %d, quiet %v: what was counted is gone: %+v", from, quiet, q)
			}
		}
	}
	o := watcher(t)
	o.floor = learned()
	o.floor.since, o.floor.lack = 190, 69
	if o.inquireDead(10, 1, 28.2, true); o.norise.stage != idle {
		t.Error("accused before it lasts")
	}
}

// For a quarter of an hour a first look may turn watching into suspicion.
func TestFirstLook(t *testing.T) {
	for _, c := range []struct {
		name  string
		first float64
		set   func(*Observer)
		stage stage
	}{
		{"straight", 20, nil, suspected},
		{"too late", 10, nil, watched},
		{"the floor will tell", 20, func(o *Observer) { o.floor = learned(); o.floor.since = 10 }, watched},
		{"bent", 20, func(o *Observer) { o.trace.clear(); o.show(240, 1, 0) }, watched},
	} {
		o := withholding(t, func(o *Observer) {
			o.norise.stage, o.norise.first = watched, c.first
			o.show(240, 0, 0)
			o.on, o.offBefore = 400, 400
			o.dead.Sum = 3
		})
		if c.set != nil {
			c.set(o)
		}
		if o.inquireDead(10, 1, 29, true); o.norise.stage != c.stage {
			t.Errorf("%s: stage %d, want %d", c.name, o.norise.stage, c.stage)
		}
		if want := c.first - 10; o.norise.first != want {
			t.Errorf("%s: %v s left, want %v", c.name, o.norise.first, want)
		}
	}
}

// What acquits the pad: water that rises a quarter of a kelvin under heat, a
// floor that answers, or water over the band.
func TestWhatAcquitsThePad(t *testing.T) {
	for _, c := range []struct {
		name  string
		u     float64
		water float64
		set   func(*Observer)
		free  bool
	}{
		{"a quarter of a kelvin and a hair", 1, 29.25 + 1e-9, nil, true},
		{"a hair less", 1, 29.25 - 1e-9, nil, false},
		{"without heat", 0.5, 29.9, nil, false},
		{"the floor answers", 1, 29, func(o *Observer) { o.floor = learned(); o.floor.fine = floorHold }, true},
		{"the level rule holds", 1, 29, func(o *Observer) { o.levelHold = 10 }, true},
		{"nothing", 1, 29, nil, false},
		{"it fell further and rose from there", 1, 28.9, func(o *Observer) { o.norise.lowest = 28.6 }, true},
		{"hands in the tub", 1, 29, func(o *Observer) { o.levelHold, o.attended = 10, 1 }, false},
	} {
		o := withholding(t, c.set)
		if o.inquireDead(10, c.u, c.water, true); o.acquitted() != c.free {
			t.Errorf("%s: acquitted %v: %+v", c.name, o.acquitted(), o.norise)
		}
		if !c.free && o.norise.lowest != min(29, c.water) {
			t.Errorf("%s: the lowest is %v", c.name, o.norise.lowest)
		}
	}
	for name, set := range map[string]func(*Observer) bool{
		"hands":        func(o *Observer) bool { o.attended = 1; return true },
		"water change": func(*Observer) bool { return false },
	} {
		o := withholding(t, func(o *Observer) { o.norise.shut, o.norise.wait = true, 5 })
		quiet := set(o)
		if o.inquireDead(10, 0, 29, quiet); o.norise.shut || o.norise.stage != suspected {
			t.Errorf("%s: heat is withheld still: %+v", name, o.norise)
		}
		o.isHalf(t, name, o.norise.wait)
	}
}

// The test withholds wanted heat for half a period, at most three times, and
// takes its vote half a period after heat came back.
func TestHeatIsWithheldInTheTest(t *testing.T) {
	now := func(o *Observer) { o.norise.wait = 10 }
	for _, c := range []struct {
		name  string
		set   func(*Observer)
		shut  bool
		tests int32
		asked bool
		votes int32
	}{
		{"it begins", now, true, 1, false, 0},
		{"not yet", func(o *Observer) { o.norise.wait = 10 + 1e-9 }, false, 0, false, 0},
		{"no heat is wanted", func(o *Observer) { now(o); o.wanted = false }, false, 0, false, 0},
		{"a third time", func(o *Observer) { now(o); o.norise.tests = 2 }, true, 3, false, 0},
		{"no fourth time: votes without it", func(o *Observer) { now(o); o.norise.tests = 3; o.show(300, 0, 0) }, false, 3, false, 1},
		{"heat comes back", func(o *Observer) { now(o); o.norise.shut, o.norise.tests = true, 1 }, false, 1, true, 0},
		{"then the vote, and again", func(o *Observer) { now(o); o.norise.asked, o.norise.tests = true, 1; o.show(300, 0, 0) }, true, 2, false, 1},
		{"a lid is off: heat is needed", func(o *Observer) {
			now(o)
			o.pair.leanAge, o.pair.rise, o.pair.lean = 7200, 0.3, 1e-6
		}, false, 0, false, 0},
		{"no lid is off", func(o *Observer) {
			now(o)
			o.pair.leanAge, o.pair.rise, o.pair.lean = 7200, 0.3, 0
		}, true, 1, false, 0},
		{"the floor will tell", func(o *Observer) { now(o); o.floor = learned(); o.floor.since = 10 }, false, 0, false, 0},
	} {
		o := withholding(t, c.set)
		o.inquireDead(10, 1, 29, true)
		if q := o.norise; q.shut != c.shut || q.tests != c.tests || q.asked != c.asked || q.votes != c.votes {
			t.Errorf("%s: withheld %v, %d tests, asked %v, %d votes", c.name, q.shut, q.tests, q.asked, q.votes)
		}
		if c.shut || c.asked || c.votes > 0 {
			o.isHalf(t, c.name, o.norise.wait)
		}
	}
}

// A plain answer ends the wait early, once heat was on for a coast.
func TestPlainAnswerEndsTheWait(t *testing.T) {
	for _, c := range []struct {
		name  string
		on    float64
		asked bool
		obeys float64
		votes int32
	}{
		{"the water answers", 121, true, 1, 1},
		{"it does not", 121, true, 0, 1},
		{"no sooner than a coast", 120, true, 1, 0},
		{"heat was not withheld", 121, false, 1, 0},
		{"half an answer", 121, true, 0.5, 0},
	} {
		o := withholding(t, func(o *Observer) {
			o.norise.asked, o.on, o.norise.tests = c.asked, c.on, 1
			o.filter.noise = 0.001
			o.show(300, c.obeys, 0)
		})
		if o.inquireDead(10, 1, 29, true); o.norise.votes != c.votes {
			t.Errorf("%s: %d votes, the last %v", c.name, o.norise.votes, o.norise.last)
		}
	}
	// It looks back on a quarter of an hour and no further: what the water did
	// before, and no story explains, counts for nothing.
	o := withholding(t, func(o *Observer) {
		o.norise.asked, o.on, o.norise.tests = true, 121, 1
		o.filter.noise = 0.001
		o.show(210, 30, 0)
		o.show(90, 0, 0)
	})
	if o.inquireDead(10, 1, 29, true); o.norise.votes != 1 || o.norise.last < 7 {
		t.Errorf("after other times %d votes, the last %v", o.norise.votes, o.norise.last)
	}
}

// Eight strong votes in a row prove a dead pad in a tub that is known; two that
// come to minus seven acquit; one that says nearly all that it can is said aloud.
func TestVerdictAboutThePad(t *testing.T) {
	for _, c := range []struct {
		name    string
		row     int32
		sum     float64
		votes   int32
		trusted bool
		obeys   float64
		want    stage
	}{
		{"the eighth", 7, 30, 7, true, 0, proven},
		{"the seventh", 6, 30, 6, true, 0, suspected},
		{"the eighth, in a tub that is not known", 7, 30, 7, false, 0, suspected},
		{"the first", 0, 0, 0, true, 0, suspected},
		{"the second for the pad", 0, -6, 1, true, 1, idle},
		{"the first for the pad", 0, 0, 0, true, 1, watched},
	} {
		o := withholding(t, nil)
		if !c.trusted {
			o.cycles = 0
		}
		o.norise.stage, o.norise.asked, o.norise.wait = watched, true, 10
		o.norise.row, o.norise.sum, o.norise.votes = c.row, c.sum, c.votes
		o.filter.noise = 0.001
		o.show(300, c.obeys, 0)
		o.inquireDead(10, 1, 29, true)
		if o.norise.stage != c.want {
			t.Errorf("%s: stage %d, want %d, the last vote %v", c.name, o.norise.stage, c.want, o.norise.last)
		}
		if c.want == idle && !o.acquitted() {
			t.Errorf("%s: %+v", c.name, o.norise)
		}
		if shut := o.norise.shut; (c.want == proven || c.want == idle) && shut {
			t.Errorf("%s: heat is withheld", c.name)
		}
	}
	for _, st := range []stage{idle, watched, suspected, undecided} {
		o := withholding(t, func(o *Observer) { o.norise.stage, o.norise.shut = st, true })
		o.floor = learned()
		o.floor.under = floorHold
		if o.inquireDead(10, 1, 29, true); o.norise.stage != proven || o.norise.shut {
			t.Errorf("the floor's proof from stage %d: %+v", st, o.norise)
		}
		o.floor.under = 0
		if o.inquireDead(10, 1, 35, true); o.norise.stage != proven {
			t.Error("a proof was taken back")
		}
	}
}

// A look at the last switch needs one: heat for at most forty minutes after a
// pause of a coast, and water that went straight through it.
func TestStraightThroughTheSwitch(t *testing.T) {
	for _, c := range []struct {
		name           string
		on, off, obeys float64
		straight       bool
	}{
		{"dead", 400, 400, 0, true}, {"obedient", 400, 400, 1, false},
		{"a pause of a coast", 400, 120, 0, true}, {"a shorter pause", 400, 119, 0, false},
		{"forty minutes", 2400, 400, 0, true}, {"longer", 2401, 400, 0, false},
	} {
		o := watcher(t)
		o.filter.noise = 0.001
		o.show(300, c.obeys, 0)
		o.on, o.offBefore = c.on, c.off
		if o.straight() != c.straight {
			t.Errorf("%s: straight %v", c.name, o.straight())
		}
	}
	// Of a long pause only 300 s and a coast count: what was before says nothing.
	o := watcher(t)
	o.filter.noise = 0.001
	o.show(240, 1, 0)
	o.show(60, 0, 0)
	o.on, o.offBefore = 200, 9999
	if !o.straight() {
		t.Error("the look went further back than the pause it may use")
	}
	o = watcher(t)
	o.filter.noise = 0.001
	o.show(240, 0, 0)
	o.show(60, 1, 0)
	o.on, o.offBefore = 200, 9999
	if o.straight() {
		t.Error("the look went further back than the pause it may use")
	}
}

// Layers decide where they can: a quarter of the pad's layering is missing.
func TestLayersDecideAtFirstSight(t *testing.T) {
	for _, c := range []struct {
		sum, lean float64
		plain     bool
	}{{5 + 1e-9, -0.0751, true}, {5 + 1e-9, -0.0749, false}, {5, -0.0751, false}} {
		o := watcher(t)
		o.pair.leanAge, o.pair.rise, o.pair.lean = 7200, 0.3, c.lean
		if o.dead.Sum = c.sum; o.plain() != c.plain {
			t.Errorf("%+v: plain %v", c, o.plain())
		}
	}
}
