package sizing

import (
	"errors"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

// Settings turns station i of a configuration into what its controller is told.
// It is an error when the station passes a bound that needs the thermal model:
// see Check. ProbeSettings.Overdue is left false; the caller, who knows whether
// its clock can be trusted, sets it from Calibration.Overdue.
func Settings(cfg *config.Config, i int) (controller.Settings, error) {
	st := &cfg.Stations[i]
	found := check(st)
	for _, p := range found.all {
		if p.Severity == config.Error {
			return controller.Settings{}, errors.New(p.Message)
		}
	}
	limits, err := Limits(cfg, i)
	if err != nil {
		return controller.Settings{}, err
	}
	s := controller.Settings{
		Kind: st.Kind, SetPoint: st.SetPoint, Differential: st.Differential, TooCold: st.TooCold, Cutoff: st.Cutoff,
		FloorBound: st.FloorBound, RoomWarmest: st.RoomWarmest, MinOn: st.MinOn, MinOff: st.MinOff, RampPerHour: st.RampPerHour,
		HasPad: st.PadRelay != "", HasSeries: st.SeriesRelay != "", SeriesShared: st.SeriesShared,
		HasPadSeen: st.PadFeedback != "", HasSeriesSeen: st.SeriesFeedback != "", AttendedOnly: neverAlone(st, found.danger) != "",
		Limits: limits, Limit: st.Limit,
		HasFan: st.FanRelay != "", HasAirflow: st.AirflowInput != "", HasDoor: st.DoorInput != "",
	}
	if st.Chamber.Freeze {
		// Nothing here can warm a freezer, so its limit is the widest there is.
		s.Limit = config.HighestLimit
		s.Cutoff = s.Limit
	}
	for _, p := range st.Probes {
		s.Probes = append(s.Probes, controller.ProbeSettings{
			Role: p.Role, Uncertainty: p.Calibration.Uncertainty, Calibrated: p.Calibration.Done,
		})
	}
	return s, nil
}

// NeverAlone says why a tub heats only while a person is present: because its
// configuration says so, or because its heat budget is dangerous whatever the
// configuration says. Empty for a tub that may be left alone, and for a chamber.
func NeverAlone(st *config.Station) (string, error) {
	if st.Kind != controller.Tub || st.AttendedOnly {
		return neverAlone(st, ""), nil
	}
	d, err := danger(st)
	return neverAlone(st, d), err
}

// neverAlone is NeverAlone of a tub whose danger is known.
func neverAlone(st *config.Station, danger string) string {
	switch {
	case st.Kind != controller.Tub:
	case st.AttendedOnly:
		return "the configuration says attended_only"
	case danger != "":
		return "the heat budget is dangerous. " + danger
	}
	return ""
}

// What the longest heat allows a real tub to be worse than the configured one.
const (
	weakerPad    = 0.85
	deeperWater  = 1.15
	coldestFill  = 8.0 // °C, out of a tap in winter
	longestHeat  = 48 * time.Hour
	leastLongest = 2 * time.Hour
)

// Limits says in plain numbers what the model expects of station i.
func Limits(cfg *config.Config, i int) (controller.Limits, error) {
	st := &cfg.Stations[i]
	if st.Kind != controller.Tub {
		return chamberLimits(st)
	}
	q := question(st)
	// The animal moves and is not always in: the controller is told of the water.
	q.Tub.Animal = 0
	r, err := sim.Answer(q)
	if err != nil {
		return controller.Limits{}, fmt.Errorf("station %s: %w", st.Name, err)
	}
	worst := q
	worst.Tub.PadPower *= weakerPad
	worst.Tub.Depth = min(0.150, worst.Tub.Depth*deeperWater)
	worst.Tub.Height = max(worst.Tub.Height, worst.Tub.Depth)
	worst.Fill = min(coldestFill, max(q.RoomColdest, 1))
	warmUp, err := sim.WarmUp(worst, int(longestHeat/time.Second))
	if err != nil {
		return controller.Limits{}, fmt.Errorf("station %s: %w", st.Name, err)
	}
	return controller.Limits{
		GainPerHour: kelvin(r.Gain * 3600), LossPerHour: kelvin(max(0, r.Loss) * 3600),
		Coast: seconds(r.Coast), LongestOn: min(max(seconds(warmUp), leastLongest), longestHeat),
		FloorRise: kelvin(max(0, r.FloorRise)), Flux: int32(math.Round(min(r.Flux, 1e6))),
		Depth: physic.Distance(math.Round(st.Tub.Depth * 1e9)),
	}, nil
}

// chamberLimits are the numbers for a chamber: gain and loss are those of its
// air in the first hour, the load cold.
func chamberLimits(st *config.Station) (controller.Limits, error) {
	if st.Chamber.Freeze {
		return controller.Limits{}, nil
	}
	room := st.RoomColdest.Celsius()
	c, err := sim.NewChamber(ChamberSpec(st), room)
	if err != nil {
		return controller.Limits{}, fmt.Errorf("station %s: %w", st.Name, err)
	}
	for range 3600 {
		c.Step(sim.ChamberDrive{Heat: 1, Fan: true, Room: room})
	}
	hot := c.Truth()
	for range 3600 {
		c.Step(sim.ChamberDrive{Fan: true, Room: room})
	}
	coil := max(0, hot.Coil-hot.Air) * 800
	return controller.Limits{
		GainPerHour: kelvin(hot.Air - room), LossPerHour: kelvin(max(0, hot.Air-c.Truth().Air)),
		Coast: seconds(coil / st.Chamber.HeaterPower), LongestOn: longestHeat,
	}, nil
}

func kelvin(k float64) controller.Difference {
	return controller.Difference(math.Round(min(k, 1e6) * float64(controller.Kelvin)))
}

// seconds is a time of the model, at most a month.
func seconds(s float64) time.Duration {
	return time.Duration(math.Round(min(s, 30*86400))) * time.Second
}
