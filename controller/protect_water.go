package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// Lines of the water's temperature, and how far it must come back behind one
// before the condition is over.
const (
	overBand     = 600 * MilliKelvin // over the set point
	overBandBack = 200 * MilliKelvin
	cutoffBack   = 300 * MilliKelvin
	coldBack     = 100 * MilliKelvin
	floorLead    = 1 * Kelvin // heat off so far under the bound
	floorBack    = 500 * MilliKelvin
	roomOver     = 500 * MilliKelvin // over the set point
	floorTwice   = 2 * time.Hour     // within which a second floor too hot trips: heat alone does not cure it
)

// below moves the line of a cause down by back once it is among those that act,
// so that a reading that sits on the line does not chatter.
func (s causes) below(c Cause, line physic.Temperature, back Difference) physic.Temperature {
	if s.has(c) {
		return line - physic.Temperature(back)
	}
	return line
}

// lookAtWater compares the water and the floor with their lines.
func (s *Station) lookAtWater() {
	w := &s.water
	set, held := &s.set, s.acting|s.latched
	// Far under the line nothing that may have been added reaches it.
	if line := held.below(OverCutoff, set.Cutoff, cutoffBack); w.hottest+s.rate.grows >= line {
		if worst := s.worstCase(); worst >= line {
			s.raise(OverCutoff, worst, w.hot)
		}
	}
	if w.count > 0 {
		line := set.SetPoint + physic.Temperature(overBand)
		if !s.command.Heat(set.HasSeries) && w.hottest > held.below(OverBand, line, overBandBack) {
			s.raise(OverBand, w.hottest, w.hot)
			if s.oursTooWarm(line) {
				s.condemn(OverBand)
			}
		}
		cold := set.TooCold
		if s.acting.has(TooCold) {
			cold += physic.Temperature(coldBack)
		}
		if w.coldest < cold {
			s.raise(TooCold, w.coldest, w.cold)
		}
	}
	if p := s.floor; p.believable() {
		v := p.last.Value
		if v >= held.below(FloorTooHot, set.FloorBound-physic.Temperature(floorLead), floorBack) {
			s.raise(FloorTooHot, v, p.index)
			if v >= set.FloorBound {
				s.condemn(FloorTooHot)
			}
		}
	}
	if s.room >= 0 && s.probes[s.room].believable() {
		v := s.probes[s.room].last.Value
		if v > set.SetPoint+physic.Temperature(roomOver) {
			s.raise(HeatFromOutside, v, s.room)
		}
	}
}

// oursTooWarm says whether our own heat drove the water over the band: what was
// still under way in the pad when it went off explains all of it, or the
// observer has shown that heat comes unasked. Sun, a warm room and a warm jug
// do neither.
func (s *Station) oursTooWarm(line physic.Temperature) bool {
	if s.look.verdict == observer.ProvenUnasked {
		return true
	}
	over := inCelsius(line)
	left := float64(s.rate.gain * s.rate.coast.Seconds())
	return s.run.warm && s.water.mean > over && s.run.last > over-left
}

// Times and shares of what the observer's findings do.
const (
	openLong = 15 * time.Minute // with every relay open, after which warmth is not ours
	floorOwn = 0.5              // of the nominal rise of floor over water: a pad is on
)

// lookAtHeat turns the observer's verdict, and what the proofs saw, into causes.
func (s *Station) lookAtHeat() {
	f := &s.look
	hot, value := s.water.hot, s.water.hottest
	switch {
	case f.verdict == observer.ProvenUnasked:
		s.raise(UnaskedRise, value, hot)
		s.condemn(UnaskedRise)
	case f.verdict == observer.OutsideHeat, f.facts.Unasked && s.run.open >= openLong:
		s.raise(HeatFromOutside, value, hot) // no relay of ours has been closed for long
	case f.facts.Unasked:
		s.raise(UnaskedRise, value, hot)
	}
	if f.facts.NoRise {
		s.raise(NoRise, value, hot)
		if s.water.count <= 1 && s.waterFits {
			s.doubtWater()
		}
		if f.verdict == observer.ProvenNoRise && s.place[observer.Floor] >= 0 && !f.facts.FloorBlind {
			s.condemn(NoRise)
		}
	}
	if s.proofs[ProofPairing].Failed && !s.crossed {
		s.raise(NoRise, value, hot)
	}
	if s.trial.dry {
		s.raise(NoWater, value, hot)
		s.condemn(NoWater)
	}
	if s.trial.warms > 0 {
		s.raise(HeatFromOutside, value, hot)
		if s.trial.warms >= warmsMost {
			s.raise(BothWelded, value, hot)
		}
	}
	if s.run.open >= openLong {
		s.lookAtHeatUnasked()
	}
}

// lookAtHeatUnasked looks for heat when every relay has been commanded open for
// long.
func (s *Station) lookAtHeatUnasked() {
	if s.climbsUnheated() {
		s.raise(BothWelded, s.water.hottest, s.water.hot)
	}
	if s.floorHeats() {
		s.raise(BothWelded, s.probes[s.place[observer.Floor]].last.Value, s.place[observer.Floor])
		s.condemn(BothWelded)
	}
}

// climbsUnheated says that the water is far over the set point and still climbs.
// With every relay open for long it may be the sun, and then a pulled plug costs
// nothing; if both relays are welded nothing else helps.
func (s *Station) climbsUnheated() bool {
	const (
		far    = 1200 * MilliKelvin // the least that a cutoff may lie over the set point
		climbs = 0.1 / 3600         // K/s; a tenth of a kelvin an hour is no measuring error
	)
	return s.water.count > 0 && !s.attended && s.widened == 0 &&
		Difference(s.water.hottest-s.set.SetPoint) >= far && s.obs.Drift() > climbs
}

// floorHeats says that the pad must be on although every relay has been
// commanded open for long: the floor stands over the water by more than
// anything but the pad under it can do. Lids and sun do not touch it.
func (s *Station) floorHeats() bool {
	i := s.place[observer.Floor]
	if i < 0 || s.run.open < openLong+3*s.rate.coast || s.water.count == 0 || !s.probes[i].believable() ||
		s.attended || s.widened > 0 || s.gone != NoCause { // the floor is warmer than air, too
		return false
	}
	rise := Difference(s.probes[i].last.Value - s.water.hottest)
	return rise > Kelvin && rise > Difference(floorOwn*float64(s.set.Limits.FloorRise))
}

// miss holds the heat until a person has looked at the water. A probe that
// left it, or a reading that falls faster than water can, may be a tub that
// leaks or that somebody emptied: in air both probes agree again, and a pulse
// may fit by chance.
func (s *Station) miss(c Cause) {
	if s.attended {
		return // hands are in: somebody looks right now
	}
	s.gone = c
	s.doubtWater()
}

// lookAtMissing keeps what misses the water there.
func (s *Station) lookAtMissing() {
	if s.look.fell && s.gone == NoCause {
		s.miss(NoWater)
	}
	if s.gone == NoCause {
		return // somebody looks right now
	}
	if !s.present.has(s.gone) {
		s.raise(s.gone, s.water.hottest, s.water.hot)
	}
	s.withhold(s.gone)
}

// doubtWater begins the proof of the water anew, at a fifth of the heat. A
// probe that left the water, or heat and yet cold or no answer at the only probe
// that is believed, can be a tub that leaks: what is left in it would be warmed out
// of every probe's sight.
func (s *Station) doubtWater() {
	s.waterFits = false
	s.restage()
}

// Shares of the confirmed fill.
const (
	fillAlarm = 0.7
	fillLeast = 0.5
	// In a tub where nothing happens the learned answer creeps up by a quarter
	// in days, because the control switches on the very noise that it learns
	// from. That much is no lost water.
	fillCreep = 1.25
)

// lookAtFill compares the learned mass of the water with the confirmed fill:
// the answer to heat is power over heat capacity, so half the water answers
// twice as strongly. Only answers of which most were too strong say anything.
func (s *Station) lookAtFill() {
	s.plain(WaterLow, s.look.answers >= fillCreep/fillAlarm)
	if s.look.answers >= fillCreep/fillLeast {
		s.withhold(WaterLow)
	}
}
