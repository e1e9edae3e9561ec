package physics

import "soakwarden/sim/num"

// ZeroCelsius in kelvin.
const ZeroCelsius = 273.15

// Gravity in m/s².
const Gravity = 9.80665

// WaterHeatCapacity is what the tub model counts with, J/kgK: liquid water
// differs from it by less than 0.1 % from 20 to 60 °C, and a constant keeps
// the energy account exact (IAPWS SR6-08 gives 4180.1 at 29 °C).
const WaterHeatCapacity = 4180.0

// Water is liquid water at 0.1 MPa.
type Water struct {
	Density      float64 // kg/m³
	HeatCapacity float64 // J/kgK
	Conductivity float64 // W/mK
	Viscosity    float64 // Pa·s
	Expansion    float64 // 1/K
}

// Kinematic returns the kinematic viscosity, m²/s.
func (w Water) Kinematic() float64 { return w.Viscosity / w.Density }

// Diffusivity returns the thermal diffusivity, m²/s.
func (w Water) Diffusivity() float64 { return w.Conductivity / (w.Density * w.HeatCapacity) }

// Prandtl returns the Prandtl number.
func (w Water) Prandtl() float64 { return w.Kinematic() / w.Diffusivity() }

// WaterAt returns the properties of liquid water at t °C, −20 to 110.
//
// Source: IAPWS SR6-08(2011), Revised Supplementary Release on Properties of
// Liquid Water at 0.1 MPa, equations 1 to 6 with tables 1 to 4.
func WaterAt(t float64) Water {
	const (
		gas       = 461.51805 // J/kgK
		reference = 10.0      // K
		pressure  = 1e5       // Pa
	)
	kelvin := t + ZeroCelsius
	tau := kelvin / reference
	alpha := reference / (593 - kelvin)
	beta := reference / (kelvin - 232)

	volume, slope := 1.93763157e-2, 0.0
	for _, c := range volumeAlpha {
		p := float64(c.a * power(alpha, c.n))
		volume += p
		slope += float64(float64(p*alpha) * float64(c.n))
	}
	for _, c := range volumeBeta {
		p := float64(c.a * power(beta, c.n))
		volume += p
		slope -= float64(float64(p*beta) * float64(c.n))
	}
	curve := 0.0
	for _, c := range gibbsAlpha {
		curve += float64(c.a * float64(float64(c.n*(c.n+1))*power(alpha, c.n+2)))
	}
	for _, c := range gibbsBeta {
		curve += float64(c.a * float64(float64(c.n*(c.n+1))*power(beta, c.n+2)))
	}
	ratio := num.Log(kelvin / 300)
	w := Water{
		Density:      pressure / (gas * reference * volume),
		HeatCapacity: -gas * (-8.983025854 + float64(tau*curve)),
		Expansion:    slope / (reference * volume),
	}
	for _, c := range conductivity {
		w.Conductivity += float64(c.a * num.Exp(float64(c.d*ratio)))
	}
	for _, c := range viscosity {
		w.Viscosity += float64(1e-6 * float64(c.a*num.Exp(float64(c.d*ratio))))
	}
	return w
}

type term struct {
	a float64
	n int
}

type powerTerm struct{ a, d float64 }

var (
	gibbsAlpha   = [...]term{{-1.661470539e5, 4}, {2.708781640e6, 5}, {-1.557191544e8, 7}}
	gibbsBeta    = [...]term{{-8.237426256e-1, 2}, {1.908956353, 3}, {-2.017597384, 4}, {8.546361348e-1, 5}}
	volumeAlpha  = [...]term{{6.74458446e3, 4}, {-2.22521604e5, 5}, {1.00231247e8, 7}, {-1.63552118e9, 8}, {8.32299658e9, 9}}
	volumeBeta   = [...]term{{5.78545292e-3, 1}, {-1.53195665e-2, 2}, {3.11337859e-2, 3}, {-4.23546241e-2, 4}, {3.38713507e-2, 5}, {-1.19946761e-2, 6}}
	conductivity = [...]powerTerm{{1.6630, -1.15}, {-1.7781, -3.4}, {1.1567, -6.0}, {-0.432115, -7.6}}
	viscosity    = [...]powerTerm{{280.68, -1.9}, {511.45, -7.7}, {61.131, -19.6}, {0.45903, -40}}
)

func power(x float64, n int) float64 {
	y := 1.0
	for range n {
		y *= x
	}
	return y
}

// WaterDensity returns the density of water at t °C, kg/m³: a cubic through
// IAPWS SR6-08, within 0.06 from 5 to 70 °C, for the level of a tub.
func WaterDensity(t float64) float64 {
	// A comparison, because min also looks for what no temperature is.
	if t > 150 {
		t = 150
	}
	return 1000.0468 + float64(t*(0.0265145+float64(t*(-6.38641e-3+float64(t*2.09759e-5)))))
}

// WaterConductivity returns the conductivity of water at t °C, W/mK: a parabola
// through IAPWS SR6-08, within 0.001 from 5 to 70 °C; held above 100 °C.
func WaterConductivity(t float64) float64 {
	t = min(t, 100)
	return 0.558105 + float64(t*(2.188658e-3-float64(t*1.064123e-5)))
}

// WaterConvection returns k³·gβ/(να) of water at t °C, (W/m²K)³ a kelvin: the
// cube of what every turbulent free-convection film of water is proportional
// to. A cubic through IAPWS SR6-08, within 0.5 % from 5 to 70 °C; zero below
// the density maximum, where warm water no longer rises.
func WaterConvection(t float64) float64 {
	t = min(t, 70)
	return max(0, -4.72875645e8+float64(t*(1.05833867e8+float64(t*(3.366893446e6+float64(t*4.0408481648e3))))))
}
