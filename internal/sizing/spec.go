package sizing

import (
	"math"

	"soakwarden/internal/config"
	"soakwarden/sim"
)

// TubSpec is a configured tub as the model takes it, nominal and empty of
// animals.
func TubSpec(t config.Tub) sim.TubSpec {
	spec := sim.TubSpec{
		Length: t.Length, Width: t.Width, Depth: t.Depth, Height: t.Height,
		Wall: t.Wall, Material: t.Material,
		PadPower: t.PadPower, PadArea: t.PadArea(), Lid: t.Lid,
	}
	if t.Holes > 0 {
		// The configuration gives the open area; the model wants round holes.
		hole := math.Pi / 4 * 0.006 * 0.006
		spec.Holes, spec.HoleSize = max(1, int(math.Round(t.Holes/hole))), 0.006
	}
	return spec
}

// ChamberSpec is a configured chamber with its pieces as the model takes it.
func ChamberSpec(st *config.Station) sim.ChamberSpec {
	c := st.Chamber
	spec := sim.ChamberSpec{
		Length: c.Length, Width: c.Width, Height: c.Height,
		Wall: c.Material, WallThick: c.Wall, Leak: c.Leak, Power: c.HeaterPower,
	}
	if c.Freeze {
		spec.Power = -c.HeaterPower
	}
	for _, p := range st.Pieces {
		for range max(p.Count, 1) {
			spec.Pieces = append(spec.Pieces, PieceSpec(p))
		}
	}
	return spec
}

// PieceSpec is a configured piece as the model takes it.
func PieceSpec(p config.Piece) sim.PieceSpec {
	spec := sim.PieceSpec{Name: p.Name, Material: p.Material, Moisture: p.Moisture}
	switch p.Shape {
	case config.Cylinder:
		spec.Shape, spec.Diameter, spec.Length = sim.Cylinder, p.Diameter, p.Height
	case config.Bar:
		spec.Shape, spec.Width, spec.Height, spec.Length = sim.Bar, p.Width, p.Thickness, p.Height
	default:
		spec.Shape, spec.Thickness, spec.Area = sim.Slab, p.Thickness, p.Width*p.Height
	}
	return spec
}
