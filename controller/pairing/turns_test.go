package pairing

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

const (
	mK    = physic.MilliKelvin
	start = physic.ZeroCelsius + 20*physic.Kelvin
)

// turns is a bench of tubs whose water the test sets itself.
type turns struct {
	bench Bench
	now   time.Duration
	tubs  []Station
	out   []Verdict
}

// newTurns has n tubs, the first of which has just got its turn and is cold.
func newTurns(n int, gain physic.Temperature) *turns {
	r := &turns{tubs: make([]Station, n), out: make([]Verdict, n)}
	for i := range r.tubs {
		r.tubs[i] = Station{Valid: true, Water: start, Gain: gain}
	}
	r.step(1)
	return r
}

func (r *turns) step(seconds int) {
	for range seconds {
		r.now += time.Second
		r.bench.Step(r.now, r.tubs, r.out)
	}
}

// holder is the station that may heat, −1 for none.
func (r *turns) holder() int {
	for i, v := range r.out {
		if v.Permit && !r.tubs[i].Proven {
			return i
		}
	}
	return -1
}

// A pad of 45 K/h warms its tub 12.5 mK in a second of heat, so 25 s of it make
// five codes of a 12-bit probe (62.5 mK each, DS18B20 data sheet), the least that
// proves anything; a rise of three codes elsewhere is the least that counts.
func TestWhatCountsAsWarmedByAnothersPad(t *testing.T) {
	const hair = 1 * physic.NanoKelvin
	for _, c := range []struct {
		name       string
		heat       int // seconds
		own, other physic.Temperature
		crossed    bool
	}{
		{"a second short of five codes expected", 24, 0, 1000 * mK, false},
		{"five codes expected, three codes elsewhere", 25, 0, 187500 * physic.MicroKelvin, true},
		{"a hair under three codes elsewhere", 25, 0, 187500*physic.MicroKelvin - hair, false},
		{"its own tub got half of what was expected", 25, 156250 * physic.MicroKelvin, 1000 * mK, false},
		{"its own tub got a hair less than half", 25, 156250*physic.MicroKelvin - hair, 1000 * mK, true},
		{"its own tub cooled", 25, -1000 * mK, 1000 * mK, true},
		{"a quarter of what was expected, elsewhere", 100, 0, 312500 * physic.MicroKelvin, true},
		{"a hair less than a quarter", 100, 0, 312500*physic.MicroKelvin - hair, false},
		{"the other tub cooled", 100, 0, -2000 * mK, false},
	} {
		r := newTurns(2, 45*physic.Kelvin)
		r.tubs[0].Heating = true
		r.step(c.heat - 1)
		r.tubs[0].Water += c.own
		r.tubs[1].Water += c.other
		r.step(1)
		if r.out[0].Crossed != c.crossed || r.out[1].Crossed != c.crossed {
			t.Errorf("%s: crossed %v and %v, want %v", c.name, r.out[0].Crossed, r.out[1].Crossed, c.crossed)
		}
	}
}

// What may have warmed by other means is no evidence against the pad on trial.
func TestOnlyBelievableColdUnprovenWaterIsEvidence(t *testing.T) {
	for _, c := range []struct {
		name    string
		set     func(r *turns)
		crossed bool
	}{
		{"nothing else warms it", func(*turns) {}, true},
		{"the other station is proven", func(r *turns) { r.tubs[1].Proven = true }, false},
		{"the other station heats as well", func(r *turns) { r.tubs[1].Heating = true }, false},
		{"the other probe is not believed", func(r *turns) { r.tubs[1].Valid = false }, false},
		{"the station on trial has no believable probe", func(r *turns) { r.tubs[0].Valid = false }, false},
	} {
		r := newTurns(2, 45*physic.Kelvin)
		r.tubs[0].Heating = true
		r.step(98)
		c.set(r)
		r.tubs[1].Water += 800 * mK
		r.step(1)
		if r.out[0].Crossed != c.crossed {
			t.Errorf("%s: crossed %v, want %v", c.name, r.out[0].Crossed, c.crossed)
		}
	}
}

// A probe that was not believed when the heat began has no value to rise from.
func TestWaterUnknownAtTheFirstHeatIsNoEvidence(t *testing.T) {
	for _, c := range []struct {
		name    string
		unknown int
	}{{"of the station on trial", 0}, {"of the other", 1}} {
		r := newTurns(2, 45*physic.Kelvin)
		r.tubs[c.unknown].Valid = false
		r.step(1)
		r.tubs[0].Heating = true
		r.step(60)
		r.tubs[c.unknown].Valid = true
		r.tubs[1].Water += 2000 * mK
		r.step(60)
		if r.out[0].Crossed || r.out[1].Crossed {
			t.Errorf("%s: a crossing was concluded without a first value", c.name)
		}
	}
}

// Only seconds of heat count: a tub that warms before the pad is on, in the sun,
// sets the line from which the trial counts.
func TestTheTrialCountsFromTheFirstHeat(t *testing.T) {
	r := newTurns(2, 45*physic.Kelvin)
	r.tubs[1].Water += 3000 * mK
	r.step(300)
	r.tubs[0].Heating = true
	r.step(120)
	if r.out[0].Crossed {
		t.Error("a rise before the first heat was taken for the pad's")
	}
	r.tubs[0].Heating = false
	r.tubs[1].Water += 360 * mK
	r.step(60)
	if r.out[0].Crossed {
		t.Error("seconds without heat made the pad owe more than it gave")
	}
}

func TestATurnEndsWhenItHasShownEnough(t *testing.T) {
	const never = -1
	for _, c := range []struct {
		name   string
		heats  bool
		before func(r *turns)
		ends   int // seconds after the turn began
		next   int // seconds from its end to the next turn
	}{
		{"45 min of heat that shows nothing", true, func(*turns) {}, 45 * 60, 5 * 60},
		{"ten minutes without asking for heat", false, func(*turns) {}, 10 * 60, 0},
		{"proven", true, func(r *turns) { r.tubs[0].Proven = r.now >= 101*time.Second }, 100, 5 * 60},
		{"proven without heat", false, func(r *turns) { r.tubs[0].Proven = r.now >= 101*time.Second }, 100, 0},
	} {
		r := newTurns(2, 360*physic.MilliKelvin)
		if r.holder() != 0 {
			t.Fatalf("%s: the first station did not get the first turn", c.name)
		}
		ended, next := never, never
		for s := 1; s < 2*3600 && next == never; s++ {
			r.tubs[0].Heating = c.heats && r.holder() == 0
			r.now += time.Second
			c.before(r)
			r.bench.Step(r.now, r.tubs, r.out)
			if ended == never && r.holder() != 0 {
				ended = s
			}
			if r.holder() == 1 {
				next = s
			}
		}
		if ended != c.ends || next-ended != c.next {
			t.Errorf("%s: ended after %d s and the next began %d s later, want %d and %d", c.name, ended, next-ended, c.ends, c.next)
		}
	}
}

// Heat in between keeps a turn: idle time counts from the last heat.
func TestHeatNowAndThenKeepsTheTurn(t *testing.T) {
	r := newTurns(2, 360*physic.MilliKelvin)
	for range 3 {
		r.step(598)
		if r.holder() != 0 {
			t.Fatal("a turn ended although the station heated less than ten minutes ago")
		}
		r.tubs[0].Heating = true
		r.step(1)
		r.tubs[0].Heating = false
	}
	r.step(599)
	if r.holder() != 0 {
		t.Error("the turn ended a second early")
	}
	r.step(1)
	if r.holder() == 0 {
		t.Error("the turn did not end ten minutes after the last heat")
	}
}

func TestTurnsGoRoundAndPassOverTheProven(t *testing.T) {
	r := newTurns(4, 360*physic.MilliKelvin)
	r.tubs[1].Proven = true
	var order []int
	for range 3 * 601 {
		r.step(1)
		if h := r.holder(); h >= 0 && (len(order) == 0 || order[len(order)-1] != h) {
			order = append(order, h)
		}
	}
	if len(order) != 4 || order[0] != 0 || order[1] != 2 || order[2] != 3 || order[3] != 0 {
		t.Errorf("turns went to %v, want 0, 2, 3 and 0 again", order)
	}
}

// Crossed pads lose their turn at once and never get another.
func TestACrossedStationGetsNoFurtherTurn(t *testing.T) {
	r := newTurns(3, 45*physic.Kelvin)
	r.tubs[0].Heating = true
	r.step(98)
	r.tubs[1].Water += 1000 * mK
	r.step(1)
	if !r.out[0].Crossed || !r.out[1].Crossed || r.out[2].Crossed {
		t.Fatalf("crossed: %v", r.out)
	}
	r.tubs[0].Heating = false
	r.step(1)
	if r.holder() != -1 {
		t.Error("a crossed station kept its turn")
	}
	r.step(299)
	if r.holder() != -1 {
		t.Error("the next turn began while the heat was still under way")
	}
	for range 4 * 600 {
		r.step(1)
		if h := r.holder(); h != 2 && h != -1 {
			t.Fatalf("station %d has a turn although it is crossed", h)
		}
	}
}
