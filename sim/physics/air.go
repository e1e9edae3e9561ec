package physics

import "math"

// StefanBoltzmann constant, W/m²K⁴.
const StefanBoltzmann = 5.670374e-8

// Air is dry air at sea level.
type Air struct {
	Density      float64 // kg/m³
	Conductivity float64 // W/mK
	Kinematic    float64 // m²/s
	Diffusivity  float64 // m²/s
}

// AirHeatCapacity at constant pressure, J/kgK.
const AirHeatCapacity = 1006.0

// AirDensity returns the density of dry air at t °C, kg/m³: the ideal gas.
func AirDensity(t float64) float64 { return AtmosphericPressure / (287.05 * (t + ZeroCelsius)) }

// AirAt returns the properties of dry air at t °C, −40 to 120: the ideal gas,
// Sutherland's viscosity, and a power law for the conductivity, within 2 %
// of Incropera and DeWitt, Table A.4.
func AirAt(t float64) Air {
	kelvin := t + ZeroCelsius
	ratio := kelvin / ZeroCelsius
	viscosity := 1.716e-5 * float64(ratio*math.Sqrt(ratio)) * (ZeroCelsius + 110.4) / (kelvin + 110.4)
	density := AirDensity(t)
	// ratio^0.81 as ratio^(13/16): four square roots.
	eighth := math.Sqrt(math.Sqrt(math.Sqrt(ratio)))
	conductivity := 0.02414 * float64(math.Sqrt(ratio)*float64(float64(eighth*eighth)*math.Sqrt(eighth)))
	return Air{
		Density:      density,
		Conductivity: conductivity,
		Kinematic:    viscosity / density,
		Diffusivity:  conductivity / (density * AirHeatCapacity),
	}
}

// Prandtl returns the Prandtl number.
func (a Air) Prandtl() float64 { return a.Kinematic / a.Diffusivity }

// AirConvection returns k⁴·gβ/(να) of air at t °C, (W/m²K)⁴ m a kelvin: the
// fourth power of what every laminar free-convection film of air is
// proportional to. A parabola through AirAt, within 0.5 % from −20 to 80 °C.
func AirConvection(t float64) float64 {
	return airConvection[0] + float64(t*(airConvection[1]+float64(t*airConvection[2])))
}

var airConvection = [3]float64{49.509156, -0.23996068, 7.78260393e-4}
