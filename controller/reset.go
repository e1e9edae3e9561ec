package controller

import (
	"slices"
	"time"

	"periph.io/x/conn/v3/physic"
)

// Resets from the page.
const (
	resetsMost = 3
	resetsSpan = 24 * time.Hour
)

// reset ends the latch of one cause, or with NoCause of every latched one that
// the act is good for. It is refused while a cause persists, from a place that
// is too far away, and for a person who does not say what was looked at.
func (s *Station) reset(a *Act) Refusal {
	if a.Cause != NoCause {
		return s.resetOne(a, a.Cause, true)
	}
	if s.latched == 0 {
		return NothingLatched
	}
	// All of them or none: half a reset looks like a whole one.
	for l := s.latched; l != 0; {
		if why := s.mayReset(a, l.next()); why != NoRefusal {
			return why
		}
	}
	for l := s.latched; l != 0; {
		s.release(l.next())
	}
	s.count(a)
	return NoRefusal
}

func (s *Station) resetOne(a *Act, c Cause, counts bool) Refusal {
	if why := s.mayReset(a, c); why != NoRefusal {
		return why
	}
	s.release(c)
	s.count(a)
	return NoRefusal
}

// mayReset says why the latch of c may not be reset by this act.
func (s *Station) mayReset(a *Act, c Cause) Refusal {
	r := c.At(s.set.Kind)
	switch {
	case !s.latched.has(c):
		return NothingLatched
	case a.Place < r.Reset:
		return WrongPlace
	case a.Seen&r.Seen != r.Seen:
		return NotSeen
	case s.persists(c):
		return CausePersists
	case a.Place == Page && s.pageResetsLeft() == 0:
		return TooManyResets
	}
	return NoRefusal
}

// persists says whether the cause is still there. What cannot be seen now
// counts as still there.
func (s *Station) persists(c Cause) bool {
	if s.set.Kind == Tub && needsWater.has(c) && s.water.count == 0 {
		return true
	}
	if s.set.Kind == Chamber && c == UnaskedRise {
		// A heater that was cut by its own cut-out is hot and rises no more.
		hot := s.hottestOfAll()
		return s.present.has(c) || hot < 0 || s.probes[hot].last.Value > s.set.SetPoint+physic.Temperature(s.set.Differential)
	}
	switch c {
	case UnaskedRise:
		// The verdict was about a relay that is open now and cannot be seen
		// through. What can be seen is whether the water came back.
		return s.water.hottest > s.set.SetPoint+physic.Temperature(s.set.Differential)
	case NoRise:
		return false // nothing can rise while the heat is off
	}
	return s.acting.has(c) || s.present.has(c)
}

// needsWater are the causes whose end only a believable in-water probe shows.
const needsWater causes = 1<<OverCutoff | 1<<OverBand | 1<<UnaskedRise

// release ends a latch that may be reset.
func (s *Station) release(c Cause) {
	s.latched &^= 1 << c
	s.acting &^= 1 << c
	m := &s.marks[c]
	m.severity, m.age, m.held, m.away = NoSeverity, 0, 0, 0
	if s.warm == c {
		s.warm, s.warmFor = NoCause, 0
	}
	m.alarm.Update(false, true)
	m.alarm.Acknowledge()
	m.alarm.Release()
	s.report(c)
	switch c {
	case UnaskedRise, NoRise:
		if s.obs != nil {
			s.obs.Acquit()
		}
	case OnTooLong:
		s.onTime = 0
	case NoWater:
		s.waterFits = false
		s.restage()
	case SeriesWelded:
		s.restage()
	}
}

// count remembers a reset from the page for a day. Whoever says that the level
// was looked at has answered for the water too.
func (s *Station) count(a *Act) {
	if a.Seen&SeenLevel != 0 {
		s.gone = NoCause
	}
	if a.Place != Page {
		return
	}
	free := slices.Index(s.resets[:], 0)
	must(free >= 0, "a reset from the page beyond the last one allowed")
	s.resets[free] = resetsSpan
}

func (s *Station) pageResetsLeft() int {
	n := 0
	for _, left := range s.resets {
		if left == 0 {
			n++
		}
	}
	return n
}
