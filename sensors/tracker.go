package sensors

import (
	"time"

	"soakwarden/controller"
)

// How far a probe may move between two good readings without waiting for a
// second one, in codes of 1/16 °C.
//
// At 1 % bit errors, 6 in a million wrong values still pass the CRC and the
// fixed bytes, at 5 % 328: a probe read once a second on a bad cable would give
// a wrong value several times a day. Two such values that agree are not to be
// expected in the life of the bench. So a jump waits for the second one.
//
// The bound must let through what really happens, or every draught would cost a
// reading. Real probes scatter by 0.027 to 0.039 K about a smooth curve: six
// times that, for a difference of two (√2), is 0.33 K; a step of the code is
// 0.06 K; together 0.4 K, and 0.5 K is 8 codes. Their time constants are 7 to
// 20 s in stirred water, so 0.25 K/s is what the quickest does when the water
// about it becomes 1.75 K warmer at once: more than lids, draughts, sun and
// stirring do. At one reading a second that allows 0.75 K. What slips through
// below it cannot carry a reading from within the differential over a cutoff
// that stands at least 1.2 K above the set point.
const (
	stepAllowed     = 8
	stepPerSecond   = 4
	memory          = 10 * time.Second // after that long without a good reading there is nothing to compare with
	codesPerKelvin  = 16
	finestBits      = 12
	nanokelvinACode = 1_000_000_000 / codesPerKelvin
)

// Counts counts the readings of one probe since the start.
type Counts struct {
	Good    uint64
	Suspect uint64
	Bad     uint64                       // those with a flaw
	Flaws   [controller.Stale + 1]uint64 // the same, by controller.Flaw
}

// Tracker remembers what a probe said last, so that a jump can wait for a
// second reading that agrees. The zero value knows nothing yet: its first
// reading is suspect, whatever it says.
type Tracker struct {
	Counts Counts

	known   bool // good and goodAt are set
	good    int16
	goodAt  time.Duration
	moving  int16 // the step that led to good when that was a jump, else 0
	waiting bool  // pending and pendingAt are set
	pending int16
	asked   time.Duration
	step    int16 // pending minus good, 0 without a good one
}

// Take says how far a judged reading can be believed. The moment must not run
// backward. A flaw may be found here that Judge could not: clones give the
// power-on value without the mark beside it, and then it is a jump to exactly
// 85 °C.
func (t *Tracker) Take(at time.Duration, code int16, bits uint8, flaw controller.Flaw) (controller.Quality, controller.Flaw) {
	if flaw == controller.NoFlaw {
		if t.goesOn(at, code) {
			return controller.Good, controller.NoFlaw
		}
		quality := t.weigh(at, code, bits)
		if quality == controller.Good {
			t.Counts.Good++
			return controller.Good, controller.NoFlaw
		}
		if code != codePowerOn {
			t.Counts.Suspect++
			return controller.Suspect, controller.NoFlaw
		}
		flaw = controller.PowerOnValue
	}
	t.Counts.Bad++
	t.Counts.Flaws[flaw]++
	return controller.Bad, flaw
}

// goesOn accepts a code without a flaw that is so near the last good one that
// it needs no further look.
func (t *Tracker) goesOn(at time.Duration, code int16) bool {
	if d := code - t.good; !t.known || at-t.goodAt > memory || d < -stepAllowed || d > stepAllowed {
		return false
	}
	t.accept(at, code, 0)
	t.Counts.Good++
	return true
}

func (t *Tracker) weigh(at time.Duration, code int16, bits uint8) controller.Quality {
	if t.known && at-t.goodAt > memory {
		t.known = false
	}
	if t.waiting && at-t.asked > memory {
		t.waiting = false
	}
	if t.known {
		d := code - t.good
		if near(d, at-t.goodAt, bits) {
			t.accept(at, code, 0)
			return controller.Good
		}
		if follows(d, t.moving) {
			t.accept(at, code, d)
			return controller.Good
		}
	}
	if code == codePowerOn {
		t.waiting = false // it never vouches for another of its kind
		return controller.Suspect
	}
	if t.waiting {
		d := code - t.pending
		if near(d, at-t.asked, bits) || follows(d, t.step) {
			t.accept(at, code, d)
			return controller.Good
		}
	}
	t.waiting, t.pending, t.asked, t.step = true, code, at, 0
	if t.known {
		t.step = code - t.good
	}
	return controller.Suspect
}

func (t *Tracker) accept(at time.Duration, code, moving int16) {
	t.known, t.good, t.goodAt, t.moving = true, code, at, moving
	t.waiting = false
}

// near says whether a step of d codes in dt needs no second reading.
func near(d int16, dt time.Duration, bits uint8) bool {
	allowed := stepAllowed + int64(max(dt, 0))*stepPerSecond/int64(time.Second)
	if bits < finestBits {
		allowed += int64(1) << (finestBits - bits) // one step of the coarser code
	}
	return int64(max(d, -d)) <= allowed
}

// follows says whether d goes on where a jump began. A probe that was plunged
// into other water answers with steps of one direction that get smaller.
func follows(d, jump int16) bool {
	if jump > 0 {
		return d > 0 && d <= jump
	}
	return d < 0 && d >= jump
}
