package controller

import (
	"math"
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
	told  *observer.Reading // what the observer is told of it: last in °C, and whether it is good
	index int               // in Settings.Probes
	last  measured          // by the last good reading
	age   time.Duration     // of that; since the start when there was none
	room  bool              // it measures the room, and nothing waits for it
	known bool              // there was a good one
	odd   bool              // not good, and not for silence; means nothing while it is good
	doubt bool              // jumped, frozen or the cooler of two that differ

	grew   time.Duration      // an age of last, and
	growth physic.Temperature // what the heat may have added since
}

// measured is a temperature with the moment of its conversion.
type measured struct {
	Value physic.Temperature
	At    time.Duration
}

// never is before every reading: the moment of a probe's last one before there
// was any.
const never time.Duration = math.MinInt64

// good says whether this Step's reading is good and young.
func (p *sense) good() bool { return p.told.Valid }

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
	mean    float64 // °C
	slow    float64 // °C, mean over about smoothTime
	smooths bool
}

// smoothTime is the time constant of the mean that proofs look at: it averages
// codes and eddies, and is short against every pulse.
const smoothTime = 30.0 // s

// seat gives every probe its place: in the water or over the pad, and among what
// the observer is told.
func (s *Station) seat(probes []sense) {
	s.probes, s.wet = make([]*sense, len(probes)), nil
	s.control, s.guard, s.floor = new(sense), new(sense), new(sense) // for those that are not there
	for i := range probes {
		p := &probes[i]
		p.index, p.room, p.told = i, s.set.Probes[i].Role == RoleRoom, new(observer.Reading)
		if !p.known {
			p.last.At = never
		}
		s.probes[i] = p
	}
	for k, i := range s.place {
		if i < 0 {
			continue
		}
		s.probes[i].told = &s.tells.Probes[k]
		switch observer.Place(k) {
		case observer.Control:
			s.control = s.probes[i]
		case observer.Guard:
			s.guard = s.probes[i]
		case observer.Floor:
			s.floor = s.probes[i]
			continue
		}
		s.wet = append(s.wet, s.probes[i])
	}
}

// sense judges the readings of this Step.
func (s *Station) sense(in *Input) {
	readings := in.Readings
	if len(readings) < len(s.probes) {
		clear(s.given)
		copy(s.given, readings) // those that are missing do not exist
		readings = s.given
	}
	readings = readings[:len(s.probes)]
	all, now := true, s.now
	for i, p := range s.probes {
		r := &readings[i]
		if !p.accepts(r, now) {
			all = false
			continue
		}
		at := r.At
		if at != p.last.At {
			p.take(r)
		} else {
			p.told.Fresh = false
		}
		if !p.young(now - at) {
			all = false
		}
	}
	s.ready = true
	if !all {
		s.lack(readings)
	}
	if !s.begin {
		s.agree()
	}
}

// accepts says whether what came is a good reading. Out of order, from the
// future, or past what a probe can measure, it is none, whatever its quality
// claims.
func (p *sense) accepts(r *Reading, now time.Duration) bool {
	return r.Quality == Good && inRange(r.Value) && r.At <= now && r.At >= p.last.At
}

// take keeps a good reading of another moment than the last.
func (p *sense) take(r *Reading) {
	told, code := p.told, r.Code
	p.last, p.known = measured{r.Value, r.At}, true
	told.Value, told.Code, told.Fresh = inCelsius(p.last.Value), code, true
}

// young says whether the last reading, of such an age, is still young enough to
// be good.
func (p *sense) young(age time.Duration) bool {
	told, good := p.told, age <= staleAfter
	p.age, told.Valid, told.Believed = age, good, good
	return good
}

// lack goes without the readings that are not good, and finds out whether a
// required one is among them. Nothing waits for that of the room.
func (s *Station) lack(readings []Reading) {
	for i, p := range s.probes {
		p.odd = false
		if r := &readings[i]; !p.accepts(r, s.now) {
			p.odd = odd(r)
			p.told.Valid, p.told.Fresh = false, false
			p.age = s.now - s.start
			if p.known {
				p.age = s.now - p.last.At
			}
		}
		s.ready = s.ready && (p.good() || p.room)
	}
}

// odd says whether what is no good reading makes a probe implausible and not
// silent.
func odd(r *Reading) bool {
	switch r.Quality {
	case Good:
		return !inRange(r.Value)
	case Suspect:
		return true
	case Bad:
		return !silences(r.Flaw)
	}
	return false
}

// inRange says whether a probe of this family can measure such a value.
func inRange(v physic.Temperature) bool { return v >= readingLow && v <= readingHigh }

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
	count, sum, hot, cold := 0, 0.0, -1, -1
	var hottest, coldest physic.Temperature // 0 K is under every reading
	if p := s.control; p.believable() {
		count, sum, hot, cold = 1, p.told.Value, p.index, p.index
		hottest, coldest = p.last.Value, p.last.Value
	}
	if p := s.guard; p.believable() {
		v := p.last.Value
		if v > hottest {
			hottest, hot = v, p.index
		}
		if count == 0 || v < coldest {
			coldest, cold = v, p.index
		}
		sum += p.told.Value
		count++
	}
	if s.doubts {
		for _, p := range s.wet {
			if v := p.last.Value; p.doubt && p.recent() && v > hottest {
				hottest, hot = v, p.index
			}
		}
	}
	w := &s.water
	w.count, w.hot, w.cold, w.hottest, w.coldest = count, hot, cold, hottest, coldest
	if w.mean = sum; count > 1 {
		w.mean /= float64(count)
	}
}

// worstCase is the most that the hottest may be by now: each reading by its age,
// with the heat that may have been on since.
func (s *Station) worstCase() physic.Temperature {
	worst := s.water.hottest
	if !s.run.warm {
		return worst
	}
	for _, p := range s.wet {
		if !p.recent() {
			continue
		}
		if p.grew != p.age {
			p.grew, p.growth = p.age, physic.Temperature(over(s.set.Limits.GainPerHour, p.age))
		}
		worst = max(worst, p.last.Value+p.growth)
	}
	return worst
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
		if size(Between(s.probes[g].last.Value, s.probes[c].last.Value)) > allowed {
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
