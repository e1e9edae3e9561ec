package sizing

import "soakwarden/sim"

// boiling is where the water of a pad that is far too strong ends, °C: the
// model knows no steam.
const boiling = 100.0

// stuckOn returns where the water ends with the pad on for good, °C.
func stuckOn(spec sim.TubSpec, room float64) (float64, error) {
	truth, _, err := sim.Steady(spec, sim.Drive{Pad: 1, Room: room})
	return min(truth.Water, boiling), err
}

// budget is the model's heat budget of a tub, with water that boils at 100 °C.
func budget(q sim.SizeSpec) (sim.SizeResult, error) {
	r, err := sim.Size(q)
	r.StuckOn, r.StuckOnFloor = min(r.StuckOn, boiling), min(r.StuckOnFloor, boiling)
	return r, err
}
