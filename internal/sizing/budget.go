package sizing

import (
	"math"

	"soakwarden/sim"
)

// boiling is where the water of a pad that is far too strong ends, °C. The
// model knows no steam, so water that gets nearly there counts as boiling.
const (
	boiling    = 100.0
	nearlyThat = 90.0
)

// stuckOn returns where the water ends with the pad on for good, °C. found is
// false when the model's search for a steady state gave up, because pad or
// water get too hot for it: then the tub was followed to its end.
func stuckOn(spec sim.TubSpec, room float64) (end float64, found bool, err error) {
	if truth, _, err := sim.Steady(spec, sim.Drive{Pad: 1, Room: room}); err == nil {
		return min(truth.Water, boiling), true, nil
	}
	tub, err := sim.NewTub(spec, sim.Start{Water: max(room, 1), Room: room})
	if err != nil {
		return 0, false, err
	}
	before := tub.Water()
	for s := 1; s <= 7*24*3600; s++ {
		tub.Step(sim.Drive{Pad: 1, Room: room})
		if tub.Water() >= nearlyThat {
			return boiling, false, nil
		}
		if s%3600 == 0 {
			if tub.Water()-before < 0.01 {
				break
			}
			before = tub.Water()
			tub.Pour(tub.Truth().Evaporated-poured(tub), before)
		}
	}
	return tub.Water(), false, nil
}

// poured returns the litres that were poured back into a tub.
func poured(tub *sim.Tub) float64 { return tub.Balance().WaterIn / 0.996 }

// budget is the model's heat budget of a tub, also of one whose pad is far too
// strong for the search for its steady state.
func budget(q sim.SizeSpec) (sim.SizeResult, error) {
	end, found, err := stuckOn(q.Tub, q.RoomWarmest)
	if err != nil {
		return sim.SizeResult{}, err
	}
	if found {
		return sim.Size(q)
	}
	q.Tub = q.Tub.WithDefaults()
	pad := q.Tub.PadPower
	// All but what depends on the pad's strength is that of the same tub with a
	// weak pad; the rest is worked out with the strong one.
	weak := q
	weak.Tub.PadPower = 1
	r, err := sim.Size(weak)
	if err != nil {
		return r, err
	}
	lag, err := sim.Lags(q.Tub, q.SetPoint, sim.Drive{Room: q.RoomColdest})
	if err != nil {
		return r, err
	}
	r.StuckOn, r.StuckOnFloor = end, end
	r.HoldShare = r.HoldPower / pad
	r.Flux = pad / q.Tub.PadArea
	r.Gain *= pad
	r.Coast, r.CoastRise = lag.Coast, r.Gain*lag.Coast
	r.FloorRise = lag.FloorRise
	r.Floor = q.SetPoint + max(lag.FloorRise, lag.SkinRise)
	fill := q.Fill
	if fill == 0 {
		fill = max(q.RoomColdest, 1)
	}
	if r.WarmUp, err = heating(q.Tub, fill, q.SetPoint, q.RoomColdest); err != nil {
		return r, err
	}
	r.StuckOnCutoff, err = heating(q.Tub, q.SetPoint, q.Cutoff, q.RoomWarmest)
	return r, err
}

// heating returns the seconds of full heat from one temperature of the water to
// another. A pad that boils the water gets it there within hours.
func heating(spec sim.TubSpec, from, to, room float64) (float64, error) {
	tub, err := sim.NewTub(spec, sim.Start{Water: from, Room: room})
	if err != nil {
		return 0, err
	}
	for s := range 48 * 3600 {
		if tub.Water() >= to {
			return float64(s), nil
		}
		tub.Step(sim.Drive{Pad: 1, Room: room})
	}
	return math.Inf(1), nil
}
