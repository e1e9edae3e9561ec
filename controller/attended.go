package controller

import "time"

// Times of the attended mode.
const (
	attendedLong   = 30 * time.Minute
	extensionsMost = 2
	widenedLong    = 40 * time.Minute // after hands were in or the water was changed
	climbEvery     = 10 * time.Minute // the alarm asks anew
)

// attendedAllowed is the time that the extensions taken so far allow.
func (s *Station) attendedAllowed() time.Duration {
	return attendedLong * time.Duration(1+s.extensions)
}

// handsIn begins, extends or ends the attended mode. Both relays stay open for
// as long as it lasts, also when it lasts too long: hands may still be in.
func (s *Station) handsIn(k ActKind) Refusal {
	switch {
	case k == BeginAttended && s.attended, k != BeginAttended && !s.attended:
		return NotNow
	case k == ExtendAttended:
		if s.extensions == extensionsMost {
			return NoMoreExtensions
		}
		s.extensions++
	default:
		s.attended = k == BeginAttended
		s.attendedFor, s.extensions, s.climb = 0, 0, 0
		s.widened = widenedLong
		s.gone = NoCause // whoever had hands in the tub has seen the water
		s.event(Event{Kind: ModeChange, On: s.attended, Probe: -1})
	}
	s.present30()
	return NoRefusal
}

// runDown shortens what is left of a span.
func (c *clock) runDown(left *time.Duration) {
	if *left > 0 {
		*left = max(0, *left-c.dt)
	}
}

// pass lets time go by for everything that runs down or grows old.
func (s *Station) pass() {
	if s.attended {
		s.attendedFor += s.dt
		s.widened = widenedLong
		s.presence = presenceLong
		if s.acting.has(AttendedTooLong) {
			s.climb += s.dt
			if s.climb >= climbEvery {
				s.climb = 0
				s.marks[AttendedTooLong].alarm.Again()
				s.report(AttendedTooLong)
			}
		}
	} else {
		s.runDown(&s.widened)
		s.runDown(&s.presence)
	}
	s.coolDown()
	s.runDown(&s.floorAgain)
	if s.resets != [resetsMost]time.Duration{} {
		for i := range s.resets {
			s.runDown(&s.resets[i])
		}
	}
	s.proofs[ProofAllOff].pass(s.dt)
	s.proofs[ProofPairing].pass(s.dt)
	s.proofs[ProofSeries].pass(s.dt)
}
