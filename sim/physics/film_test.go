package physics

import (
	"math"
	"testing"
)

// Source: Incropera and DeWitt 6e, example 9.2 (p. 572): a vertical plate, Ra
// 1.81e9, Pr 0.69: Nu 147, 7.0 W/m²K, 1060 W.
func TestVerticalPlate(t *testing.T) {
	const length, width, k = 0.71, 1.02, 0.0338
	rayleigh := 9.8 * 2.5e-3 * (232 - 23) * math.Pow(length, 3) / (26.4e-6 * 38.3e-6)
	near(t, "Rayleigh", rayleigh, 1.81e9, 0.01e9)
	nusselt := VerticalChurchillChu(rayleigh, 0.69)
	near(t, "Nusselt", nusselt, 147, 0.6)
	near(t, "film", nusselt*k/length, 7.0, 0.05)
	near(t, "heat", nusselt*k/length*length*width*(232-23), 1060, 12)
}

// Source: Incropera and DeWitt, chapter 9 (9.30 to 9.32): the films as Nusselt
// numbers of Rayleigh's, worked out from full properties.
func TestFilmsAgainstTheirCorrelations(t *testing.T) {
	air, water := AirAt(25), WaterAt(29)
	const length, d = 0.08, 5.0
	rayleigh := Gravity / (25 + ZeroCelsius) * d * length * length * length / (air.Kinematic * air.Diffusivity)
	up := AirFilm(PlateUp, PlateDown, 25, length, 0)
	near(t, "air, hot plate up", up.Coefficient(d)/(0.54*math.Pow(rayleigh, 0.25)*air.Conductivity/length), 1, 0.005)
	near(t, "air, hot plate down", up.Coefficient(-d)/(0.27*math.Pow(rayleigh, 0.25)*air.Conductivity/length), 1, 0.005)
	rayleigh = Gravity * water.Expansion * d * length * length * length / (water.Kinematic() * water.Diffusivity())
	hot := WaterFilm(PlateUpTurbulent, 29, 0)
	near(t, "water, hot plate up", hot.Coefficient(d)/(0.15*math.Cbrt(rayleigh)*water.Conductivity/length), 1, 0.005)
	// A stable layer only conducts.
	near(t, "water, cold plate below", WaterFilm(PlateUpTurbulent, 29, 40).Coefficient(-2), 40, 1e-9)
	// Textbook's range of free convection: gas 2 to 25, liquid 50 to 1000 W/m²K (Table 1.1, from memory).
	for _, d := range []float64{0.5, 2, 10} {
		if h := up.Coefficient(d); h < 1 || h > 25 {
			t.Errorf("air film at %g K is %g W/m²K", d, h)
		}
		if h := hot.Coefficient(d); h < 50 || h > 1000 {
			t.Errorf("water film at %g K is %g W/m²K", d, h)
		}
	}
}

// Slope and bend against differences of the flux itself.
func TestCurveOfFilms(t *testing.T) {
	for _, f := range []Film{WaterFilm(0.15, 29, 40), AirFilm(0.54, 0.27, 25, 0.08, 0.5), AirFilm(0.59, 0.59, 20, 0.06, 3)} {
		for _, d := range []float64{-8, -1, -0.1, 0.05, 0.3, 2, 20} {
			_, slope, bend := f.Curve(d)
			e := 1e-4 * math.Max(0.1, math.Abs(d))
			high, _ := f.Flux(d + e)
			low, _ := f.Flux(d - e)
			mid, _ := f.Flux(d)
			near(t, "slope", slope/((high-low)/(2*e)), 1, 1e-4)
			if second := (high - 2*mid + low) / (e * e); math.Abs(second) > 1 {
				near(t, "bend", bend/second, 1, 0.02)
			}
		}
	}
}

// Sources: Stefan and Boltzmann; Incropera and DeWitt, example 3.12: a person's
// 5.9 W/m²K of radiation.
func TestRadiation(t *testing.T) {
	flux, a, b := Radiation(35, 24, 0.95)
	near(t, "film", flux/11, 5.9, 0.15)
	e := 1e-3
	high, _, _ := Radiation(35+e, 24, 0.95)
	other, _, _ := Radiation(35, 24+e, 0.95)
	near(t, "slope", a/((high-flux)/e), 1, 1e-5)
	near(t, "slope of the other", b/((flux-other)/e), 1, 1e-5)
	near(t, "two grey plates", ExchangeFactor(0.95, 0.95), 0.9048, 0.0001)
}

// Source: Incropera and DeWitt, Table A.4 (air), from memory.
func TestAirAgainstTableA4(t *testing.T) {
	for _, r := range []struct{ kelvin, density, k, kinematic, diffusivity float64 }{
		{250, 1.3947, 22.3e-3, 11.44e-6, 15.9e-6}, {300, 1.1614, 26.3e-3, 15.89e-6, 22.5e-6}, {350, 0.9950, 30.0e-3, 20.92e-6, 29.9e-6},
	} {
		a := AirAt(r.kelvin - ZeroCelsius)
		near(t, "density", a.Density/r.density, 1, 0.015)
		near(t, "conductivity", a.Conductivity/r.k, 1, 0.02)
		near(t, "kinematic viscosity", a.Kinematic/r.kinematic, 1, 0.02)
		near(t, "diffusivity", a.Diffusivity/r.diffusivity, 1, 0.03)
	}
	for c := -20.0; c <= 80; c += 5 {
		a := AirAt(c)
		k2 := a.Conductivity * a.Conductivity
		near(t, "convection", AirConvection(c)/(k2*k2*Gravity/(c+ZeroCelsius)/(a.Kinematic*a.Diffusivity)), 1, 0.005)
	}
	// Nu = 0.664·Re^½·Pr^⅓ (7.30) with the air of 25 °C.
	a := AirAt(25)
	want := 0.664 * math.Sqrt(0.5*0.4/a.Kinematic) * math.Cbrt(a.Prandtl()) * a.Conductivity / 0.4
	near(t, "forced", ForcedAir(0.5, 0.4)/want, 1, 0.01)
	if ForcedAir(0, 1) != 0 || ForcedAir(-1, 1) != 0 {
		t.Error("still air has a forced film")
	}
}

// Lewis's relation by hand at 65 °C: the latent part is about sixteen times the dry.
func TestMoistFilm(t *testing.T) {
	p := (SaturationPressure(65.5) - SaturationPressure(64.5)) * 1000
	hand := 15 * (1 + 2346e3*p/(461.5*338.15)/(101325/(287.05*338.15)*1006))
	near(t, "film", MoistFilm(15, 65)/hand, 1, 0.01)
	if MoistFilm(15, 65) < 10*15 {
		t.Error("condensing steam is no better than dry air")
	}
}

// Source: Incropera and DeWitt, Table 5.1; exact roots of the equations.
func TestOneTermCoefficients(t *testing.T) {
	for _, r := range []struct{ biot, wz, wc, cz, cc, sz, sc float64 }{
		{0.01, 0.0998, 1.0017, 0.1412, 1.0025, 0.1730, 1.0030}, {0.02, 0.1410, 1.0033, 0.1995, 1.0050, 0.2445, 1.0060},
		{0.04, 0.1987, 1.0066, 0.2814, 1.0099, 0.3450, 1.0120}, {0.06, 0.2425, 1.0098, 0.3438, 1.0148, 0.4217, 1.0179},
		{0.08, 0.2791, 1.0130, 0.3960, 1.0197, 0.4860, 1.0239}, {0.1, 0.3111, 1.0161, 0.4417, 1.0246, 0.5423, 1.0298},
		{0.2, 0.4328, 1.0311, 0.6170, 1.0483, 0.7593, 1.0592}, {0.3, 0.5218, 1.0450, 0.7465, 1.0712, 0.9208, 1.0880},
		{0.4, 0.5932, 1.0580, 0.8516, 1.0931, 1.0528, 1.1164}, {0.5, 0.6533, 1.0701, 0.9408, 1.1143, 1.1656, 1.1441},
		{0.7, 0.7506, 1.0918, 1.0873, 1.1539, 1.3525, 1.1978}, {1, 0.8603, 1.1191, 1.2558, 1.2071, 1.5708, 1.2732},
		{1.5, 0.9882, 1.1537, 1.4569, 1.2807, 1.8366, 1.3850}, {2, 1.0769, 1.1785, 1.5994, 1.3384, 2.0288, 1.4793},
		{3, 1.1925, 1.2102, 1.7887, 1.4191, 2.2889, 1.6227}, {5, 1.3138, 1.2402, 1.9898, 1.5029, 2.5704, 1.7870},
		{10, 1.4289, 1.2620, 2.1795, 1.5677, 2.8363, 1.9249}, {20, 1.4961, 1.2699, 2.2880, 1.5919, 2.9857, 1.9781},
		{50, 1.5400, 1.2727, 2.3572, 1.6002, 3.0788, 1.9962}, {100, 1.5552, 1.2731, 2.3809, 1.6015, 3.1102, 1.9990},
		{1e9, 1.5708, 1.2732, 2.4048, 1.6021, 3.1416, 2.0000},
	} {
		for b, want := range [][2]float64{{r.wz, r.wc}, {r.cz, r.cc}, {r.sz, r.sc}} {
			zeta, c, err := OneTerm(Body(b), r.biot)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "ζ", zeta, want[0], 0.0001)
			near(t, "C", c, want[1], 0.00015)
		}
	}
	for _, bad := range []float64{0, -1, math.NaN()} {
		if _, _, err := OneTerm(Wall, bad); err == nil {
			t.Errorf("Biot number %g was taken", bad)
		}
	}
	if _, _, err := OneTerm(9, 1); err == nil {
		t.Error("a body that is none was taken")
	}
}

// Source: Incropera and DeWitt 6e, example 5.5 (p. 280): a sphere of 5 mm radius,
// 335 to 50 °C at its middle in water: 3.1 s from interpolated coefficients, 2.98
// exact. The egg of 5.5 cm (Cengel's exercise): 1064 s to 70 °C.
func TestSpheres(t *testing.T) {
	at := func(radius, k, diffusivity, film, start, medium, target float64) float64 {
		zeta, c, err := OneTerm(Sphere, film*radius/k)
		if err != nil {
			t.Fatal(err)
		}
		return math.Log(c*(start-medium)/(target-medium)) / (zeta * zeta) * radius * radius / diffusivity
	}
	near(t, "sphere in water, s", at(0.005, 20, 6.66e-6, 6000, 335, 20, 50), 2.98, 0.015)
	near(t, "egg, s", at(0.0275, 0.6, 0.14e-6, 1400, 8, 97, 70), 1064, 6)
}
