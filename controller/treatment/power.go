package treatment

import "math"

// Constants of powerOfTen; ln 2 in two parts, the first of which times any
// exponent that can occur is exact.
const (
	log2Ten = 3.32192809488736234787
	lnTwoHi = 6.93147180369123816490e-01
	lnTwoLo = 1.90821492927058770002e-10
	lnTen   = 2.30258509299404568402
	lnTenLo = -2.1707562233822494e-16 // ln 10 minus lnTen
)

// powerOfTen is 10 to the x, right to a few units in the last place and the
// same on every processor: it is made of operations that are exactly rounded,
// and nothing in it is fused.
func powerOfTen(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 300:
		return math.Inf(1)
	case x < -300:
		return 0
	}
	n := math.RoundToEven(float64(x * log2Ten))
	// 10^x = 2^n · e^r; x·ln 10 − n·ln 2 without losing digits: the product is
	// split, so that its rounding error is kept.
	p := float64(x * lnTen)
	e := math.FMA(x, lnTen, -p)
	r := p - float64(n*lnTwoHi)
	r += e - float64(n*lnTwoLo) + float64(x*lnTenLo)
	sum := 1.0
	for k := 14; k >= 1; k-- {
		sum = 1 + float64(float64(r*sum)/float64(k))
	}
	return math.Ldexp(sum, int(n))
}
