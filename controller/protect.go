package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// protect finds out which conditions are there, lets each use up its grace,
// and trips what must trip. It never asks for heat. What is nearly never so is
// asked for here; its rules stand where they are looked at.
func (s *Station) protect(in *Input) {
	s.present, s.off, s.grave = 0, 0, 0
	if !s.ready {
		s.lookAtReadings()
	}
	if s.set.Kind == Tub {
		s.lookAtWater()
		s.lookAtHeat()
		s.lookAtPeople()
		if s.look.low {
			s.lookAtFill()
		}
		if s.look.probes || s.unalike >= unlikeMost {
			s.lookAtProbes()
		}
		if s.look.fell || s.gone != NoCause {
			s.lookAtMissing()
		}
	} else {
		s.lookAtChamber(in)
	}
	if s.set.HasPadSeen || s.set.HasSeriesSeen {
		s.lookAtFeedback(in)
	}
	s.lookAtRelays(in)
	s.lookAtProgram(in)
	must(!s.present.has(NoCause), "a condition without a cause")
	if work := s.stirring(); work != 0 {
		s.use(work)
	}
}

// raise says that the condition of c is there, with what was measured.
func (s *Station) raise(c Cause, value physic.Temperature, probe int) {
	s.present |= 1 << c
	m := &s.marks[c]
	if !s.acting.has(c) && !s.latched.has(c) {
		m.value, m.probe = value, int8(probe)
	}
}

// plain says that a condition without a measurement is there.
func (s *Station) plain(c Cause, there bool) {
	if there {
		s.raise(c, 0, -1)
	}
}

// withhold makes a condition of this Step take the heat away whatever the
// table says.
func (s *Station) withhold(c Cause) { s.off |= 1 << c }

// condemn makes a condition of this Step trip as soon as its grace is used up.
func (s *Station) condemn(c Cause) { s.grave |= 1 << c }

// stirring are the causes that are there, act, have used up grace or have an
// alarm that needs attention. Nothing happens to any other.
func (s *Station) stirring() causes {
	return s.present | s.acting | s.latched | s.worn | s.alive
}

// use lets each cause use up grace while its condition is there, act when it is
// used up, and clear when the condition is away for long enough.
func (s *Station) use(work causes) {
	for work != 0 {
		c := work.next()
		m, r := &s.marks[c], &rules[c]
		if s.present.has(c) {
			m.away = 0
			m.held = min(m.held+s.grace, max(r.Delay, r.TripDelay))
			if m.held > 0 {
				s.worn |= 1 << c
			}
			if m.held >= r.Delay {
				s.actOn(c)
			}
		} else {
			m.held -= s.grace / refill
			if m.held <= 0 {
				m.held = 0
				s.worn &^= 1 << c
			}
			if s.acting.has(c) {
				m.away += s.grace
				if m.away >= r.ClearAfter {
					s.clear(c)
				}
			}
		}
		if (s.acting | s.latched).has(c) {
			m.age += s.dt
		}
		m.alarm.Pass(s.dt)
		s.tell(c)
	}
}

// actOn lets a cause act whose condition is there and whose grace is used up.
func (s *Station) actOn(c Cause) {
	m, r := &s.marks[c], &rules[c]
	if !s.acting.has(c) {
		s.acting |= 1 << c
		if !s.latched.has(c) {
			m.age = 0
		}
		s.event(Event{Kind: CauseRaised, Cause: c, Probe: m.probe, Value: m.value})
		switch {
		case c == ProbeJumped && s.look.facts.Jumped != observer.None && s.look.facts.Jumped != observer.Floor:
			s.miss(ProbeJumped)
		case c == TooCold && s.water.count == 1 && s.run.warm:
			s.doubtWater()
		case c == FloorTooHot:
			if s.floorAgain > 0 {
				s.condemn(c)
			}
			s.floorAgain = floorTwice
		}
	}
	severity := r.Severity
	if s.off.has(c) {
		severity = max(severity, HeatOff)
	}
	if s.grave.has(c) || r.TripDelay > 0 && m.held >= r.TripDelay {
		severity = Trip
	}
	must(severity < Trip || r.Latches, "a trip on a cause that does not latch")
	if severity == Trip && !s.latched.has(c) {
		s.latched |= 1 << c
		s.event(Event{Kind: Latched, Cause: c, Probe: m.probe, Value: m.value})
	}
	m.severity = severity
	if s.latched.has(c) {
		m.severity = Trip
	}
}

// clear ends the acting of a cause whose condition went away. A latch stays.
func (s *Station) clear(c Cause) {
	s.acting &^= 1 << c
	s.marks[c].away = 0
	if s.latched.has(c) {
		return
	}
	s.marks[c].severity = NoSeverity
	s.event(Event{Kind: CauseCleared, Cause: c, Probe: s.marks[c].probe, Value: s.marks[c].value})
}

// latchEverything is where a station stands that does not know what it was
// latched on: every cause that can latch is.
func (s *Station) latchEverything() {
	for c := range causeCount {
		if !rules[c].Latches || !s.concerns(c) {
			continue
		}
		m := &s.marks[c]
		s.latched |= 1 << c
		m.severity, m.probe = Trip, -1
		m.alarm.Update(true, true)
		m.alarm.Update(false, true)
		s.alive |= 1 << c
	}
}

// concerns says whether a cause can be one of this kind of station.
func (s *Station) concerns(c Cause) bool {
	return (c >= OverLimit) == (s.set.Kind == Chamber) || everyKind.has(c)
}

// everyKind are the causes that latch in tubs and chambers alike.
const everyKind causes = 1<<ProbeSilent | 1<<ProbeImplausible | 1<<ProbeFrozen | 1<<RelayDisagrees | 1<<RelayUnwritable |
	1<<SeriesWelded | 1<<BothWelded | 1<<TooManyRestarts | 1<<UnaskedRise

// worst is the cause that withholds heat, a latched one before one that only
// acts, and among those the first in the list.
func (s *Station) worst() Cause {
	if s.latched|s.acting == 0 {
		return NoCause
	}
	return s.firstOff()
}

// firstOff is the worst of those that are latched or act.
func (s *Station) firstOff() Cause {
	if l := s.latched; l != 0 {
		return l.next()
	}
	for a := s.acting; a != 0; {
		if c := a.next(); s.marks[c].severity >= HeatOff {
			return c
		}
	}
	return NoCause
}

// waitAfterRestart is how long heat waits after the n-th unclean start in an
// hour: five minutes, doubling.
func waitAfterRestart(n uint8) time.Duration {
	return 5 * time.Minute << (min(max(n, 1), restartsMost) - 1)
}

const restartsMost = 3 // the third within an hour latches
