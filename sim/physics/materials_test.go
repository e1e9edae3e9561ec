package physics

import "testing"

// Source: Wood Handbook FPL-GTR-190, equation 4-15, worked out for dry wood and
// for 12 %, at 24 °C.
func TestWoodConductivity(t *testing.T) {
	for _, r := range []struct{ gravity, dry, moist float64 }{
		{0.35, 0.0866, 0.1036}, {0.40, 0.0963, 0.1158}, {0.45, 0.1060, 0.1279}, {0.50, 0.1157, 0.1401}, {0.60, 0.1351, 0.1644}, {0.68, 0.1506, 0.1838},
	} {
		near(t, "dry", Wood{r.gravity, 0}.Conductivity(24), r.dry, 0.00006)
		near(t, "12 %", Wood{r.gravity, 0.12}.Conductivity(24), r.moist, 0.00006)
	}
	// Its text: 2 to 3 % more for each 10 °C.
	rise := Wood{0.5, 0.12}.Conductivity(34)/Wood{0.5, 0.12}.Conductivity(24) - 1
	if rise < 0.02 || rise > 0.03 {
		t.Errorf("10 °C raise the conductivity by %.3f, want 0.02 to 0.03", rise)
	}
	// MacLean 1941, from memory: G·(0.200 + 0.0055·x) + 0.024 for wet wood.
	near(t, "wet", Wood{0.5, 0.8}.Conductivity(24), 0.5*(0.2004+0.00548*80)+0.0238, 1e-9)
	for x := 0.0; x < 1.2; x += 0.01 {
		if (Wood{0.5, x + 0.01}).Conductivity(24) <= (Wood{0.5, x}).Conductivity(24) {
			t.Fatalf("conductivity falls with moisture at %.2f", x)
		}
	}
}

// Source: Wood Handbook FPL-GTR-190, Table 4-8 (Glass and Zelinka 2010), kJ/kgK;
// 1.91 at 12 % and 340 K is the check that shows lost minus signs.
func TestWoodHeatCapacity(t *testing.T) {
	near(t, "12 %, 340 K", Wood{0.5, 0.12}.HeatCapacity(340-ZeroCelsius)/1000, 1.91, 0.005)
	for kelvin, row := range map[float64][4]float64{
		280: {1.186, 1.346, 1.538, 1.715}, 300: {1.263, 1.443, 1.663, 1.874}, 320: {1.341, 1.540, 1.789, 2.033}, 340: {1.418, 1.638, 1.915, 2.192},
	} {
		for i, x := range []float64{0, 0.05, 0.12, 0.20} {
			near(t, "heat capacity", Wood{0.5, x}.HeatCapacity(kelvin-ZeroCelsius)/1000, row[i], 0.0006)
		}
	}
	// Diffusivities, mm²/s: worked out from the two equations.
	for _, r := range []struct{ gravity, kelvin, want float64 }{{0.40, 300, 0.155}, {0.50, 300, 0.150}, {0.68, 300, 0.145}} {
		w := Wood{r.gravity, 0.12}
		near(t, "diffusivity", 1e6*w.Conductivity(24)/(w.Density()*w.HeatCapacity(r.kelvin-ZeroCelsius)), r.want, 0.001)
	}
}

// Source: EN 12524:2000, diffusivities in mm²/s worked out from its rows.
func TestMaterials(t *testing.T) {
	for name, want := range map[string]float64{
		"pvc": 0.136, "particleboard": 0.137, "particleboard, dense": 0.118, "fibreboard": 0.132, "osb": 0.118, "plywood": 0.163,
		"glass": 0.533, "ceramic": 0.673, "acrylic": 0.127, "polycarbonate": 0.139, "polypropylene": 0.134, "hdpe": 0.283,
		"polystyrene": 0.117, "eps": 1.21, "xps": 0.54, "cork bark": 0.167, "cork tile": 0.108, "silicone": 0.29, "aluminium": 64.9,
	} {
		m, ok := MaterialByName(name)
		if !ok {
			t.Errorf("no material is named %q", name)
			continue
		}
		rho, k, cp := m.At(20, 0)
		near(t, name, k/(rho*cp)*1e6/want, 1, 0.01)
	}
	// Two values that a much copied table has wrong by a factor.
	if m, _ := MaterialByName("cork tile"); m.Conductivity != 0.065 {
		t.Errorf("cork tile conducts %g W/mK, want 0.065", m.Conductivity)
	}
	if m, _ := MaterialByName("particleboard, dense"); m.Conductivity != 0.18 {
		t.Errorf("dense particleboard conducts %g W/mK, want 0.18", m.Conductivity)
	}
	for i, m := range Materials {
		if i > 0 && Materials[i-1].Name >= m.Name {
			t.Errorf("%q stands after %q", m.Name, Materials[i-1].Name)
		}
		if m.Source == "" || (m.Limit != 0 && m.LimitSource == "") {
			t.Errorf("%s has a value without a source", m.Name)
		}
		rho, k, cp := m.At(20, 0.12)
		if rho < 15 || rho > 9000 || k < 0.02 || k > 200 || cp < 350 || cp > 4200 {
			t.Errorf("%s: %g kg/m³, %g W/mK, %g J/kgK", m.Name, rho, k, cp)
		}
	}
	if _, ok := MaterialByName("unobtainium"); ok {
		t.Error("a material that is none was found")
	}
	// Service limits of the foams: makers' data, as in the materials' own entries.
	for name, limit := range map[string]float64{"eps": 75, "pvc": 60, "pur foam": 43} {
		if m, _ := MaterialByName(name); m.Limit != limit {
			t.Errorf("%s: limit %g °C, want %g", name, m.Limit, limit)
		}
	}
}
