package config

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// The hard bounds that no configuration passes.
const (
	HighestSetPoint  = physic.ZeroCelsius + physic.Temperature(32222222222) // 90 °F
	HighestCutoff    = physic.ZeroCelsius + 34*physic.Celsius
	CutoffOver       = 1200 * controller.MilliKelvin // cutoff over the set point
	HighestCutout    = physic.ZeroCelsius + 35*physic.Celsius
	HighestTarget    = physic.ZeroCelsius + 65*physic.Celsius // chamber
	HighestLimit     = physic.ZeroCelsius + 75*physic.Celsius // chamber, hottest probe
	FloorProbeAt     = 400.0                                  // W/m² of pad from which a floor probe is required
	FloorProbeAdvice = 200.0                                  // and advised

	lowestSetPoint = physic.ZeroCelsius + 20*physic.Celsius
	lowestTarget   = physic.ZeroCelsius + 30*physic.Celsius
	warmestFreeze  = physic.ZeroCelsius - 5*physic.Celsius
	coldestFreeze  = physic.ZeroCelsius - 40*physic.Celsius
)

func plus(t physic.Temperature, d controller.Difference) physic.Temperature {
	return t + physic.Temperature(d)
}

// tubBounds checks a tub's temperatures and what an unattended animal needs.
func (r *reader) tubBounds(s *Station, what string) {
	m := s.at
	if !m.has("species") && !m.bad("species") {
		r.add(m.of(""), Error, "%s: species is missing: write species = %s", what, oneOf(speciesNames()))
	}
	if !m.bad("set_point") && r.setPoint(s, what) {
		m["set_point!"] = m.of("set_point")
	}
	if !m.bad("differential") && s.Differential > 1500*controller.MilliKelvin {
		r.add(m.of("differential"), Error, "%s: differential is more than 1.5 K, too coarse for an animal: write \"0.5F\"", what)
	}
	if !m.has("ramp") {
		s.RampPerHour = 2 * controller.Kelvin
	} else if s.RampPerHour > 2*controller.Kelvin {
		r.add(m.of("ramp"), Error, "%s: ramp is more than 2 K an hour, too quick for an animal: write \"2K\" or less", what)
	}
	if !m.has("too_cold") {
		s.TooCold = plus(s.SetPoint, -2500*controller.MilliKelvin)
	} else if !m.bad("too_cold", "set_point", "differential") && s.TooCold > plus(s.SetPoint, -s.Differential-500*controller.MilliKelvin) {
		r.add(m.of("too_cold"), Error, "%s: too_cold %s is so near the set point %s that a cold spell of a minute is an alarm: write at most %s",
			what, Written(s.TooCold), Written(s.SetPoint), Written(plus(s.SetPoint, -s.Differential-500*controller.MilliKelvin)))
	}
	r.cutoff(s, what)
	switch {
	case s.Cutout == 0 || m.bad("cutout"):
	case s.Cutout > HighestCutout:
		r.add(m.of("cutout"), Error, "%s: cutout %s opens too late for an animal: fit one of at most %s", what, Written(s.Cutout), Written(HighestCutout))
	case s.Cutout <= plus(s.SetPoint, controller.Kelvin) && !m.bad("set_point"):
		r.add(m.of("cutout"), Error, "%s: cutout %s would open in normal use at a set point of %s: fit one at least 1 K over it", what, Written(s.Cutout), Written(s.SetPoint))
	}
	if !m.has("pad_relay") && !m.bad("pad_relay") {
		r.add(m.of(""), Error, "%s: pad_relay is missing: write the name of the relay that switches the pad", what)
	}
	if s.RoomWarmest > s.SetPoint && !m.bad("room_warmest", "set_point") {
		r.add(m.of("room_warmest"), Warning, "%s: the room gets warmer than the set point, so on such a day the water follows the room and nothing here can cool it: cool the room", what)
	}
	r.inWater(s, what)
}

// setPoint says whether the set point passes a bound.
func (r *reader) setPoint(s *Station, what string) bool {
	before, p := len(r.problems), s.at.of("set_point")
	switch {
	case s.SetPoint > HighestSetPoint:
		r.add(p, Error, "%s: set_point %s is over %s, the most for any animal: write \"85F\", or what your veterinarian says", what, Written(s.SetPoint), Written(HighestSetPoint))
	case s.Species.Name != "" && s.SetPoint > s.Species.Upper:
		r.add(p, Error, "%s: set_point %s is over the upper clinical value of the group %s, %s: write less", what, Written(s.SetPoint), show(s.Species.Name), Written(s.Species.Upper))
	case s.SetPoint < lowestSetPoint:
		r.add(p, Error, "%s: set_point %s is under %s, too cold for a soak: write \"85F\"", what, Written(s.SetPoint), Written(lowestSetPoint))
	}
	return len(r.problems) > before
}

func (r *reader) cutoff(s *Station, what string) {
	m := s.at
	least := plus(s.SetPoint, CutoffOver)
	switch {
	case m.bad("cutoff"):
	case !m.has("cutoff"):
		r.add(m.of(""), Error, "%s: cutoff is missing: write cutoff = \"89F\", at least 1.2 K over the set point and at most 34C", what)
	case s.Cutoff > HighestCutoff:
		r.add(m.of("cutoff"), Error, "%s: cutoff %s is over %s, the most for any animal: write less", what, Written(s.Cutoff), Written(HighestCutoff))
	case s.Cutoff < least && !m.bad("set_point"):
		r.add(m.of("cutoff"), Error, "%s: cutoff %s is less than 1.2 K over the set point %s and would trip in normal use: write at least %s", what, Written(s.Cutoff), Written(s.SetPoint), Written(least))
	}
}

// inWater checks what an animal that nobody watches needs.
func (r *reader) inWater(s *Station, what string) {
	control, uncalibrated := 0, -1
	inWater := 0
	for n := range s.Probes {
		p := &s.Probes[n]
		switch p.Role {
		case controller.RoleControl:
			control++
			inWater++
		case controller.RoleGuard:
			inWater++
		case controller.NoRole:
			return // its mistake may be the role that is missed here
		default:
			continue
		}
		if !p.Calibration.Done && !p.at.bad(calibrationKeys...) && uncalibrated < 0 {
			uncalibrated = n
		}
	}
	if control == 0 {
		r.add(s.at.of(""), Error, "%s: no probe has the role control: write one below [[station.probe]] with role = \"control\"", what)
		return
	}
	if s.AttendedOnly || s.at.bad("attended_only") {
		return
	}
	if inWater < 2 {
		r.add(s.at.of(""), Error, "%s: one in-water probe cannot leave an animal unattended: add a probe with role = \"guard\", or write attended_only = true", what)
	}
	if s.SeriesRelay == "" && !s.at.bad("series_relay") {
		r.add(s.at.of(""), Error, "%s: without a series relay a relay that sticks heats on: name a series_relay of its own, or write attended_only = true", what)
	}
	if uncalibrated >= 0 {
		r.add(s.Probes[uncalibrated].at.of(""), Error, "%s: probe number %d was never calibrated and may be a kelvin off: measure it in melting ice and write its offset, or write attended_only = true for the station", what, uncalibrated+1)
	}
}

// chamberBounds checks a chamber's temperatures and wiring.
func (r *reader) chamberBounds(s *Station, what string) {
	m := s.at
	if !m.has("ramp") {
		s.RampPerHour = 60 * controller.Kelvin
	}
	if !m.has("min_off") {
		s.MinOff = time.Minute
	}
	if s.Chamber.Freeze {
		r.freezer(s, what)
		return
	}
	switch p := m.of("set_point"); {
	case m.bad("set_point"):
	case s.SetPoint > HighestTarget:
		r.add(p, Error, "%s: set_point %s is over %s, the most for a chamber: write less", what, Written(s.SetPoint), Written(HighestTarget))
	case s.SetPoint < lowestTarget:
		r.add(p, Error, "%s: set_point %s is under %s and kills nothing: write the temperature of your schedule plus a margin", what, Written(s.SetPoint), Written(lowestTarget))
	}
	switch {
	case m.bad("limit"):
	case !m.has("limit"):
		r.add(m.of(""), Error, "%s: limit is missing: write what the most delicate furnishing stands, at most 75C", what)
	case s.Limit <= plus(s.SetPoint, s.Differential) && !m.bad("set_point", "differential"):
		r.add(m.of("limit"), Error, "%s: limit %s leaves no room over the set point %s: write at least %s", what, Written(s.Limit), Written(s.SetPoint), Written(plus(s.SetPoint, 2*s.Differential)))
	}
	s.Cutoff = s.Limit
	if !m.has("pad_relay") && !m.bad("pad_relay") {
		r.add(m.of(""), Error, "%s: pad_relay is missing: write the name of the relay that switches the heater", what)
	}
	if s.Cutout != 0 && s.Cutout <= s.SetPoint && !m.bad("cutout", "set_point") {
		r.add(m.of("cutout"), Error, "%s: cutout %s would open in normal use at a set point of %s: fit one over it", what, Written(s.Cutout), Written(s.SetPoint))
	}
	if s.Cutout == 0 && !m.bad("cutout") {
		r.add(m.of(""), Advice, "%s: there is no independent cut-out: a heater that sticks on is stopped by relays alone; fit one a little over the limit", what)
	}
	if s.SeriesRelay == "" && !m.bad("series_relay") {
		r.add(m.of(""), Advice, "%s: a heat relay that sticks is cut by nothing here: wire a second relay in series and name it series_relay", what)
	}
	if s.DoorInput == "" && !m.bad("door_input") {
		r.add(m.of(""), Advice, "%s: nobody sees it when the door is opened during a treatment: wire a door input and name it door_input", what)
	}
	if s.FanRelay != "" && s.AirflowInput == "" && !m.bad("airflow_input") {
		r.add(m.of("fan_relay"), Advice, "%s: a fan that stops leaves cold spots and a hot heater: wire an airflow input and name it airflow_input", what)
	}
	r.chamberProbes(s, what)
}

func (r *reader) freezer(s *Station, what string) {
	m := s.at
	for _, key := range []string{"pad_relay", "series_relay", "limit", "cutout", "pad_feedback", "series_feedback"} {
		if m.has(key) {
			r.add(m.of(key), Error, "%s: %s does not belong to a freezer, which runs on its own thermostat: take it out", what, key)
		}
	}
	if !m.bad("set_point") && (s.SetPoint > warmestFreeze || s.SetPoint < coldestFreeze) {
		r.add(m.of("set_point"), Error, "%s: set_point %s is none of a freezer: write -40C to -5C", what, Written(s.SetPoint))
	}
	r.chamberProbes(s, what)
}

func (r *reader) chamberProbes(s *Station, what string) {
	air, inPiece := 0, 0
	for _, p := range s.Probes {
		switch p.Role {
		case controller.RoleAir:
			air++
		case controller.RoleCore, controller.RoleSurface:
			inPiece++
		case controller.NoRole:
			return
		}
	}
	if air == 0 {
		r.add(s.at.of(""), Error, "%s: no probe has the role air: write one below [[station.probe]] with role = \"air\"", what)
	}
	if inPiece == 0 {
		r.add(s.at.of(""), Error, "%s: no probe is in a piece, and air alone proves nothing: write one with role = \"core\" in the slowest piece", what)
	}
}
