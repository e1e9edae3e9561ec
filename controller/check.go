package controller

import (
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// Hard bounds that no settings pass.
const (
	celsius = physic.Celsius

	setPointMost     = physic.ZeroCelsius + 32223*physic.MilliKelvin // 90 °F, and half a millikelvin for its rounding
	cutoffMost       = physic.ZeroCelsius + 34*celsius
	cutoffLead       = 1200 * MilliKelvin // over the set point
	differentialLow  = 200 * MilliKelvin
	floorMost        = physic.ZeroCelsius + 35*celsius
	chamberMost      = physic.ZeroCelsius + 65*celsius
	chamberLimitMost = physic.ZeroCelsius + 75*celsius
	readingLow       = physic.ZeroCelsius - 55*celsius // range of the DS18B20 family, data sheet
	readingHigh      = physic.ZeroCelsius + 125*celsius

	switchTime = time.Minute // the default of MinOn and MinOff
	rampMost   = 2 * Kelvin  // an hour, while an animal may be in
	probesMost = 32
)

// rates are plain numbers from the settings, in the units of the water's
// arithmetic.
type rates struct {
	gain  float64       // K/s at full pad
	coast time.Duration // until the answer to a switching is in the readings
	pulse time.Duration // of heat that proves itself: rises proofRise

	grows physic.Temperature // the most that heat adds to a reading that still counts
	half  physic.Temperature // of the differential
}

// New makes a station. It refuses settings past the hard bounds, and says
// which. The station starts with everything latched until Restore was called:
// with what Save gave, or with nil when the store was read and holds nothing
// of this station.
func New(set Settings) (*Station, error) {
	s := &Station{set: set, room: -1}
	s.place = [3]int{-1, -1, -1}
	s.set.Probes = append([]ProbeSettings(nil), set.Probes...)
	s.fillDefaults()
	var err error
	switch set.Kind {
	case Tub:
		err = s.checkTub()
	case Chamber:
		err = s.checkChamber()
	default:
		err = errors.New("controller: a station must be a tub or a chamber")
	}
	if err != nil {
		return nil, err
	}
	s.rate.half = physic.Temperature(set.Differential / 2)
	s.fit = s.unattendedFit()
	for i := range s.set.Probes {
		s.overdue = s.overdue || s.set.Probes[i].Overdue
	}
	s.given = make([]Reading, len(s.set.Probes))
	s.seat(make([]sense, len(s.set.Probes)))
	s.out.Events = make([]Event, 0, 4*CauseCount)
	s.forget()
	s.latchEverything()
	return s, nil
}

func (s *Station) fillDefaults() {
	set := &s.set
	if set.MinOn <= 0 {
		set.MinOn = switchTime
	}
	if set.MinOff <= 0 {
		set.MinOff = switchTime
	}
	if set.RampPerHour <= 0 || set.RampPerHour > rampMost {
		set.RampPerHour = rampMost
	}
	if set.FloorBound == 0 {
		set.FloorBound = floorMost
	}
	if set.Limits.Coast <= 0 {
		set.Limits.Coast = 2 * time.Minute
	}
}

// demand collects what settings must hold.
type demand []error

func (d *demand) that(held bool, format string, args ...any) {
	if !held {
		*d = append(*d, fmt.Errorf("controller: "+format, args...))
	}
}

func (s *Station) checkTub() error {
	set := &s.set
	var d demand
	d.that(set.SetPoint > physic.ZeroCelsius && set.SetPoint <= setPointMost, "set point %s, at most 90 °F (32.2 °C) and over 0 °C", set.SetPoint)
	d.that(set.Cutoff <= cutoffMost, "cutoff %s, at most 34 °C", set.Cutoff)
	d.that(set.Cutoff >= set.SetPoint+physic.Temperature(cutoffLead), "cutoff %s, at least 1.2 K above the set point %s", set.Cutoff, set.SetPoint)
	d.that(set.Differential >= differentialLow && set.Differential <= 2*Kelvin, "differential %d nK, 0.2 K to 2 K", set.Differential)
	d.that(set.TooCold > 0 && set.TooCold < set.SetPoint, "too cold at %s, must be under the set point %s", set.TooCold, set.SetPoint)
	d.that(set.FloorBound <= floorMost, "floor bound %s, at most 35 °C", set.FloorBound)
	d.that(set.HasPad, "a tub must have a pad relay")
	d.that(set.Limits.GainPerHour > 0, "the gain of the water must be over 0 K an hour")
	d.that(set.Limits.LossPerHour >= 0 && set.Limits.FloorRise >= 0, "loss and floor rise cannot be negative")
	d.that(set.Limits.LongestOn > 0, "the longest heat must be over 0 s")
	d.that(len(set.Probes) <= probesMost, "%d probes, at most %d", len(set.Probes), probesMost)
	for i, p := range set.Probes {
		at := (*int)(nil)
		switch p.Role {
		case RoleControl:
			at = &s.place[observer.Control]
		case RoleGuard:
			at = &s.place[observer.Guard]
		case RoleFloor:
			at = &s.place[observer.Floor]
		case RoleRoom:
			at = &s.room
		}
		d.that(at != nil, "probe %d has role %d: a tub has control, guard, floor and room", i, p.Role)
		if at != nil {
			d.that(*at < 0, "probe %d has the same role as probe %d", i, *at)
			*at = i
		}
	}
	d.that(s.place[observer.Control] >= 0, "a tub must have a control probe")
	if err := errors.Join(d...); err != nil {
		return err
	}
	s.rate.gain = float64(set.Limits.GainPerHour) / float64(Kelvin) / 3600
	s.rate.coast = set.Limits.Coast
	s.rate.grows = physic.Temperature(over(set.Limits.GainPerHour, believeMost))
	s.rate.pulse = min(max(time.Duration(proofRise/s.rate.gain)*time.Second, pulseLeast), pulseMost)
	_, err := s.newObserver()
	return err
}

func (s *Station) checkChamber() error {
	set := &s.set
	var d demand
	// A freezer has no heat relay: it runs on its own thermostat and is watched.
	if set.HasPad {
		d.that(set.SetPoint > physic.ZeroCelsius, "target %s, over 0 °C", set.SetPoint)
	}
	d.that(set.SetPoint > 0 && set.SetPoint <= chamberMost, "target %s, at most 65 °C", set.SetPoint)
	d.that(set.Limit <= chamberLimitMost && set.Limit > set.SetPoint, "limit %s, over the target %s and at most 75 °C", set.Limit, set.SetPoint)
	d.that(set.Differential >= differentialLow, "differential %d nK, at least 0.2 K", set.Differential)
	d.that(set.HasPad || !set.HasSeries, "a chamber with a series relay must have a heat relay")
	d.that(len(set.Probes) > 0 && len(set.Probes) <= probesMost, "%d probes, 1 to %d", len(set.Probes), probesMost)
	for i, p := range set.Probes {
		d.that(p.Role == RoleCore || p.Role == RoleSurface || p.Role == RoleAir, "probe %d has role %d: a chamber has core, surface and air", i, p.Role)
	}
	return errors.Join(d...)
}

// newObserver makes an observer that knows nothing yet of this tub.
func (s *Station) newObserver() (*observer.Observer, error) {
	set := &s.set
	kind := observer.NoSeries
	switch {
	case set.HasSeries && set.SeriesShared:
		kind = observer.SharedSeries
	case set.HasSeries:
		kind = observer.OwnSeries
	}
	return observer.New(observer.Params{
		Gain: s.rate.gain, Coast: s.rate.coast.Seconds(),
		Flux: float64(set.Limits.Flux), Depth: float64(set.Limits.Depth) / float64(physic.Metre),
		SetPoint: inCelsius(set.SetPoint), Differential: float64(set.Differential) / float64(Kelvin),
		HasFloor: s.place[observer.Floor] >= 0,
		Series:   kind, Seed: uint64(set.Limits.GainPerHour)<<20 ^ uint64(set.SetPoint),
	})
}

func inCelsius(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Kelvin)
}

// over is how far a rate an hour goes in d.
func over(rate Difference, d time.Duration) Difference {
	return rate * Difference(d/time.Millisecond) / Difference(time.Hour/time.Millisecond)
}
