package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// operating is the operating control: what it would like to do.
type operating struct {
	wants     bool          // it would heat if it were permitted
	since     time.Duration // since the relays last switched
	after     time.Duration // since heat last flowed
	last      float64       // °C, the water's mean when heat last flowed
	warm      bool          // heat flowed so lately that part of it is still on its way
	open      time.Duration // for which every relay has been commanded open
	effective physic.Temperature
	celsius   float64            // °C, the effective set point told, which
	told      physic.Temperature // was this
	anchored  bool               // effective stands at the measured water or above
	inBand    time.Duration
	outOfBand time.Duration
	proved    bool // the series relay was proven since the start
	heated    bool // there was heat since the start
	fan       time.Duration
}

// Spans and widths of the operating control.
const (
	rampLead   = 600 * MilliKelvin // that the effective set point may be ahead of the water
	readyAfter = 10 * time.Minute
	readyWidth = 160 * MilliKelvin // beyond the differential
	readyLost  = 600 * MilliKelvin // from the set point
	lostAfter  = time.Minute
	agreeMost  = 450 * MilliKelvin // between in-water probes that agree
	fanRunsOn  = 10 * time.Minute
)

// effectiveCelsius is the effective set point, 0 before there is one.
func (r *operating) effectiveCelsius() float64 {
	if r.effective != r.told {
		r.told, r.celsius = r.effective, inCelsius(r.effective)
	}
	return r.celsius
}

// operate says what the operating control would like.
func (s *Station) operate(in *Input) {
	r := &s.run
	r.since += s.dt
	if s.set.Kind == Chamber {
		s.operateChamber(in)
		return
	}
	if s.water.count == 0 {
		r.wants = false
		return
	}
	s.ramp()
	s.readiness()
	// Off early: what is still under way in the pad ends at the upper point.
	upper := r.effective + s.rate.half - s.look.early
	lower := r.effective - s.rate.half
	switch {
	case s.water.hottest >= upper:
		r.wants = false
	case s.water.hottest <= lower:
		r.wants = true
	}
}

// ramp moves the effective set point. It begins at the measured water and
// rises slowly, so that an animal is never warmed faster than that.
func (s *Station) ramp() {
	r := &s.run
	sp := s.set.SetPoint
	if s.animal == AnimalIsOut {
		r.effective, r.anchored = sp, true
		return
	}
	water := min(s.water.hottest, sp)
	if !r.anchored {
		r.effective, r.anchored = water, true
		return
	}
	r.effective += s.lift
	// Water that stayed behind (a pad without power, a lid off) is not
	// overtaken: it is warmed again at the same pace.
	r.effective = min(max(r.effective, water), sp, s.water.hottest+physic.Temperature(rampLead))
}

// readiness follows whether the water is in band and the probes agree.
func (s *Station) readiness() {
	r := &s.run
	off := size(Between(s.set.SetPoint, s.water.hottest))
	apart := Between(s.water.coldest, s.water.hottest)
	if off <= Difference(s.rate.half)+readyWidth && apart <= agreeMost && s.agreeing() {
		r.inBand += s.dt
		r.outOfBand = 0
	} else {
		r.inBand = 0
	}
	if s.readyAt == 0 && r.inBand >= readyAfter {
		s.readyAt = max(s.now, 1)
		s.everReady = true
		s.tell(TooCold)
		s.event(Event{Kind: Ready, On: true, Probe: int8(s.water.hot), Value: s.water.hottest})
	}
	if s.readyAt != 0 && off > readyLost {
		r.outOfBand += s.dt
		if r.outOfBand >= lostAfter {
			s.readyAt, r.inBand = 0, 0
		}
	}
}

// agreeing says that every in-water probe is believed.
func (s *Station) agreeing() bool {
	return s.water.count == len(s.wet)
}

// operateChamber holds the air of a chamber at the treatment's target by its
// hottest air probe, or its hottest probe when there is none in the air. A
// target that was forgotten is no target: nothing heats.
func (s *Station) operateChamber(in *Input) {
	r := &s.run
	target := in.Treatment.Target
	if target <= 0 || target > s.set.SetPoint {
		target = s.set.SetPoint
	}
	r.effective = target
	i := s.governing()
	if i < 0 || !in.Treatment.Running || in.Treatment.Target <= 0 || !s.set.HasPad {
		r.wants = false
		return
	}
	switch v := s.probes[i].last.Value; {
	case v >= target+s.rate.half:
		r.wants = false
	case v <= target-s.rate.half:
		r.wants = true
	}
}

// governing is the index of the probe that the operating control follows, −1
// for none.
func (s *Station) governing() int {
	if s.set.Kind == Tub {
		return s.water.hot
	}
	return s.hottestAir()
}

// hottestAir is the index of the hottest air probe of a chamber, or of its
// hottest probe when there is none in the air, −1 for none.
func (s *Station) hottestAir() int {
	best := -1
	for i, p := range s.probes {
		if s.set.Probes[i].Role == RoleAir && p.believable() && (best < 0 || p.last.Value > s.probes[best].last.Value) {
			best = i
		}
	}
	if best < 0 {
		return s.hottestOfAll()
	}
	return best
}

// unbroken is how long a pause must be that ends a stretch of heat.
const unbroken = 2 * switchTime

// idle follows for how long every relay has been commanded open.
func (s *Station) idle() {
	if s.command.Pad || s.command.Series {
		s.run.open = 0
	} else {
		s.run.open += s.dt
	}
}

// flow follows what the last command let through until now.
func (s *Station) flow(in *Input) {
	r := &s.run
	if s.command.Heat(s.set.HasSeries) && !in.Health.SharedTrip {
		r.after, r.warm, r.last = 0, true, s.water.mean
		s.onTime += s.dt
		return
	}
	r.after += s.dt
	r.warm = r.warm && r.after <= s.rate.coast+time.Minute
	if r.after >= unbroken {
		s.onTime = 0
	}
}
