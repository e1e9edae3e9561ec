package physics

import "fmt"

// Body is a shape that the one-term solution knows.
type Body uint8

// The bodies. Their length scale is half the thickness of the wall, or the radius.
const (
	Wall Body = iota
	LongCylinder
	Sphere
)

// OneTerm returns ζ and C of the first term of the exact solution of a body
// that was at one temperature and is put into a medium, for a Biot number
// over 0: for Fo > 0.2 the middle is at C·exp(−ζ²·Fo) of the difference.
//
// Source: Incropera and DeWitt, section 5.5, equations 5.40, 5.43 and 5.44.
func OneTerm(b Body, biot float64) (zeta, c float64, err error) {
	if !(biot > 0) {
		return 0, 0, fmt.Errorf("one-term solution: Biot number is %g, it must be over 0", biot)
	}
	top := [...]float64{1.5707963267948966, 2.404825557695773, 3.141592653589793}
	if int(b) >= len(top) {
		return 0, 0, fmt.Errorf("one-term solution: there is no body %d", b)
	}
	low, high := 0.0, top[b]
	for range 60 {
		zeta = (low + high) / 2
		if excess(b, zeta) < biot {
			low = zeta
		} else {
			high = zeta
		}
	}
	switch b {
	case Wall:
		s, co := sine(zeta), cosine(zeta)
		c = 4 * s / (float64(2*zeta) + float64(2*float64(s*co)))
	case LongCylinder:
		j0, j1 := bessel0(zeta), bessel1(zeta)
		c = 2 / zeta * j1 / (float64(j0*j0) + float64(j1*j1))
	case Sphere:
		s, co := sine(zeta), cosine(zeta)
		c = 4 * (s - float64(zeta*co)) / (float64(2*zeta) - float64(2*float64(s*co)))
	}
	return zeta, c, nil
}

// excess is the Biot number that ζ is the root for; it rises with ζ.
func excess(b Body, z float64) float64 {
	switch b {
	case Wall:
		return z * sine(z) / cosine(z)
	case LongCylinder:
		return z * bessel1(z) / bessel0(z)
	}
	return 1 - z*cosine(z)/sine(z)
}

// The power series of sine, cosine and the Bessel functions J0 and J1, for
// arguments up to π: the standard library's differ between processors.

func cosine(x float64) float64 {
	return series(-float64(x*x), func(k float64) float64 { return (float64(2*k) - 1) * 2 * k })
}
func sine(x float64) float64 {
	return float64(x * series(-float64(x*x), func(k float64) float64 { return 2 * k * (float64(2*k) + 1) }))
}
func bessel0(x float64) float64 {
	return series(-float64(x*x)/4, func(k float64) float64 { return k * k })
}
func bessel1(x float64) float64 {
	return float64(x / 2 * series(-float64(x*x)/4, func(k float64) float64 { return k * (k + 1) }))
}

// series returns 1 + Σ yᵏ/Π by(i) for k = 1 to 24.
func series(y float64, by func(k float64) float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; k <= 24; k++ {
		term = float64(term * (y / by(k)))
		sum += term
	}
	return sum
}
