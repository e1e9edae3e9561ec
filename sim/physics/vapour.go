package physics

import "math"

// VapourGas is the gas constant of water vapour, J/kgK.
const VapourGas = 461.5

// SaturationPressure returns the saturation vapour pressure over liquid water
// at t °C, kPa. Below 0 °C it continues over supercooled water; held at −40
// and 200 °C.
//
// Source: IAPWS-IF97 region 4, equation 30. It needs a square root and no
// exponential.
func SaturationPressure(t float64) float64 {
	p, _ := Saturation(t)
	return p
}

// Saturation returns the saturation vapour pressure at t °C, kPa, and its slope
// by Clausius and Clapeyron for an ideal vapour, kPa/K, within 0.5 % up to 60 °C.
func Saturation(t float64) (pressure, slope float64) {
	kelvin := min(max(t, -40), 200) + ZeroCelsius
	theta := kelvin - 0.23855557567849/(kelvin-650.17534844798)
	square := float64(theta * theta)
	a := square + float64(1167.0521452767*theta) - 724213.16703206
	b := float64(-17.073846940092*square) + float64(12020.82470247*theta) - 3232555.0322333
	c := float64(14.91510861353*square) - float64(4823.2657361591*theta) + 405113.40542057
	root := 2 * c / (math.Sqrt(float64(b*b)-float64(4*float64(a*c))) - b)
	root *= root
	pressure = float64(1000 * float64(root*root))
	if t <= -40 || t >= 200 {
		return pressure, 0
	}
	return pressure, float64(pressure*LatentHeat(t)) / float64(VapourGas*float64(kelvin*kelvin))
}

// LatentHeat returns the heat of evaporation of water at t °C, J/kg: the
// linear form of the steam tables, within 0.1 % from 0 to 60 °C.
func LatentHeat(t float64) float64 { return 2500.9e3 - float64(2381*t) }

// AtmosphericPressure at sea level, Pa.
const AtmosphericPressure = 101325.0

// Evaporation coefficients of the ASHRAE form, W of latent heat per m² and kPa.
const (
	evaporationStill   = 89.0 // in still air
	evaporationDraught = 78.2 // more for each m/s
	// MeasuredStill is what still, unoccupied pools evaporate, as a share of
	// the ASHRAE form (Smith, Löf and Jones 1998, ASHRAE Transactions 104).
	MeasuredStill = 0.74
)

// EvaporationASHRAE returns the latent flux over water in the form of the
// ASHRAE Handbook (HVAC Applications), W/m² per kPa, with the air moving at
// v m/s. The SI constants agree with Carrier's in I-P units.
func EvaporationASHRAE(v float64) float64 {
	return evaporationStill + float64(evaporationDraught*v)
}

// Evaporation returns the latent flux over an undisturbed surface, W/m² per kPa:
// the ASHRAE form with its still term as measured.
func Evaporation(v float64) float64 {
	return evaporationStill*MeasuredStill + float64(evaporationDraught*v)
}

// EvaporationByHumidity returns the evaporation of area m² in kg/s from the
// humidity ratios at the surface and in the air (kg/kg), the air moving at v
// m/s: (25 + 19 v) kg/m²h, the form of The Engineering ToolBox.
func EvaporationByHumidity(area, v, surface, air float64) float64 {
	return float64(float64(25+float64(19*v))*float64(area*(surface-air))) / 3600
}

// HumidityRatio returns kg of vapour a kg of dry air at the vapour pressure p
// kPa (ASHRAE Handbook, Fundamentals: 0.621945 the ratio of molar masses).
func HumidityRatio(p float64) float64 { return 0.621945 * p / (AtmosphericPressure/1000 - p) }
