package controller

import (
	"time"

	"soakwarden/controller/observer"
)

// lookAtReadings names the first required probe that is silent, and the first
// that is implausible.
func (s *Station) lookAtReadings() {
	for i, p := range s.probes {
		if p.good() || p.room {
			continue
		}
		c := ProbeSilent
		if p.odd {
			c = ProbeImplausible
		}
		if s.present.has(c) {
			continue // the first one is named; the grace is one for all
		}
		s.raise(c, p.last.Value, i)
		// Heat goes off when the last reading is so old, whoever looked
		// meanwhile; a trip wants somebody who looked.
		m := &s.marks[c]
		m.held = max(m.held, min(p.age, rules[c].Delay)-s.grace)
	}
}

// lookAtProbes turns what the observer found about the probes into causes.
func (s *Station) lookAtProbes() {
	nobody := !s.someoneHere()
	if k := s.look.facts.Jumped; k != observer.None {
		s.doubted(ProbeJumped, k, nobody)
	}
	if s.look.facts.FloorBlind {
		s.doubted(ProbeJumped, observer.Floor, false)
	}
	if s.look.facts.Differ || s.unalike >= unlikeMost {
		s.doubted(ProbesDiffer, observer.Control, nobody)
	}
	if k := s.look.facts.Frozen; k != observer.None {
		s.doubted(ProbeFrozen, k, true)
		if s.place[observer.Guard] < 0 && s.run.after < frozenProof {
			s.marks[ProbeFrozen].held = 0 // it does not trip yet
		}
	}
}

// frozenProof is how long the only probe in the water must repeat its code with
// the heat off before it trips. The heat that was taken away is the test: water
// that was held now falls, and a quiet probe that stood because a lid had come
// off by chance moves, and clears the alarm.
const frozenProof = 30 * time.Minute

// doubted raises a cause about one probe. One probe alone heats nobody who is
// left alone.
func (s *Station) doubted(c Cause, k observer.Place, off bool) {
	i := s.place[k]
	s.raise(c, s.probes[i].last.Value, i)
	if off {
		s.withhold(c)
	}
}

// blindMost is how long the series relay may stay closed, shared or not,
// without a believable in-water probe.
const blindMost = believeMost
