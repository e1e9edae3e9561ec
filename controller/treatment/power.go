package treatment

import "math"

// Constants of powerOfTen; the logarithm of two in two parts, the first of which
// times any exponent that can occur is exact.
const (
	log2Ten  = 3.32192809488736234787
	logTwoHi = 0.30102999560767785 // 34 bits of it
	logTwoLo = 5.630334806675098e-11
	lnTen    = 2.30258509299404568402
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
	// 10^x = 2^n · 10^r, and x − n·log 2 loses no digits.
	r := x - float64(n*logTwoHi)
	r -= float64(n * logTwoLo)
	r = float64(r * lnTen)
	sum := 1.0
	for k := 14; k >= 1; k-- {
		sum = 1 + float64(float64(r*sum)/float64(k))
	}
	return math.Ldexp(sum, int(n))
}
