package observer

import (
	"math"
	"testing"
)

// learned is an envelope that knows its tub: a floor 0.2 K over the water at
// rest and a whole kelvin more at full heat, with a coast of 100 s.
func learned() envelope {
	return envelope{still: 0.2, rise: 1, age: 9000, heat: 4000, pad: 1, on: true, answer: 1, changed: true, since: 1000}
}

// blocks runs so many blocks of ten seconds at an answer, in shares of the
// learned one, and says after how many seconds holds became true, −1 for never.
func (e *envelope) blocks(n int, answer, u float64, closed bool, holds func() bool) float64 {
	for k := range n {
		e.add(10, e.still+answer*e.rise, u, 100, closed, true, false)
		if holds() {
			return float64(k+1) * 10
		}
	}
	return -1
}

// The floor loses its heat within a coast; the slowest decay that an animal on
// it makes is 1.8 coasts, and 0.35 of the answer beyond that, for 70 s, is heat
// that nobody asked for. Nothing is said before one coast is over.
func TestFloorThatStaysWarmIsUnaskedHeat(t *testing.T) {
	bound := func(start, since float64) float64 { return start*math.Exp(-since/180) + 0.35 }
	for _, c := range []struct {
		name          string
		start, answer float64
		found         float64 // s after the pad went off
	}{
		{"a hair over the bound at the first look", 1, bound(1, 110) + 1e-6, 170},
		{"a hair under it", 1, bound(1, 110) - 1e-6, 180},
		{"far over it: no sooner", 1, 1.5, 170},
		{"an answer at switching that counts at most 1.7", 3, bound(1.7, 200) + 1e-6, 260},
		{"an answer at switching that counts at least 0.6", 0.1, bound(0.6, 200) + 1e-6, 260},
		{"just what is left for good", 1, 0.35, -1},
		{"cold", 1, 0.1, -1},
	} {
		e := learned()
		e.answer = c.start
		e.blocks(1, c.start, 1, true, func() bool { return false })
		e.add(0, e.still+c.start*e.rise, 0, 100, true, true, false)
		if got := e.blocks(200, c.answer, 0, true, e.unasked); got != c.found {
			t.Errorf("%s: found after %v s, want %v", c.name, got, c.found)
		}
	}
	e := learned()
	if got := e.blocks(200, 1.5, 0, false, e.unasked); got >= 0 {
		t.Error("heat was found to come unasked through an open series relay")
	}
	// The watch begins anew when the series relay closes again.
	if got := e.blocks(200, 1.5, 0, true, e.unasked); got != 170 {
		t.Errorf("found %v s after the series relay closed, want 170", got)
	}
	e = learned()
	for range 200 {
		if e.add(10, e.still+1.5, 0, 100, true, false, false); e.unasked() {
			t.Fatal("a floor probe that repeats one code since the switch proves heat")
		}
	}
	e = learned()
	if got := e.blocks(200, 1.5, 1, true, e.unasked); got >= 0 {
		t.Error("heat that was asked for is called unasked")
	}
}

// After two and a half coasts of heat less than a quarter of the answer is none
// and more than half is heat that arrives, when it lasts 70 s.
func TestFloorThatStaysColdIsADeadPad(t *testing.T) {
	for _, c := range []struct {
		name           string
		answer         float64
		absent, heated float64
	}{
		{"none", 0, 320, -1},
		{"a hair under a quarter", 0.25 - 1e-9, 320, -1},
		{"a quarter and a little", 0.25 + 1e-9, -1, -1},
		{"a hair under seven tenths", 0.7 - 1e-9, -1, -1},
		{"a hair over seven tenths", 0.7 + 1e-9, -1, 320},
		{"all", 1, -1, 320},
	} {
		e := learned()
		e.on = false
		if got := e.blocks(200, c.answer, 1, true, e.absent); got != c.absent {
			t.Errorf("%s: absent after %v s, want %v", c.name, got, c.absent)
		}
		e = learned()
		e.on = false
		if got := e.blocks(200, c.answer, 1, true, e.heated); got != c.heated {
			t.Errorf("%s: heated after %v s, want %v", c.name, got, c.heated)
		}
		if e.cleared() || e.unasked() {
			t.Errorf("%s: heat that was asked for says something about heat that was not", c.name)
		}
	}
}

// One coast after the pad went on a quarter of what it has given by then is too
// little: 0.25·(1 − e^(−t/coast)), rising. That accuses, with half an hour of
// heat learned and no other age.
func TestFloorThatLacksItsAnswer(t *testing.T) {
	cold := func() envelope {
		e := learned()
		e.on, e.pad, e.age, e.heat = false, 0, 1800, 1800
		return e
	}
	for _, c := range []struct {
		name   string
		set    func(*envelope)
		answer float64
		lacks  float64 // s after the pad went on
	}{
		{"none", func(*envelope) {}, 0, 170},
		{"a hair under the bound at the first look", func(*envelope) {}, 0.25*(1-math.Exp(-1.1)) - 1e-6, 170},
		{"a hair over it", func(*envelope) {}, 0.25*(1-math.Exp(-1.1)) + 1e-6, 180},
		{"a quarter for good", func(*envelope) {}, 0.25, -1},
		{"too little heat learned", func(e *envelope) { e.heat = 1799 }, 0, -1},
		{"an answer that drowns", func(e *envelope) { e.rise = 0.35 }, 0, -1},
		{"an answer that does not", func(e *envelope) { e.rise = 0.36 }, 0, 170},
	} {
		e := cold()
		c.set(&e)
		if got := e.blocks(200, c.answer, 1, true, e.lacking); got != c.lacks {
			t.Errorf("%s: lacks after %v s, want %v", c.name, got, c.lacks)
		}
		e = cold()
		c.set(&e)
		if got := e.blocks(200, c.answer, 0, true, e.lacking); got >= 0 {
			t.Errorf("%s: a pad that is off lacks its answer after %v s", c.name, got)
		}
	}
	e := cold()
	for range 200 {
		if e.add(10, e.still, 1, 100, true, false, false); e.lacking() {
			t.Fatal("a floor probe that repeats one code since the switch accuses")
		}
	}
	e = cold()
	e.blocks(40, 0, 1, true, func() bool { return false })
	if !e.lacking() {
		t.Fatal("nothing lacks")
	}
	if e.blocks(1, 0.3, 1, true, func() bool { return false }); e.lacking() {
		t.Error("a lack that ended still counts")
	}
	// It counts anew after each switch.
	e = cold()
	e.blocks(40, 0, 1, true, func() bool { return false })
	e.blocks(1, 0, 0, true, func() bool { return false })
	if got := e.blocks(200, 0, 1, true, e.lacking); got != 170 {
		t.Errorf("after a switch it lacks after %v s, want 170", got)
	}
}

// A floor that lost its heat with the way for unasked heat open clears the
// relay of suspicion; with the series relay open it says nothing.
func TestFloorThatCoolsClearsTheRelay(t *testing.T) {
	for _, c := range []struct {
		answer  float64
		closed  bool
		cleared float64
	}{{0, true, 320}, {0.25 - 1e-9, true, 320}, {0.25 + 1e-9, true, -1}, {0, false, -1}} {
		e := learned()
		if got := e.blocks(200, c.answer, 0, c.closed, e.cleared); got != c.cleared {
			t.Errorf("%+v: cleared after %v s", c, got)
		}
		if e.heated() || e.absent() {
			t.Errorf("%+v: a pad that is off is judged as one that heats", c)
		}
	}
	e := learned()
	e.blocks(40, 0, 0, true, func() bool { return false })
	if !e.cleared() {
		t.Fatal("not cleared")
	}
	if e.blocks(1, 0, 0, false, func() bool { return false }); e.cleared() {
		t.Error("still cleared when the way for unasked heat is shut")
	}
	e = learned()
	e.on = false
	e.blocks(40, 0, 1, true, func() bool { return false })
	if e.blocks(1, 0.3, 1, true, func() bool { return false }); e.absent() {
		t.Error("an absence that ended still counts")
	}
}

// A pad that is on for less than half of a block counts as off.
func TestFloorTakesTheLargerPartOfABlock(t *testing.T) {
	for _, c := range []struct {
		u  float64
		on bool
	}{{0.5, false}, {0.500001, true}} {
		e := learned()
		e.on = !c.on
		if e.add(10, 0.2, c.u, 100, true, true, false); e.on != c.on || e.since != 10 {
			t.Errorf("%v of a block: on %v, %v s since the switch", c.u, e.on, e.since)
		}
	}
}

// Two hours of learning with half an hour of heat in them, and an answer of more
// than 0.35 K, make the floor a witness; of a floor that stays warm only with a
// quarter of an hour of rest in them.
func TestWhenTheFloorMayJudge(t *testing.T) {
	for _, c := range []struct {
		age, heat, rise float64
		ready           bool
	}{
		{7200, 1800, 0.36, true}, {7199, 1800, 0.36, false}, {7200, 1799, 0.36, false}, {7200, 1800, 0.35, false},
	} {
		e := learned()
		e.age, e.heat, e.rise = c.age, c.heat, c.rise
		if e.ready() != c.ready {
			t.Errorf("%+v: ready %v", c, e.ready())
		}
		e.over, e.under, e.fine = 70, 70, 70
		if e.unasked() != c.ready || e.absent() != c.ready || e.heated() != c.ready {
			t.Errorf("%+v: unasked %v absent %v heated %v", c, e.unasked(), e.absent(), e.heated())
		}
		e.on = false
		if e.cleared() != c.ready {
			t.Errorf("%+v: cleared %v", c, e.cleared())
		}
		e.changed = false
		if e.unasked() || e.absent() || e.cleared() {
			t.Error("a probe that repeats one code is a witness")
		}
		if e.on = true; e.heated() {
			t.Error("a probe that repeats one code is a witness")
		}
	}
	for heat, unasked := range map[float64]bool{6300: true, 6301: false} {
		e := learned()
		e.age, e.heat, e.over, e.under = 7200, heat, 70, 70
		if e.unasked() != unasked || !e.absent() {
			t.Errorf("%v s of rest: unasked %v, absent %v", 7200-heat, e.unasked(), e.absent())
		}
	}
}

// A plate under water rises (q/267)^¾ K over it, Nu = 0.15 Ra^⅓ (Incropera and
// DeWitt); a probe that feels a quarter of that, or 0.35 K, is out of place.
func TestFloorProbeOutOfPlace(t *testing.T) {
	for _, c := range []struct {
		flux, rise, age, heat float64
		blind                 bool
	}{
		{0, 0.35, 7200, 1800, true}, {0, 0.351, 7200, 1800, false},
		{267 * 16, 2, 7200, 1800, true}, {267 * 16, 2.001, 7200, 1800, false},
		{267 * 16, 2, 7199, 1800, false}, {267 * 16, 2, 7200, 1799, false},
		{267, 0.35, 7200, 1800, true}, {267, 0.36, 7200, 1800, false},
	} {
		e := envelope{age: c.age, heat: c.heat, rise: c.rise}
		if e.blind(c.flux) != c.blind {
			t.Errorf("%+v: blind %v", c, e.blind(c.flux))
		}
	}
}

// What is learned moves by a hundredth of the error a block for an hour of its
// own, of rest or of heat, and by a fifth of that afterwards, shared between
// rest and heat as the pad is.
func TestFloorLearnsItsRestAndItsAnswer(t *testing.T) {
	halved := 100 * math.Ln2 // s, after which a pad with a lag of 100 s is half way
	for _, c := range []struct {
		name               string
		rest, heat, pad, u float64
		h                  float64
		paceStill, pace    float64
		mean               float64
	}{
		{"at rest, new", 3599, 9000, 0, 0, 10, 0.01, 0.002, 0},
		{"at rest, old", 3600, 0, 0, 0, 10, 0.002, 0.01, 0},
		{"heated, new", 9000, 3599, 1, 1, 10, 0.002, 0.01, 1},
		{"heated, old", 0, 3600, 1, 1, 10, 0.01, 0.002, 1},
		{"half way up", 0, 500, 0, 1, halved, 0.01, 0.01, 0.25},
		{"half way down", 0, 500, 1, 0, halved, 0.01, 0.01, 0.75},
		{"half way down, heat old", 100, 5000, 1, 0, halved, 0.01, 0.002, 0.75},
	} {
		age := c.rest + c.heat
		e := envelope{still: 0.3, rise: 0.8, age: age, heat: c.heat, pad: c.pad}
		const z = 2.1
		e.add(c.h, z, c.u, 100, true, false, false)
		if e.still != 0.3 || e.rise != 0.8 || e.age != age || e.heat != c.heat {
			t.Errorf("%s: it learned although it must not", c.name)
		}
		e = envelope{still: 0.3, rise: 0.8, age: age, heat: c.heat, pad: c.pad}
		e.add(c.h, z, c.u, 100, true, false, true)
		err := z - 0.3 - 0.8*c.mean
		still, rise := 0.3+c.paceStill*err*(1-c.mean), 0.8+c.pace*err*c.mean
		if math.Abs(e.still-still) > 1e-8 || math.Abs(e.rise-rise) > 1e-8 {
			t.Errorf("%s: rest %v and answer %v, want %v and %v", c.name, e.still, e.rise, still, rise)
		}
		if e.age != age+c.h || math.Abs(e.heat-(c.heat+c.h*c.u)) > 1e-9 {
			t.Errorf("%s: %v s of learning, %v of heat", c.name, e.age, e.heat)
		}
		if want := (z - 0.3) / 0.8; math.Abs(e.answer-want) > 1e-12 {
			t.Errorf("%s: answer %v, want %v", c.name, e.answer, want)
		}
	}
	e := envelope{still: 0.3, answer: 0.7}
	if e.add(10, 2, 0, 100, true, false, false); e.answer != 0.7 {
		t.Error("an answer in shares of nothing")
	}
}
