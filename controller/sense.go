package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// How long a reading lives.
const (
	staleAfter  = 5 * time.Second // since its conversion: the probe is silent from then on
	believeMost = time.Minute     // an old reading is used, at its worst case, for so long
	agreeFor    = 3 * time.Second // of agreement before the first heat
	unlikeMost  = 2 * time.Minute // of disagreement at a start before it is an alarm
	agreeLeast  = 600 * MilliKelvin
)

// sense is what the station knows of one probe.
type sense struct {
	last  Reading       // the last good one
	warm  float64       // °C, its value
	room  bool          // it measures the room, and nothing waits for it
	known bool          // there was one
	age   time.Duration // of last; since the start when there was none
	good  bool          // this Step's reading is good and young
	fresh bool          // and its conversion is another than the Step before
	odd   bool          // not good, and not for silence
	doubt bool          // jumped, frozen or the cooler of two that differ

	grew   time.Duration      // an age of last, and
	growth physic.Temperature // what the heat may have added since
}

// believable says whether the probe's last reading still counts.
func (p *sense) believable() bool { return p.recent() && !p.doubt }

// recent says whether the probe has a reading that is young enough to count.
func (p *sense) recent() bool { return p.known && p.age <= believeMost }

// water is what the in-water probes say together. The zero value knows
// nothing.
type water struct {
	count   int // believable in-water probes
	hot     int // index of the hottest, −1 for none
	cold    int
	hottest physic.Temperature
	coldest physic.Temperature
	worst   physic.Temperature // hottest, each by its age with the heat that may have been on
	mean    float64            // °C
	slow    float64            // °C, mean over about smoothTime
	smooths bool
}

// smoothTime is the time constant of the mean that proofs look at: it averages
// codes and eddies, and is short against every pulse.
const smoothTime = 30.0 // s

// sense judges the readings of this Step.
func (s *Station) sense(in *Input) {
	ready := true
	readings := in.Readings
	if len(readings) < len(s.probes) {
		clear(s.given)
		copy(s.given, readings) // those that are missing do not exist
		readings = s.given
	}
	readings = readings[:len(s.probes)]
	for i := range s.probes {
		p := &s.probes[i]
		p.take(&readings[i], s.now, s.start)
		ready = ready && (p.good || p.room)
	}
	s.ready = ready
	if s.set.Kind == Tub {
		s.mix()
	}
	if !s.begin {
		s.agree()
	}
}

// take judges one reading. Out of order, from the future, or past what a probe
// can measure, it is not a reading, whatever its quality claims.
func (p *sense) take(r *Reading, now, start time.Duration) {
	inRange := r.Value >= readingLow && r.Value <= readingHigh
	if r.Quality == Good && inRange && r.At <= now && (r.At >= p.last.At || !p.known) {
		if p.fresh = r.At != p.last.At || !p.known; p.fresh {
			p.last, p.known = *r, true
			p.warm = inCelsius(r.Value)
		}
		p.age = now - r.At
		p.good, p.odd = p.age <= staleAfter, false
		return
	}
	p.good, p.fresh, p.odd = false, false, false
	switch r.Quality {
	case Good:
		p.odd = !inRange
	case Suspect:
		p.odd = true
	case Bad:
		p.odd = !silences(r.Flaw)
	}
	p.age = now - start
	if p.known {
		p.age = now - p.last.At
	}
}

// silences says whether a flaw makes a probe silent and not implausible.
func silences(f Flaw) bool {
	switch f {
	case Shorted, PowerOnValue, LowPower, OutOfRange:
		return false
	}
	return true
}

// mix finds out what the in-water probes say together. A probe that is
// disbelieved still counts on the hot side: doubt never hides heat.
func (s *Station) mix() {
	w := &s.water
	w.count, w.hot, w.cold = 0, -1, -1
	w.hottest, w.coldest, w.worst = 0, 0, 0
	w.mean = 0
	doubts := false
	for _, i := range s.wet {
		p := &s.probes[i]
		if doubts = doubts || p.doubt; !p.believable() {
			continue
		}
		if v := p.last.Value; w.count == 0 || v < w.coldest {
			w.coldest, w.cold = v, i
		}
		s.heed(i, p)
		w.mean += p.warm
		w.count++
	}
	if w.count > 1 {
		w.mean /= float64(w.count)
	}
	if !doubts {
		return
	}
	for _, i := range s.wet {
		if p := &s.probes[i]; p.doubt && p.recent() {
			s.heed(i, p)
		}
	}
}

// heed lets a probe count on the hot side.
func (s *Station) heed(i int, p *sense) {
	w := &s.water
	v := p.last.Value
	if w.hot < 0 || v > w.hottest {
		w.hottest, w.hot = v, i
	}
	if s.run.warm {
		if p.grew != p.age {
			p.grew, p.growth = p.age, physic.Temperature(over(s.set.Limits.GainPerHour, p.age))
		}
		v += p.growth
	}
	if v > w.worst {
		w.worst = v
	}
}

// smooth follows the mean, and counts how long nothing in the water can be
// believed.
func (s *Station) smooth() {
	w := &s.water
	if w.count == 0 {
		s.blind += s.grace
		w.smooths = false
		return
	}
	s.blind = 0
	if !w.smooths {
		w.slow, w.smooths = w.mean, true
		return
	}
	w.slow += float64((w.mean - w.slow) * s.share)
}

// agree waits, once after a start, until every required probe answers and the
// in-water probes tell the same story within what their calibration allows.
func (s *Station) agree() {
	ready := s.ready
	c, g := s.place[observer.Control], s.place[observer.Guard]
	if ready && s.set.Kind == Tub && g >= 0 {
		allowed := max(agreeLeast, s.set.Probes[c].Uncertainty+s.set.Probes[g].Uncertainty)
		apart := Difference(s.probes[c].last.Value - s.probes[g].last.Value)
		if apart > allowed || -apart > allowed {
			ready = false
			s.unalike += s.grace
		}
	}
	if !ready {
		s.agreed = 0
		return
	}
	s.agreed += s.grace
	if s.agreed >= agreeFor {
		s.begin, s.unalike = true, 0
	}
}
