package controller

import (
	"periph.io/x/conn/v3/physic"
)

// seriesDue says whether the series relay's proof is: after every start, and
// weekly.
func (s *Station) seriesDue() bool {
	return (!s.run.proved || s.proofs[ProofSeries].Age >= proofDue) && s.set.HasSeries && s.set.Kind == Tub
}

// renew begins the series relay's proof anew that is due. It takes a pause of
// heat, so that the water loses nothing by it.
func (s *Station) renew(in *Input) {
	third := physic.Temperature(s.set.Differential / 3)
	if !s.run.heated || s.run.warm || s.run.after < s.rate.coast+openTail ||
		s.widened > 0 || s.attended || s.tandem || s.outOfService ||
		s.water.count == 0 || s.water.hottest < s.set.SetPoint-third ||
		s.worst() != NoCause || s.hindrance(in) != NoWait {
		return
	}
	s.trial = trial{drift: s.obs.Drift()}
	s.enter(StageSeries)
}

// proveSeries commands the pad relay on with the series relay open. A series
// relay that never opens under load hides its weld; here it must hold back the
// pad. Warming is counted only when it comes with the pad relay and goes with
// it four times in a row: a sun patch does not do that. With the noisiest single
// probe of the envelope eddies alone pass for the answer to one pulse in five,
// to one of twice the length in sixteen; from the third on they are that long,
// and all four come by chance once in seven thousand proofs of such a tub.
func (s *Station) proveSeries(in *Input) {
	t := &s.trial
	if s.worst() != NoCause || s.hindrance(in) != NoWait || t.welded {
		if !t.welded {
			s.restage()
		}
		return
	}
	if s.proofs[ProofSeries].Passed && t.votes == 0 && s.water.hottest < s.set.SetPoint-physic.Temperature(s.set.Differential) {
		s.restage() // a renewal that would cost warmth waits for the next pause
		return
	}
	if !t.based {
		s.base()
	}
	pulse := s.rate.pulse
	if t.votes >= longVotes {
		pulse *= 2
	}
	long := pulse + s.rate.coast + openTail
	if t.pause {
		if t.time < s.rate.coast+long {
			if t.time <= s.rate.coast+openTail {
				s.base() // until the heat under way has arrived
			}
			return
		}
		t.drift = (s.water.slow - t.base) / t.since.Seconds()
		if t.drift > float64(fitsLeast*s.rate.gain) {
			t.votes = 0 // it warms without us
		}
		s.enter(StageSeries)
		return
	}
	t.pad, t.open = true, true
	if t.time < long {
		return
	}
	want := float64(s.rate.gain * pulse.Seconds())
	if s.rise() < float64(fitsLeast*want) {
		s.run.proved = true
		s.conclude(ProofSeries, true)
		s.restage()
		t.pad, t.open = false, false
		return
	}
	t.pad, t.open = false, false
	t.votes++
	if t.votes >= votesMost {
		t.welded = true
		s.conclude(ProofSeries, false)
		return
	}
	s.enter(StageSeries)
	t.pause = true
}
