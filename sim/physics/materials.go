package physics

import "strings"

// Material is what a thing is made of. Wood's conductivity and heat capacity
// come from its moisture and temperature; Gravity is zero for all others.
type Material struct {
	Name         string
	Density      float64 // kg/m³
	Conductivity float64 // W/mK
	HeatCapacity float64 // J/kgK
	Gravity      float64 // specific gravity of wood
	Limit        float64 // highest temperature in service, °C; 0 when none is known
	LimitSource  string
	Source       string
}

// Wood returns the material as wood at a moisture; ok is false when it is none.
func (m Material) Wood(moisture float64) (w Wood, ok bool) {
	return Wood{Gravity: m.Gravity, Moisture: moisture}, m.Gravity > 0
}

const (
	en12524  = "EN 12524:2000"
	ashrae   = "ASHRAE Handbook, Fundamentals"
	handbook = "Wood Handbook FPL-GTR-190, Table 4-3 and equations 4-15 to 4-18"
	memory   = "from memory"
	assumed  = "assumed"
)

// Materials is every material known, in order of name. Cork tile's conductivity
// is 0.065 W/mK and particleboard of high density 0.18; a much copied
// table has 65 and 1.18.
var Materials = []Material{
	{Name: "acrylic", Density: 1050, Conductivity: 0.20, HeatCapacity: 1500, Limit: 80, LimitSource: memory, Source: en12524},
	{Name: "aluminium", Density: 2800, Conductivity: 160, HeatCapacity: 880, Source: en12524},
	{Name: "aspen", Gravity: 0.38, Limit: 75, LimitSource: memory, Source: handbook},
	{Name: "basswood", Gravity: 0.37, Limit: 75, LimitSource: memory, Source: handbook},
	{Name: "brass", Density: 8530, Conductivity: 110, HeatCapacity: 380, Source: "Cengel, Heat and Mass Transfer, example 4-4"},
	{Name: "brick", Density: 1800, Conductivity: 0.75, HeatCapacity: 840, Source: memory},
	{Name: "ceramic", Density: 2300, Conductivity: 1.3, HeatCapacity: 840, Source: en12524},
	{Name: "cork bark", Density: 200, Conductivity: 0.05, HeatCapacity: 1500, Limit: 75, LimitSource: memory, Source: en12524 + ", cork underlay"},
	{Name: "cork tile", Density: 400, Conductivity: 0.065, HeatCapacity: 1500, Limit: 75, LimitSource: memory, Source: en12524},
	{Name: "eps", Density: 20, Conductivity: 0.0355, HeatCapacity: 1470, Limit: 75, LimitSource: "makers' data: 75 °C long term", Source: en12524},
	{Name: "fibreboard", Density: 800, Conductivity: 0.18, HeatCapacity: 1700, Limit: 60, LimitSource: memory, Source: en12524},
	{Name: "glass", Density: 2500, Conductivity: 1.0, HeatCapacity: 750, Limit: 0, LimitSource: "heat evenly: annealed glass breaks at steps of 30 to 40 K (from memory)", Source: en12524},
	{Name: "granite", Density: 2600, Conductivity: 2.8, HeatCapacity: 1000, Source: en12524},
	{Name: "hdpe", Density: 980, Conductivity: 0.50, HeatCapacity: 1800, Limit: 80, LimitSource: memory, Source: en12524},
	{Name: "laundry", Density: 80, Conductivity: 0.05, HeatCapacity: 1340, Limit: 60, LimitSource: assumed, Source: "loose dry cotton: density and conductivity assumed; heat capacity of cotton, from memory"},
	{Name: "leaf litter", Density: 80, Conductivity: 0.06, HeatCapacity: 1600, Limit: 70, LimitSource: assumed, Source: assumed},
	{Name: "limestone", Density: 2200, Conductivity: 1.7, HeatCapacity: 1000, Source: en12524},
	{Name: "maple", Gravity: 0.57, Limit: 75, LimitSource: memory, Source: handbook + ", sugar maple"},
	{Name: "oak", Gravity: 0.58, Limit: 75, LimitSource: memory, Source: handbook + ", northern red oak"},
	{Name: "osb", Density: 650, Conductivity: 0.13, HeatCapacity: 1700, Limit: 60, LimitSource: assumed, Source: en12524},
	{Name: "particleboard", Density: 600, Conductivity: 0.14, HeatCapacity: 1700, Limit: 60, LimitSource: memory, Source: en12524},
	{Name: "particleboard, dense", Density: 900, Conductivity: 0.18, HeatCapacity: 1700, Limit: 60, LimitSource: memory, Source: en12524},
	{Name: "pine", Gravity: 0.40, Limit: 75, LimitSource: memory, Source: handbook},
	{Name: "plywood", Density: 500, Conductivity: 0.13, HeatCapacity: 1600, Limit: 60, LimitSource: assumed, Source: en12524},
	{Name: "polycarbonate", Density: 1200, Conductivity: 0.20, HeatCapacity: 1200, Limit: 115, LimitSource: memory, Source: en12524},
	{Name: "polypropylene", Density: 910, Conductivity: 0.22, HeatCapacity: 1800, Limit: 100, LimitSource: memory, Source: en12524},
	{Name: "polystyrene", Density: 1050, Conductivity: 0.16, HeatCapacity: 1300, Limit: 70, LimitSource: memory, Source: en12524},
	{Name: "pur foam", Density: 35, Conductivity: 0.03, HeatCapacity: 1400, Limit: 43, LimitSource: "makers' data of rigid casting foam: 43 to 52 °C", Source: memory},
	{Name: "pvc", Density: 1390, Conductivity: 0.17, HeatCapacity: 900, Limit: 60, LimitSource: "makers' data: usable to 60 °C at reduced load", Source: en12524},
	{Name: "pvc foam", Density: 550, Conductivity: 0.08, HeatCapacity: 900, Limit: 60, LimitSource: memory, Source: "makers' data and memory"},
	{Name: "red maple", Gravity: 0.49, Limit: 75, LimitSource: memory, Source: handbook},
	{Name: "silicone", Density: 1200, Conductivity: 0.35, HeatCapacity: 1000, Limit: 150, LimitSource: memory, Source: en12524},
	{Name: "slate", Density: 2400, Conductivity: 2.2, HeatCapacity: 1000, Source: en12524},
	{Name: "steel", Density: 7832, Conductivity: 63.9, HeatCapacity: 434, Source: "Incropera and DeWitt, example 5.4"},
	{Name: "upholstery", Density: 45, Conductivity: 0.045, HeatCapacity: 1400, Limit: 60, LimitSource: assumed, Source: "soft foam and fibre: assumed"},
	{Name: "water", Density: 998, Conductivity: 0.60, HeatCapacity: 4182, Source: "IAPWS SR6-08 at 20 °C"},
	{Name: "xps", Density: 32.5, Conductivity: 0.026, HeatCapacity: 1470, Limit: 75, LimitSource: memory, Source: en12524},
}

// MaterialByName returns the material of that name.
func MaterialByName(name string) (Material, bool) {
	for _, m := range Materials {
		if m.Name == name {
			return m, true
		}
	}
	return Material{}, false
}

// MaterialNames returns every name, for a message.
func MaterialNames() string {
	names := make([]string, len(Materials))
	for i, m := range Materials {
		names[i] = m.Name
	}
	return strings.Join(names, ", ")
}

// At returns density kg/m³, conductivity W/mK and heat capacity J/kgK at t °C;
// moisture counts for wood only.
func (m Material) At(t, moisture float64) (density, conductivity, heatCapacity float64) {
	if w, ok := m.Wood(moisture); ok {
		return w.Density(), w.Conductivity(t), w.HeatCapacity(t)
	}
	return m.Density, m.Conductivity, m.HeatCapacity
}
