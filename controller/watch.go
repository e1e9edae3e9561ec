package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// finding is the observer's answer to this Step.
type finding struct {
	verdict observer.Verdict
	facts   observer.Findings
	advice  observer.Advice
	fell    bool // the observer found it in this Step
	probes  bool // some of the facts are about probes

	// What was learned changes slowly; it is asked for every askEvery.
	ask     time.Duration      // the moment of that
	low     bool               // most of the last answers were too strong
	answers float64            // of the water now over those after the fill
	early   physic.Temperature // under the upper switching point
}

const askEvery = 10 * time.Second

// watch lets the observer see this Step, and takes probes that it found out of
// the set of believable ones.
func (s *Station) watch(in *Input) {
	o := &s.tells
	o.Now, o.Pad, o.Series = s.now, s.command.Pad, s.command.Series && !in.Health.SharedTrip
	o.Wanted, o.Attended, o.Changed = s.run.wants, s.attended, s.changed
	o.SetPoint = s.run.effectiveCelsius()
	// What the probes say it was told by sense. They are believed once they have
	// agreed, but for those that the last answer took out.
	if !s.begin {
		o.Probes[observer.Control].Believed, o.Probes[observer.Guard].Believed = false, false
	}
	if s.look.probes {
		for k := range o.Probes {
			o.Probes[k].Believed = o.Probes[k].Believed && !s.isOut(observer.Place(k))
		}
	}
	fell := s.look.facts.Fell
	s.look.verdict = s.obs.Step(o)
	s.look.facts = s.obs.Findings()
	s.look.fell = s.look.facts.Fell && !fell
	s.look.advice = s.obs.Advice()
	s.tandem = s.look.advice.OpenSeries
	if s.now >= s.look.ask {
		s.look.ask = s.now + askEvery
		known := false
		s.look.answers, known = s.obs.Ratio()
		s.look.low = known && s.look.facts.Low
		s.look.early = physic.Temperature(s.obs.Early() * float64(physic.Kelvin))
	}
	s.changed = false
	s.look.probes = s.look.facts.AboutProbes()
	if s.doubts || s.look.probes {
		s.disbelieve()
	}
	s.smooth()
}

// isOut says whether the observer's last answer took the probe out.
func (s *Station) isOut(k observer.Place) bool {
	return s.look.facts.Jumped == k || s.look.facts.Frozen == k
}

// disbelieve marks the probes that no longer count, and mixes anew when one
// was marked or came back.
func (s *Station) disbelieve() {
	cooler := observer.None
	if c, g := s.place[observer.Control], s.place[observer.Guard]; s.look.facts.Differ && g >= 0 {
		cooler = observer.Control
		if s.probes[g].last.Value < s.probes[c].last.Value {
			cooler = observer.Guard
		}
	}
	again := false
	s.doubts = false
	for k, i := range s.place {
		if i < 0 {
			continue
		}
		doubt := s.isOut(observer.Place(k)) || observer.Place(k) == cooler
		again = again || doubt != s.probes[i].doubt
		s.probes[i].doubt = doubt
		s.doubts = s.doubts || doubt
	}
	if again {
		s.mix()
	}
}
