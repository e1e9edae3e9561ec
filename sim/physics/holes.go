package physics

import "math"

// HoleExchange returns the volume of air that trades places through one hole in
// a lid, m³/s: warm moist air up, cool air down, both at once.
//
// Source: Epstein 1988, J. Heat Transfer 110:885, thin horizontal opening:
// Q = 0.055·(g·D⁵·Δρ/ρ)^½. The coefficient is from memory.
func HoleExchange(diameter, lighter float64) float64 {
	if diameter <= 0 || lighter <= 0 {
		return 0
	}
	return 0.055 * float64(float64(diameter*diameter)*math.Sqrt(float64(Gravity*float64(diameter*lighter))))
}

// OpeningExchange returns the volume of air that trades places through an area
// of openings of the size diameter, m³/s: HoleExchange for as many round holes as
// make up the area, and 0.025·area·v for a draught of v m/s (BS 5925, single-sided
// ventilation).
func OpeningExchange(area, diameter, lighter, v float64) float64 {
	if area <= 0 || diameter <= 0 {
		return 0
	}
	holes := area / (math.Pi / 4 * float64(diameter*diameter))
	return float64(holes*HoleExchange(diameter, lighter)) + float64(0.025*float64(area*v))
}

// Lighter returns by what share air at t °C and vapour pressure p kPa is lighter
// than air at t0 and p0: 1/T of warmth, and 0.378·p/P of vapour.
func Lighter(t, p, t0, p0 float64) float64 {
	return (t-t0)/(t0+ZeroCelsius) + float64(0.378*(p-p0)/(AtmosphericPressure/1000))
}
