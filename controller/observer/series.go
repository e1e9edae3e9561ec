package observer

import "math"

// decay is exp(−x) for x ≥ 0, from multiplications and divisions alone, so
// that it gives the same bits on every processor (math.Exp does not). Argument
// reduction by 2^10, five Taylor terms, ten squarings: relative error under
// 1e-9 for x up to 20, beyond which it is as good as 0.
func decay(x float64) float64 {
	if x >= 40 {
		return 0
	}
	y := x / 1024
	e := 1 - float64(y/5)
	e = 1 - float64(float64(y/4)*e)
	e = 1 - float64(float64(y/3)*e)
	e = 1 - float64(float64(y/2)*e)
	e = 1 - float64(y*e)
	for range 10 {
		e = e * e
	}
	return e
}

// cubeRoot is the cube root of v > 0 by Newton's iteration; from a start
// within a factor of two, six rounds settle the last bit but one.
func cubeRoot(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	_, exponent := math.Frexp(v)
	x := math.Ldexp(1, exponent/3)
	for range 8 {
		x = (float64(2*x) + v/float64(x*x)) / 3
	}
	return x
}

// generator is PCG-XSH-RR 64/32 (O'Neill 2014); its whole state is one number,
// so that a saved observer goes on with the same jitter.
type generator uint64

// unit is the next number in [0, 1).
func (g *generator) unit() float64 {
	old := uint64(*g)
	*g = generator(old*6364136223846793005 + 1442695040888963407)
	x := uint32(((old >> 18) ^ old) >> 27)
	r := uint32(old >> 59)
	return float64(x>>r|x<<(-r&31)) / (1 << 32)
}

// clamp keeps v within low…high.
func clamp(v, low, high float64) float64 {
	if v < low {
		return low
	}
	if v > high {
		return high
	}
	return v
}

// left is what h seconds leave of a time that runs down.
func left(t, h float64) float64 {
	if t > h {
		return t - h
	}
	return 0
}
