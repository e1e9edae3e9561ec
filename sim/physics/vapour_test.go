package physics

import (
	"math"
	"testing"
)

// Sources: IAPWS-IF97 region 4 (its verification value at 300 K is
// 0.00353658941 MPa), and the table of the CRC Handbook (Lide), both kPa.
func TestSaturationPressure(t *testing.T) {
	near(t, "300 K", SaturationPressure(300-ZeroCelsius)/3.53658941, 1, 1e-9)
	for _, r := range []struct{ t, if97, crc float64 }{
		{5, 0.8726, 0.8726}, {10, 1.2282, 1.2281}, {15, 1.7057, 1.7056}, {20, 2.3392, 2.3388}, {25, 3.1697, 3.1690},
		{30, 4.2467, 4.2455}, {35, 5.6286, 5.6267}, {40, 7.3844, 7.3814}, {45, 9.5944, 9.5898}, {50, 12.3513, 12.3440},
		{55, 15.7614, 15.7520}, {60, 19.9458, 19.9320}, {70, 31.2006, 31.1760},
	} {
		p := SaturationPressure(r.t)
		near(t, "against IF97", p/r.if97, 1, 0.00007)
		near(t, "against the CRC table", p/r.crc, 1, 0.003)
	}
	// Held at the ends instead of running away.
	if SaturationPressure(-60) != SaturationPressure(-40) || SaturationPressure(400) != SaturationPressure(200) {
		t.Error("saturation pressure is not held at its ends")
	}
	if _, slope := Saturation(300); slope != 0 {
		t.Error("a held pressure has a slope")
	}
}

// Source: the regression values of the ASHRAE psychrometric library, Pa, within
// 3e-4 of ASHRAE Handbook, Fundamentals; humidity ratio of saturated air.
func TestSaturationAgainstASHRAE(t *testing.T) {
	for celsius, pascal := range map[float64]float64{5: 872.6, 25: 3169.7, 50: 12351.3, 100: 101418.0, 150: 476101.4} {
		near(t, "Pa", 1000*SaturationPressure(celsius)/pascal, 1, 3e-4)
	}
	for celsius, ratio := range map[float64]float64{5: 0.005425, 25: 0.020173, 50: 0.086863} {
		near(t, "humidity ratio", HumidityRatio(SaturationPressure(celsius))/ratio, 1, 0.01)
	}
}

func TestSlopeOfSaturation(t *testing.T) {
	for c := 0.0; c <= 60; c += 5 {
		_, slope := Saturation(c)
		numeric := (SaturationPressure(c+0.01) - SaturationPressure(c-0.01)) / 0.02
		near(t, "slope", slope/numeric, 1, 0.006)
	}
}

// Source: steam tables, from memory, kJ/kg.
func TestLatentHeat(t *testing.T) {
	for celsius, want := range map[float64]float64{20: 2453.5, 25: 2441.7, 30: 2429.8, 35: 2417.9, 40: 2406.0, 45: 2394.0, 50: 2382.0} {
		near(t, "latent heat", LatentHeat(celsius)/1000/want, 1, 0.001)
	}
}

// Source: The Engineering ToolBox, evaporation from water surfaces: a pool of
// 25 × 20 m, water and air at 25 °C, 50 % humidity, 0.5 m/s, humidity ratios 0.02
// and 0.0098: 0.049 kg/s, and 110.6 kW with its 2257 kJ/kg.
func TestEvaporationWorkedExample(t *testing.T) {
	rate := EvaporationByHumidity(25*20, 0.5, 0.02, 0.0098)
	near(t, "kg/s", rate, 0.049, 0.0005)
	near(t, "kW", rate*2257, 110.6, 0.4)
}

// Sources: ASHRAE Handbook, HVAC Applications, in SI from memory; its constants
// agree with Carrier's I-P form, (95 + 0.425 v) Btu/h·ft²·inHg (Smith, Löf and
// Jones 1998), who measured 74 % of it over still pools.
func TestEvaporationForms(t *testing.T) {
	const (
		btuPerHour = 0.29307107 // W
		squareFoot = 0.09290304 // m²
		inchHg     = 3.38639    // kPa
		footAMin   = 0.00508    // m/s
	)
	near(t, "still", EvaporationASHRAE(0), 95*btuPerHour/squareFoot/inchHg, 0.6)
	near(t, "draught", EvaporationASHRAE(1)-EvaporationASHRAE(0), 0.425*btuPerHour/squareFoot/inchHg/footAMin, 0.6)
	near(t, "measured over still water", Evaporation(0)/EvaporationASHRAE(0), 0.74, 1e-12)
	// kg/h a m²: worked out from the form with latent heat 2500.9 − 2.381·t.
	perHour := func(water, air, humidity, film float64) float64 {
		return film * (SaturationPressure(water) - humidity*SaturationPressure(air)) / LatentHeat(water) * 3600
	}
	near(t, "29 over 24 °C 50 %", perHour(29, 24, 0.5, EvaporationASHRAE(0)), 0.3315, 0.0005)
	near(t, "the same, measured", perHour(29, 24, 0.5, Evaporation(0)), 0.245, 0.0005)
	near(t, "29 over 22 °C 40 %", perHour(29, 22, 0.4, EvaporationASHRAE(0)), 0.389, 0.0006)
	near(t, "29 over 25 °C 60 %", perHour(29, 25, 0.6, EvaporationASHRAE(0)), 0.278, 0.0006)
	near(t, "29 over 24 °C 50 %, 0.1 m/s", perHour(29, 24, 0.5, EvaporationASHRAE(0.1)), 0.361, 0.0006)
}

// Source: Epstein 1988, Q = 0.055·(g·D⁵·Δρ/ρ)^½, from memory; BS 5925 for wind.
func TestHoles(t *testing.T) {
	near(t, "10 mm, 2 %", HoleExchange(0.01, 0.02)*1e7, 0.055*math.Sqrt(9.80665*1e-10*0.02)*1e7, 1e-6)
	near(t, "four quarters of an area", OpeningExchange(math.Pi*1e-4, 0.01, 0.02, 0), 4*HoleExchange(0.01, 0.02), 1e-12)
	near(t, "wind", OpeningExchange(0.01, 0.01, 0, 0.5), 0.025*0.01*0.5, 1e-12)
	if HoleExchange(0.01, -1) != 0 || HoleExchange(0, 1) != 0 || OpeningExchange(0, 0.01, 0.1, 1) != 0 {
		t.Error("air goes through a hole that is not there, or through a stable one")
	}
	// Vapour at 4 kPa against 1.5 is 0.9 % lighter by itself (molar masses 18 and 29).
	near(t, "moist air", Lighter(20, 4, 20, 1.5), 0.378*2.5/101.325, 1e-12)
}
