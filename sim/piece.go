package sim

import (
	"fmt"

	"soakwarden/sim/physics"
)

// WithDefaults returns the piece with its zero fields filled.
func (p PieceSpec) WithDefaults() PieceSpec {
	if p.Length == 0 {
		p.Length = 0.5
	}
	if p.Area == 0 {
		p.Area = 0.1
	}
	return p
}

// Check says what is wrong with the piece and what to write instead.
func (p PieceSpec) Check() error {
	p = p.WithDefaults()
	name := p.called()
	bounded := func(what string, v, low, top float64, unit string) error {
		// Written so that NaN fails it.
		if !(v >= low && v <= top) {
			return fmt.Errorf("%s: %s is %g %s, write %g to %g %s", name, what, v, unit, low, top, unit)
		}
		return nil
	}
	sizes := map[Shape][]struct {
		what string
		v    float64
	}{
		Slab:     {{"thickness", p.Thickness}},
		Cylinder: {{"diameter", p.Diameter}},
		Bar:      {{"width", p.Width}, {"height", p.Height}},
	}
	list, ok := sizes[p.Shape]
	if !ok {
		return fmt.Errorf("%s: shape %d is none, write slab, cylinder or bar", name, p.Shape)
	}
	for _, s := range list {
		if err := bounded(s.what, s.v, 0.00005, 2, "m"); err != nil {
			return err
		}
	}
	for _, e := range []error{
		bounded("length", p.Length, 0.01, 10, "m"),
		bounded("area", p.Area, 0.0001, 20, "m²"),
		bounded("moisture", p.Moisture, 0, 2.5, "(kg of water a kg of dry wood)"),
		bounded("density", p.Density, 0, 25000, "kg/m³"),
		bounded("conductivity", p.Conductivity, 0, 500, "W/mK"),
		bounded("heat capacity", p.HeatCapacity, 0, 10000, "J/kgK"),
	} {
		if e != nil {
			return e
		}
	}
	if p.Density > 0 && p.Conductivity > 0 && p.HeatCapacity > 0 {
		for _, e := range []error{
			bounded("density", p.Density, 5, 25000, "kg/m³"),
			bounded("conductivity", p.Conductivity, 0.005, 500, "W/mK"),
			bounded("heat capacity", p.HeatCapacity, 100, 10000, "J/kgK"),
		} {
			if e != nil {
				return e
			}
		}
		return nil
	}
	m, ok := physics.MaterialByName(p.Material)
	if !ok {
		return fmt.Errorf("%s: no material is named %q, write one of %s; or give density, conductivity and heat capacity", name, p.Material, physics.MaterialNames())
	}
	if _, wood := m.Wood(0); p.Moisture > 0 && !wood {
		return fmt.Errorf("%s: %s has no moisture in its properties, leave moisture out or name a wood", name, p.Material)
	}
	return nil
}

// freezable says whether the piece may be frozen in the model, which has no
// heat of freezing: only water that is bound in the wood stays unfrozen.
func (p PieceSpec) freezable() error {
	if p.Moisture > physics.FibreSaturation {
		return fmt.Errorf("%s: moisture is %g %% and the water that lies free in the wood would freeze, which the model does not count: dry it to %g %% or less",
			p.called(), 100*p.Moisture, 100*physics.FibreSaturation)
	}
	return nil
}

// called returns the piece's name for a message.
func (p PieceSpec) called() string {
	if p.Name == "" {
		return "piece"
	}
	return p.Name
}

// at returns density kg/m³, conductivity W/mK and heat capacity J/kgK at t °C.
func (p *PieceSpec) at(t float64) (density, conductivity, heatCapacity float64) {
	if m, ok := physics.MaterialByName(p.Material); ok {
		density, conductivity, heatCapacity = m.At(t, p.Moisture)
	}
	if p.Density > 0 {
		density = p.Density
	}
	if p.Conductivity > 0 {
		conductivity = p.Conductivity
	}
	if p.HeatCapacity > 0 {
		heatCapacity = p.HeatCapacity
	}
	return density, conductivity, heatCapacity
}

// halfSize returns the distance from the middle to the face that a bar has
// across its width, m.
func (p *PieceSpec) halfSize() float64 {
	switch p.Shape {
	case Cylinder:
		return p.Diameter / 2
	case Bar:
		return p.Width / 2
	}
	return p.Thickness / 2
}

// thin returns half of the smallest size, m.
func (p *PieceSpec) thin() float64 {
	if p.Shape == Bar {
		return min(p.Width, p.Height) / 2
	}
	return p.halfSize()
}

// Limit returns the highest temperature in service of the piece's material, °C,
// and where it is from; ok is false when none is known.
func (p PieceSpec) Limit() (celsius float64, source string, ok bool) {
	m, found := physics.MaterialByName(p.Material)
	if !found || m.Limit == 0 {
		return 0, "", false
	}
	return m.Limit, m.LimitSource, true
}
