package sim

import (
	"fmt"

	"soakwarden/sim/physics"
)

// TubSpec describes a tub. Zero fields take the defaults named beside them
// (see WithDefaults); the first three and the water must be given.
type TubSpec struct {
	Length float64 // inside, m
	Width  float64 // inside, m
	Depth  float64 // of the water at the start, m: 0 (dry) or 0.010 to 0.150
	Height float64 // of the walls inside, m; default Depth + 0.10

	Wall       float64 // thickness of walls and floor, m; default 0.0025
	Material   string  // of walls, floor and lid: a name of physics.Materials; default polypropylene
	Insulation float64 // on the outside of the walls and under the floor beside the pad, m²K/W; default 0

	PadPower    float64 // W at full voltage; 0 is a tub without a pad
	PadArea     float64 // m²; default what gives 250 W/m², at most 90 % of the floor
	PadContact  float64 // between pad and floor, W/m²K; default 60 (a flat film pad with air pockets)
	PadCapacity float64 // of the pad, J/m²K; default 2500 (about 1.5 mm of silicone rubber)
	PadBelow    float64 // between pad and the room below, m²K/W; default 0.6 (20 mm of foam and the film under it)

	Lid      bool    // the tub has a lid
	Holes    int     // air holes in the lid; default 60
	HoleSize float64 // their diameter, m; default 0.010
	Rim      float64 // open area between lid and rim, m²; default 0.0025 of perimeter × 1 m

	Humidity float64 // relative, of the room's air, 0 to 1; default 0.5

	Animal      float64 // mass of the animal, kg; 0 is none at the start
	AnimalCover float64 // share of the heated floor that the animal lies on, 0 to 0.9; default 0.3 when there is an animal
}

// WithDefaults returns the spec with every zero field that has a default filled.
func (s TubSpec) WithDefaults() TubSpec {
	set := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	set(&s.Height, s.Depth+0.10)
	set(&s.Wall, 0.0025)
	if s.Material == "" {
		s.Material = "polypropylene"
	}
	floor := s.Length * s.Width
	set(&s.PadArea, min(0.9*floor, max(s.PadPower/250, 0.05*floor)))
	set(&s.PadContact, 60)
	set(&s.PadCapacity, 2500)
	set(&s.PadBelow, 0.6)
	if s.Holes == 0 {
		s.Holes = 60
	}
	set(&s.HoleSize, 0.010)
	set(&s.Rim, 0.0025*2*(s.Length+s.Width))
	set(&s.Humidity, 0.5)
	if s.Animal > 0 {
		set(&s.AnimalCover, 0.3)
	}
	return s
}

// Check says what is wrong with the spec, after WithDefaults, and what to
// write instead. It returns nil when NewTub will take it.
func (s TubSpec) Check() error {
	s = s.WithDefaults()
	type bound struct {
		name     string
		v        float64
		low, top float64
		unit     string
	}
	for _, b := range []bound{
		{"length", s.Length, 0.1, 3, "m"},
		{"width", s.Width, 0.1, 3, "m"},
		{"depth", s.Depth, 0, 0.150, "m"},
		{"height", s.Height, 0.02, 2, "m"},
		{"wall", s.Wall, 0.0005, 0.03, "m"},
		{"insulation", s.Insulation, 0, 5, "m²K/W"},
		{"pad power", s.PadPower, 0, 2000, "W"},
		{"pad contact", s.PadContact, 5, 5000, "W/m²K"},
		{"pad capacity", s.PadCapacity, 200, 50000, "J/m²K"},
		{"pad below", s.PadBelow, 0.02, 10, "m²K/W"},
		{"hole size", s.HoleSize, 0.0005, 0.1, "m"},
		{"rim", s.Rim, 0, 0.5, "m²"},
		{"humidity", s.Humidity, 0.01, 1, ""},
		{"animal", s.Animal, 0, 60, "kg"},
		{"animal cover", s.AnimalCover, 0, 0.9, ""},
	} {
		// Written so that NaN fails it.
		if !(b.v >= b.low && b.v <= b.top) {
			return fmt.Errorf("tub: %s is %g %s, write %g to %g %s", b.name, b.v, b.unit, b.low, b.top, b.unit)
		}
	}
	if s.Depth > 0 && s.Depth < 0.010 {
		return fmt.Errorf("tub: depth is %g m, write 0 for a dry tub or 0.010 to 0.150 m", s.Depth)
	}
	if s.Height < s.Depth {
		return fmt.Errorf("tub: height %g m is less than the water's depth %g m, write at least the depth", s.Height, s.Depth)
	}
	floor := s.Length * s.Width
	if s.PadArea > floor {
		return fmt.Errorf("tub: pad area %g m² is more than the floor's %g m², write at most that", s.PadArea, floor)
	}
	if s.PadArea < 0.02*floor {
		return fmt.Errorf("tub: pad area %g m² is under 2 %% of the floor's %g m², write at least that", s.PadArea, floor)
	}
	if s.Holes < 0 || s.Holes > 10000 {
		return fmt.Errorf("tub: %d holes in the lid, write 1 to 10000, or 0 for the default", s.Holes)
	}
	if _, ok := physics.MaterialByName(s.Material); !ok {
		return fmt.Errorf("tub: no material is named %q, write one of %s", s.Material, physics.MaterialNames())
	}
	return nil
}
