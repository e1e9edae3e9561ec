package loop

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/pairing"
)

// pair lets stations take their first heat one after another and tells those
// whose pad warms another's water.
func (l *Loop) pair(now time.Duration) {
	for i, s := range l.stations {
		if wiringChanged(s) {
			l.pairs.Forget()
		}
		water, valid := inWater(s)
		unasked, misses, latched := s.core.Doubts()
		l.seen[i] = pairing.Station{
			// A chamber's furnishings are warmed by nobody else's pad; it
			// waits for its own conditions.
			Proven:  s.plan.Settings.Kind != controller.Tub || s.core.PairingProven(),
			Heating: s.heats,
			Unasked: unasked,
			Misses:  misses,
			Latched: latched,
			Valid:   valid,
			Water:   water,
			Gain:    physic.Temperature(s.plan.Settings.Limits.GainPerHour),
		}
	}
	l.pairs.Step(now, l.seen, l.turns)
	for i, s := range l.stations {
		s.input.Health.Permit = l.turns[i].Permit
		s.input.Health.CrossedWarming = l.turns[i].Crossed
	}
}

// wiringChanged says that a person asks for the proofs anew. The station itself
// keeps its heat off until then.
func wiringChanged(s *station) bool {
	for _, a := range s.input.Acts {
		if a.Kind == controller.Prove {
			return true
		}
	}
	return false
}

// inWater is the warmest good in-water reading: an animal or a lid moves the
// upper water, the pad moves the lower, and either may be what a pad warms.
func inWater(s *station) (hottest physic.Temperature, valid bool) {
	for i, r := range s.input.Readings {
		role := s.plan.Settings.Probes[i].Role
		if role != controller.RoleControl && role != controller.RoleGuard || r.Quality != controller.Good {
			continue
		}
		if !valid || r.Value > hottest {
			hottest, valid = r.Value, true
		}
	}
	return hottest, valid
}

// Save hands the state of each station that must outlive the program to visit.
func (l *Loop) Save(visit func(station string, state []byte)) {
	for _, s := range l.stations {
		visit(s.plan.Name, s.core.Save())
	}
}
