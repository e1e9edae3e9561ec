package num

import "math"

const (
	invLn2 = 1.44269504088896338700e+00
	// ln 2 in two parts; the first has its low 32 bits zero, so that k times it is exact.
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
)

// Exp returns e to the power x. It gives +Inf above 709.79, 0 below −745.14,
// NaN for NaN.
func Exp(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 709.782712893384:
		return math.Inf(1)
	case x < -745.1332191019412:
		return 0
	}
	k := math.Floor(float64(x*invLn2) + 0.5)
	high := x - float64(k*ln2High)
	low := float64(k * ln2Low)
	r := high - low
	// r·coth(r/2) = 2 + Σ 2·B(2n)·r^2n/(2n)!, B the Bernoulli numbers, and
	// e^r = 1 + 2r/(r·coth(r/2) − r).
	t := float64(r * r)
	s := 1.0/6 - float64(t*(1.0/360-float64(t*(1.0/15120-float64(t*(1.0/604800-float64(t*(1.0/23950080-float64(t*(691.0/653837184000))))))))))
	c := r - float64(t*s)
	y := 1 + (high + (float64(r*c)/(2-c) - low))
	n := int(k)
	if n > -1000 && n < 1000 {
		// A normal power of two: one exact multiplication.
		return y * math.Float64frombits(uint64(n+1023)<<52)
	}
	return math.Ldexp(y, n)
}

// Log returns the natural logarithm of x. It gives −Inf at 0 and NaN below.
func Log(x float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1):
		return x
	case x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	}
	m, e := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m *= 2
		e--
	}
	// log m = 2·artanh f with f = (m−1)/(m+1); m−1 is exact, and what is
	// added to it is small, so that the rounding of f hardly counts.
	g := m - 1
	f := g / (2 + g)
	t := float64(f * f)
	s := 0.0
	for i := len(artanh) - 1; i >= 0; i-- {
		s = float64(t * (artanh[i] + s))
	}
	k := float64(e)
	return float64(k*ln2High) + (g - (float64(f*(g-2*s)) - float64(k*ln2Low)))
}

// artanh f = f·(1 + f²/3 + f⁴/5 + …); eleven terms reach 1e-18 at f = 0.172.
var artanh = [...]float64{1.0 / 3, 1.0 / 5, 1.0 / 7, 1.0 / 9, 1.0 / 11, 1.0 / 13, 1.0 / 15, 1.0 / 17, 1.0 / 19, 1.0 / 21, 1.0 / 23}

// Pow returns x to the power y for x > 0, as Exp(y·Log(x)): its relative error
// grows with y·log x. NaN for x < 0.
func Pow(x, y float64) float64 { return Exp(float64(y * Log(x))) }

// Cbrt returns the cube root of x.
func Cbrt(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	a := math.Abs(x)
	scale := 1.0
	if a < 1e-300 {
		a *= 0x1p180
		scale = 0x1p-60
	}
	// A third of the exponent, from the bits, is right within 6 %; each Halley
	// step triples the digits.
	y := math.Float64frombits(math.Float64bits(a)/3 + 0x2A9F789300000000)
	for range 2 {
		c := float64(float64(y*y) * y)
		y *= (c + float64(2*a)) / (float64(2*c) + a)
	}
	// One Newton step in the form y − small, so that the last bit is sound.
	y -= (y - a/float64(y*y)) / 3
	return math.Copysign(y*scale, x)
}
