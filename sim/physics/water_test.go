package physics

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.8g, want %.8g ± %.2g", what, got, want, tolerance)
	}
}

// Source: IAPWS SR6-08(2011), table worked out from the release's equations;
// the density at 260 K is the check value of a public implementation.
func TestWaterAgainstIAPWS(t *testing.T) {
	near(t, "density at 260 K", WaterAt(260-ZeroCelsius).Density, 997.0683602710492, 1e-9)
	for _, r := range []struct{ t, density, cp, k, viscosity, expansion, prandtl, kinematic, diffusivity float64 }{
		{10, 999.702, 4.1951, 0.5788, 1305.9, 87.9, 9.465, 1.3063, 0.1380},
		{15, 999.102, 4.1886, 0.5888, 1137.6, 150.8, 8.092, 1.1386, 0.1407},
		{20, 998.207, 4.1842, 0.5980, 1001.6, 206.8, 7.008, 1.0034, 0.1432},
		{25, 997.047, 4.1815, 0.6065, 890.0, 257.3, 6.136, 0.8926, 0.1455},
		{27, 996.515, 4.1807, 0.6097, 850.9, 276.2, 5.834, 0.8539, 0.1464},
		{29, 995.947, 4.1801, 0.6129, 814.5, 294.5, 5.555, 0.8178, 0.1472},
		{30, 995.649, 4.1799, 0.6144, 797.2, 303.4, 5.424, 0.8007, 0.1476},
		{32, 995.027, 4.1796, 0.6174, 764.4, 320.8, 5.175, 0.7682, 0.1485},
		{35, 994.033, 4.1793, 0.6217, 719.1, 345.9, 4.834, 0.7234, 0.1497},
		{40, 992.216, 4.1794, 0.6285, 652.7, 385.5, 4.341, 0.6579, 0.1516},
		{45, 990.212, 4.1800, 0.6348, 595.8, 422.6, 3.923, 0.6017, 0.1534},
		{50, 988.035, 4.1812, 0.6406, 546.5, 457.8, 3.567, 0.5531, 0.1551},
		{56, 985.205, 4.1832, 0.6471, 495.7, 497.7, 3.205, 0.5032, 0.1570},
		{60, 983.195, 4.1849, 0.6510, 466.0, 523.3, 2.996, 0.4740, 0.1582},
	} {
		w := WaterAt(r.t)
		near(t, "density", w.Density, r.density, 0.0006)
		near(t, "heat capacity", w.HeatCapacity/1000, r.cp, 0.00006)
		near(t, "conductivity", w.Conductivity, r.k, 0.00006)
		near(t, "viscosity", w.Viscosity*1e6, r.viscosity, 0.06)
		near(t, "expansion", w.Expansion*1e6, r.expansion, 0.06)
		near(t, "Prandtl", w.Prandtl(), r.prandtl, 0.0006)
		near(t, "kinematic viscosity", w.Kinematic()*1e6, r.kinematic, 0.00006)
		near(t, "diffusivity", w.Diffusivity()*1e6, r.diffusivity, 0.00006)
	}
}

// Source: Incropera and DeWitt, Table A.6 (saturated water), from memory.
func TestWaterAgainstTableA6(t *testing.T) {
	for _, r := range []struct{ kelvin, cp, viscosity, k, prandtl float64 }{
		{295, 4.181, 959e-6, 0.606, 6.62}, {300, 4.179, 855e-6, 0.613, 5.83}, {305, 4.178, 769e-6, 0.620, 5.20},
		{310, 4.178, 695e-6, 0.628, 4.62}, {315, 4.179, 631e-6, 0.634, 4.16}, {320, 4.180, 577e-6, 0.640, 3.77}, {325, 4.182, 528e-6, 0.645, 3.42},
	} {
		w := WaterAt(r.kelvin - ZeroCelsius)
		near(t, "heat capacity", w.HeatCapacity/1000, r.cp, 0.004)
		near(t, "viscosity", w.Viscosity/r.viscosity, 1, 0.01)
		near(t, "conductivity", w.Conductivity/r.k, 1, 0.009)
		near(t, "Prandtl", w.Prandtl()/r.prandtl, 1, 0.015)
	}
}

// The fits that a step uses, against IAPWS SR6-08 as above.
func TestFitsOfWater(t *testing.T) {
	for c := 5.0; c <= 70; c += 0.5 {
		w := WaterAt(c)
		near(t, "density", WaterDensity(c), w.Density, 0.06)
		near(t, "conductivity", WaterConductivity(c), w.Conductivity, 0.001)
		group := w.Conductivity * w.Conductivity * w.Conductivity * Gravity * w.Expansion / (w.Kinematic() * w.Diffusivity())
		if c > 6 {
			near(t, "convection", WaterConvection(c)/group, 1, 0.005)
		}
		if c >= 20 && c <= 60 {
			near(t, "constant heat capacity", WaterHeatCapacity/w.HeatCapacity, 1, 0.0012)
		}
	}
	if WaterConvection(2) != 0 {
		t.Error("water convects below its density maximum")
	}
}
