package sizing

import (
	"soakwarden/internal/config"
	"soakwarden/sim"
)

// foam is the conductivity of the foam that insulation is counted as, W/mK:
// expanded polystyrene (EN 12524).
const foam = 0.0355

// padFilm is the film of air under the foam of a pad, m²K/W (from memory, the
// usual figure for still air and heat flowing down).
const padFilm = 0.17

// TubSpec is a configured tub as the model takes it, nominal and empty of
// animals.
func TubSpec(t config.Tub) sim.TubSpec {
	return sim.TubSpec{
		Length: t.Length, Width: t.Width, Depth: t.Depth, Height: t.Height,
		Wall: t.Wall, Material: t.Material, Insulation: t.Insulation / foam,
		PadPower: t.PadPower, PadArea: t.PadArea, PadBelow: max(0.02, t.PadInsulation/foam+padFilm),
		Lid: t.Lid, Holes: t.Holes, HoleSize: t.HoleSize,
	}
}

// ChamberSpec is a configured chamber with its pieces as the model takes it.
func ChamberSpec(st *config.Station) sim.ChamberSpec {
	c := st.Chamber
	spec := sim.ChamberSpec{
		Length: c.Length, Width: c.Width, Height: c.Height,
		Wall: c.Material, WallThick: c.Wall, Insulation: max(0.05, c.Insulation/foam), Leak: max(c.Leak, 1e-6), Power: c.HeaterPower,
	}
	if c.Freeze {
		spec.Power, spec.Hold = -c.CoolerPower, st.SetPoint.Celsius()
	}
	for _, p := range st.Pieces {
		spec.Pieces = append(spec.Pieces, PieceSpec(p))
	}
	return spec
}

// PieceSpec is a configured piece as the model takes it.
func PieceSpec(p config.Piece) sim.PieceSpec {
	spec := sim.PieceSpec{
		Name: p.Name, Thickness: p.Thickness, Area: p.Area, Diameter: p.Diameter,
		Width: p.Width, Height: p.Height, Length: p.Length,
		Material: p.Material, Moisture: p.Moisture,
	}
	switch p.Shape {
	case config.Cylinder:
		spec.Shape = sim.Cylinder
	case config.Bar:
		spec.Shape = sim.Bar
		// The model measures depth across the width. A probe goes in through the
		// wider face, so that the lesser side is what it goes through.
		spec.Width, spec.Height = min(p.Width, p.Height), max(p.Width, p.Height)
	}
	return spec
}
