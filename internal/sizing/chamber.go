package sizing

import (
	"fmt"
	"math"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

// fire is the temperature of a chamber's air from which a heater that sticks
// on is dangerous whatever stands inside: wood and plastics begin to break down
// (from memory, with a wide margin to ignition).
const fire = 120.0

const longestChamber = 7 * 24 * 3600 // s

// cabinet is a chamber on which questions are tried out, its fan always on.
type cabinet struct {
	*sim.Chamber
	room float64
	on   bool
}

// thermostat runs a second under hysteresis about the set point, by the air,
// and returns the share of the heater that flowed.
func (c *cabinet) thermostat(setPoint, differential float64) float64 {
	switch air := c.air(); {
	case air >= setPoint+differential/2:
		c.on = false
	case air <= setPoint-differential/2:
		c.on = true
	}
	share := 0.0
	if c.on {
		share = 1
	}
	c.Step(sim.ChamberDrive{Heat: share, Fan: true, Room: c.room})
	return share
}

// air is its temperature, °C: all that most seconds ask for.
func (c *cabinet) air() float64 { return c.At(sim.ChamberPlace{Kind: sim.ChamberAir}) }

// past says whether air and every core are at a temperature or over it.
func (c *cabinet) past(celsius float64) bool {
	if c.air() < celsius {
		return false
	}
	for _, p := range c.Truth().Pieces {
		if p.Core < celsius {
			return false
		}
	}
	return true
}

func sizeChamber(st *config.Station) (Size, error) {
	s := Size{Name: st.Name, Kind: "chamber", Verdict: Fits, Advice: []string{}}
	if st.Chamber.Freeze {
		s.Advice = append(s.Advice, "A freezer runs on its own thermostat: there is nothing to size. soakwarden heatup says how long a piece takes.")
		return s, nil
	}
	spec := ChamberSpec(st)
	setPoint, differential := st.SetPoint.Celsius(), float64(st.Differential)/float64(controller.Kelvin)
	coldest, warmest := st.RoomColdest.Celsius(), st.RoomWarmest.Celsius()

	warm, hold, coast, err := chamberWarmUp(spec, setPoint, differential, coldest)
	if err != nil {
		return s, err
	}
	stuck, toLimit, err := chamberStuck(spec, setPoint, differential, warmest, st.Limit.Celsius())
	if err != nil {
		return s, err
	}
	share := hold / st.Chamber.HeaterPower
	s.WarmUp, s.HoldPower, s.HoldShare, s.Coast = given(warm), given(hold), given(share), given(coast)
	s.StuckOn, s.StuckOnCutoff = given(stuck), given(toLimit)
	worse := func(v Verdict, format string, args ...any) {
		if rank(v) > rank(s.Verdict) {
			s.Verdict = v
		}
		s.Advice = append(s.Advice, fmt.Sprintf(format, args...))
	}
	if stuck > fire && st.Cutout == 0 {
		worse(Dangerous, "Stuck on, this heater takes the air to %s or more, and nothing independent stops it: that is a fire. Fit a thermal cut-out or fuse, or a weaker heater.", both(stuck))
	}
	if math.IsInf(warm, 0) || share > weakAt {
		worse(TooWeak, "The heater of %s does not bring every core to the set point and hold it: holding takes %s. Insulate, close gaps, or use a heater of about %s.", watts(st.Chamber.HeaterPower), watts(hold), watts(max(hold, st.Chamber.HeaterPower)/wantedShare))
	}
	switch {
	case stuck > st.Limit.Celsius() && st.Cutout == 0:
		worse(NeedsCutOut, "Stuck on, this heater takes the air to %s, over the limit of %s. Fit an independent thermal cut-out a little over the limit.", both(stuck), both(st.Limit.Celsius()))
	case stuck > st.Limit.Celsius():
		worse(Fits, "Stuck on, this heater would take the air to %s; the cut-out at %s stands before that.", both(stuck), both(st.Cutout.Celsius()))
	}
	if room := st.Limit.Celsius() - setPoint - differential/2; coast > room {
		worse(Fits, "The air still rises by %.1f K after the heat goes off and the limit is %.1f K over the switching point: it will trip. Use a weaker heater, more air, or a higher limit.", coast, room)
	}
	return s, nil
}

// chamberWarmUp heats from the coldest room. It returns the seconds until the
// slowest core is 1 K under the set point (+Inf for never), the mean power that
// then holds it, and how far the air overshoots at first.
func chamberWarmUp(spec sim.ChamberSpec, setPoint, differential, room float64) (warm, hold, coast float64, err error) {
	chamber, err := sim.NewChamber(spec, room)
	if err != nil {
		return 0, 0, 0, err
	}
	c := &cabinet{Chamber: chamber, room: room, on: true}
	warm = math.Inf(1)
	first, over := false, setPoint+differential/2
	flowed, before := 0.0, -1.0
	for s := 1; s <= longestChamber; s++ {
		on := c.on
		flowed += c.thermostat(setPoint, differential)
		if on && !c.on {
			first = true
		}
		if first {
			over = max(over, c.air())
		}
		if math.IsInf(warm, 0) && c.past(setPoint-1) {
			warm = float64(s)
		}
		// Six-hour means until two agree: the walls are then as warm as they get.
		if s%21600 == 0 {
			hold = flowed / 21600 * spec.Power
			if math.Abs(hold-before) < 0.002*hold && (!math.IsInf(warm, 0) || !first) {
				break
			}
			flowed, before = 0, hold
		}
	}
	return warm, hold, over - setPoint - differential/2, nil
}

// chamberStuck brings the chamber to rest at the set point in the warmest room
// and then leaves the heat on. It returns where the air ends and the seconds
// to the limit, +Inf for never.
func chamberStuck(spec sim.ChamberSpec, setPoint, differential, room, limit float64) (end, seconds float64, err error) {
	chamber, err := sim.NewChamber(spec, room)
	if err != nil {
		return 0, 0, err
	}
	c := &cabinet{Chamber: chamber, room: room, on: true}
	for range 24 * 3600 {
		c.thermostat(setPoint, differential)
	}
	seconds = math.Inf(1)
	before := c.air()
	for s := 1; s <= longestChamber; s++ {
		c.Step(sim.ChamberDrive{Heat: 1, Fan: true, Room: room})
		air := c.air()
		if math.IsInf(seconds, 0) && air >= limit {
			seconds = float64(s)
		}
		if s%7200 == 0 {
			if air-before < 0.02 || air > 3*fire {
				break
			}
			before = air
		}
	}
	return c.air(), seconds, nil
}
