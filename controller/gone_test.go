package controller

import (
	"testing"
	"time"

	"soakwarden/controller/observer"
)

// Both probes fall two kelvin within half a minute: nobody said a word, so the
// water is gone or another one. Heat stays off until one of the acts that
// answer for the water.
func TestWaterThatFellWaitsForAPerson(t *testing.T) {
	for name, c := range map[string]struct {
		acts     []Act
		released bool
	}{
		"nothing":       {nil, false},
		"presence":      {[]Act{{Kind: Presence, Place: Board}}, false},
		"the fill":      {[]Act{{Kind: ConfirmFill, Place: Page}}, true},
		"other water":   {[]Act{{Kind: WaterChanged, Place: Page}}, true},
		"hands were in": {[]Act{{Kind: BeginAttended, Place: Page}, {Kind: EndAttended, Place: Page}}, true},
	} {
		r := newReady(t, tubSettings(), at(29.4))
		r.steps(60)
		r.set(0, at(27.4))
		r.set(1, at(27.4))
		r.steps(30)
		if r.s.gone != NoWater || r.out.Permitted || r.out.Reason != NoWater || r.s.latched != 0 {
			t.Fatalf("%s: gone %v, %+v", name, r.s.gone, r.out)
		}
		for _, a := range c.acts {
			r.step(a)
		}
		r.steps(20)
		if got := r.s.gone == NoCause && !r.s.acting.has(NoWater); got != c.released {
			t.Errorf("%s: released %v", name, got)
		}
		if r.s.waterFits {
			t.Errorf("%s: the water counts as proven", name)
		}
	}
}

// A probe that jumped holds the heat whether somebody is present or not: being
// there is not the same as having looked at the level.
func TestJumpHoldsUnderPresence(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.step(Act{Kind: Presence, Place: Page})
	r.steps(60)
	r.set(1, at(27.4))
	r.steps(60)
	if !r.s.someoneHere() || r.s.look.facts.Jumped != observer.Guard || r.out.Reason != ProbeJumped {
		t.Fatalf("%+v", r.out)
	}
	r.step(Act{Kind: ConfirmFill, Place: Page})
	if r.out.Reason == ProbeJumped || !r.s.acting.has(ProbeJumped) {
		t.Errorf("after the look: %+v", r.out)
	}
}

// A restart is no person who looked.
func TestHoldSurvivesARestart(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.s.miss(ProbeJumped)
	r.step()
	s, err := New(tubSettings())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Restore(r.s.Save()); err != nil || s.gone != ProbeJumped {
		t.Errorf("%v, gone %v", err, s.gone)
	}
}

// With hands in the water whoever works there looks already.
func TestNothingIsMissedUnderHands(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.step(Act{Kind: BeginAttended, Place: Page})
	r.s.miss(NoWater)
	if r.s.gone != NoCause || !r.s.waterFits {
		t.Errorf("gone %v, water proven %v", r.s.gone, r.s.waterFits)
	}
}

// A floor that gets too hot twice within two hours trips: turning the heat off
// does not cure an empty tub. Later it is once again the first time.
func TestFloorTooHotTwiceTrips(t *testing.T) {
	for _, c := range []struct {
		between time.Duration
		trips   bool
	}{{time.Hour, true}, {2*time.Hour - 11*time.Second, true}, {2 * time.Hour, false}} {
		r := newReady(t, withFloor(), at(29.5))
		r.set(2, at(34))
		r.step()
		if r.s.latched != 0 || !r.s.acting.has(FloorTooHot) {
			t.Fatalf("latched %b, acting %b at the first time", r.s.latched, r.s.acting)
		}
		r.set(2, at(29.5))
		r.steps(11)
		r.s.floorAgain -= c.between - 12*time.Second
		r.step()
		r.set(2, at(34))
		r.step()
		if got := r.s.latched.has(FloorTooHot); got != c.trips {
			t.Errorf("%v between: tripped %v", c.between, got)
		}
	}
}

// A floor warmer than probes that hang in air is no pad that heats.
func TestFloorOverAirIsNoHeat(t *testing.T) {
	r := newReady(t, withFloor(), at(29.5))
	r.s.run.open = 24 * time.Hour
	r.set(0, at(27.5))
	r.set(1, at(27.5))
	r.set(int(observer.Floor), at(29.5))
	r.s.gone = NoWater
	r.step()
	if r.s.latched != 0 {
		t.Errorf("latched %b", r.s.latched)
	}
}

// Whoever has hands in the tub sees that the water falls.
func TestFallUnderHandsHoldsNothing(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.look.fell, s.attended, s.present = true, true, 0
	if s.lookAtMissing(); s.gone != NoCause || s.present != 0 {
		t.Errorf("gone %s, there %b", s.gone, s.present)
	}
	s.attended, s.gone = false, ProbeJumped
	if s.lookAtMissing(); s.gone != ProbeJumped {
		t.Errorf("what held the heat first is forgotten for %s", s.gone)
	}
}
