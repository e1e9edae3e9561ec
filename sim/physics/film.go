package physics

import (
	"math"

	"soakwarden/sim/num"
)

// Coefficients of free convection, Nu = c·Ra^n, from Incropera and DeWitt,
// chapter 9.
const (
	PlateUpTurbulent = 0.15 // hot surface facing up, Ra 1e7 to 1e11, n = 1/3 (9.31)
	PlateUp          = 0.54 // hot surface facing up, Ra 1e4 to 1e7, n = 1/4 (9.30)
	PlateDown        = 0.27 // hot surface facing down, n = 1/4 (9.32)
	VerticalLaminar  = 0.59 // vertical plate, Ra 1e4 to 1e9, n = 1/4 (9.24)
	// LayerTurbulent is for water between a warm lower and a cool upper half:
	// twice the plate's, because two halves meet without a wall. An assumption,
	// not a source, and on the side of too little mixing: free water would be
	// within some 0.05 K from bottom to top, a tub with an animal that fills
	// half of it is not free, and a probe should not be flattered.
	LayerTurbulent = 0.30
)

// Film is a heat transfer coefficient that grows with the temperature
// difference: a steady part (conduction, forced flow) and a free-convection part
// blended by the rule of Churchill, hⁿ = steadyⁿ + freeⁿ, which is smooth.
type Film struct {
	steady  float64 // to the power n
	rising  float64 // free part to the power n, per kelvin, warm side below or outside
	falling float64 // the same with the difference the other way
	fourth  bool    // n is 4 and not 3
}

// WaterFilm returns a film of water at t °C with Nu = c·Ra^⅓ while the
// difference is positive, and steady W/m²K at rest.
func WaterFilm(c, t, steady float64) Film {
	return Film{
		steady: float64(float64(steady*steady) * steady),
		rising: float64(float64(float64(c*c)*c) * WaterConvection(t)),
	}
}

// AirFilm returns a film of air at t °C on a body of the size length m, with
// Nu = up·Ra^¼ while the difference is positive and down·Ra^¼ while it is
// negative, and steady W/m²K beside it.
func AirFilm(up, down, t, length, steady float64) Film {
	free := AirConvection(t) / length
	two := float64(steady * steady)
	return Film{
		steady:  float64(two * two),
		rising:  float64(fourthPower(up) * free),
		falling: float64(fourthPower(down) * free),
		fourth:  true,
	}
}

func fourthPower(x float64) float64 {
	two := float64(x * x)
	return float64(two * two)
}

// Flux returns the heat flux at the difference d K, W/m², and its slope, W/m²K.
func (f Film) Flux(d float64) (flux, slope float64) {
	flux, slope, _ = f.Curve(d)
	return flux, slope
}

// Curve returns the heat flux at the difference d K, W/m², its slope, W/m²K,
// and how fast the slope grows, W/m²K².
func (f Film) Curve(d float64) (flux, slope, bend float64) {
	per := f.rising
	if d < 0 {
		per = -f.falling
	}
	free := float64(per * d)
	// With hⁿ = steady + free: d(h·d)/dd = h + free/(n·h^(n−1)), and once more.
	if f.fourth {
		root := math.Sqrt(f.steady + free)
		h := math.Sqrt(root)
		share := per / (4 * float64(h*root))
		return float64(h * d), h + float64(share*d), share * (2 - 0.75*free/float64(root*root))
	}
	h := num.Cbrt(f.steady + free)
	square := float64(h * h)
	share := per / (3 * square)
	return float64(h * d), h + float64(share*d), share * (2 - 2.0/3*free/float64(square*h))
}

// Coefficient returns the film at the difference d K, W/m²K.
func (f Film) Coefficient(d float64) float64 {
	_, slope := f.Flux(d)
	if d == 0 {
		return slope
	}
	flux, _ := f.Flux(d)
	return flux / d
}

// ForcedAir returns the film of air that moves at v m/s along a plate length m
// long, W/m²K: Nu = 0.664·Re^½·Pr^⅓ (Incropera and DeWitt, 7.30), air at 25 °C.
func ForcedAir(v, length float64) float64 {
	if v <= 0 {
		return 0
	}
	return 0.664 * 0.02592 / length * math.Sqrt(v*length/1.552e-5) * 0.8917
}

// VerticalChurchillChu returns Nu of a vertical plate for all Ra (Churchill and
// Chu; Incropera and DeWitt 9.26).
func VerticalChurchillChu(rayleigh, prandtl float64) float64 {
	d := num.Pow(1+num.Pow(0.492/prandtl, 9.0/16), 8.0/27)
	root := 0.825 + 0.387*num.Pow(rayleigh, 1.0/6)/d
	return float64(root * root)
}

// Radiation returns the net flux between two facing surfaces at a and b °C with
// the exchange factor e, W/m², and its slopes in a and −b, W/m²K.
func Radiation(a, b, e float64) (flux, slopeA, slopeB float64) {
	ka, kb := a+ZeroCelsius, b+ZeroCelsius
	a2, b2 := float64(ka*ka), float64(kb*kb)
	s := StefanBoltzmann * e
	flux = float64(float64(s*(a2+b2)) * float64((ka+kb)*(ka-kb)))
	return flux, 4 * float64(s*float64(a2*ka)), 4 * float64(s*float64(b2*kb))
}

// ExchangeFactor returns the radiation exchange factor of two large parallel
// surfaces with emissivities a and b.
func ExchangeFactor(a, b float64) float64 { return 1 / (1/a + 1/b - 1) }

// TwoThirds returns x to the power two thirds.
func TwoThirds(x float64) float64 {
	root := num.Cbrt(x)
	return float64(root * root)
}

// MoistFilm returns the film of air at t °C that is saturated with vapour and
// condenses on what is cooler, W/m²K, from its dry film: Lewis's relation makes
// the latent part Y·(dp/dT)/(Rv·T·ρ·cp) times the dry one. Falls short by the
// curve of the vapour pressure when the body is much cooler.
func MoistFilm(dry, t float64) float64 {
	_, slope := Saturation(t)
	latent := LatentHeat(t) * 1000 * slope / (VapourGas * (t + ZeroCelsius))
	return dry * (1 + latent/(AirDensity(t)*AirHeatCapacity))
}
