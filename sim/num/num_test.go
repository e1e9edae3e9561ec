package num

import (
	"math"
	"math/big"
	"testing"
)

// The reference is the standard library, itself within one unit in the last
// place (1.1e-16 to 2.2e-16 relative).

func TestExpAgreesWithTheStandardLibrary(t *testing.T) {
	n := NewNoise(1, 1)
	worst := 0.0
	for range 300000 {
		x := n.Between(-700, 700)
		if n.Below(2) == 0 {
			x = n.Between(-2, 2)
		}
		worst = max(worst, math.Abs(Exp(x)/math.Exp(x)-1))
	}
	if worst > 4.5e-16 {
		t.Errorf("relative error %g, want at most 4.5e-16", worst)
	}
	for x, want := range map[float64]float64{0: 1, 710: math.Inf(1), -746: 0, math.Inf(-1): 0} {
		if got := Exp(x); got != want {
			t.Errorf("Exp(%g) = %g, want %g", x, got, want)
		}
	}
	if !math.IsNaN(Exp(math.NaN())) {
		t.Error("Exp(NaN) is a number")
	}
	if got := Exp(-740); got <= 0 || math.Abs(got/math.Exp(-740)-1) > 0.1 {
		t.Errorf("Exp(-740) = %g, want %g", got, math.Exp(-740))
	}
}

func TestLogAgreesWithTheStandardLibrary(t *testing.T) {
	n := NewNoise(2, 1)
	worst := 0.0
	for range 300000 {
		x := math.Exp(n.Between(-700, 700))
		if n.Below(2) == 0 {
			x = n.Between(0.3, 3)
		}
		if x == 1 {
			continue
		}
		worst = max(worst, math.Abs(Log(x)/math.Log(x)-1))
	}
	if worst > 4.5e-16 {
		t.Errorf("relative error %g, want at most 4.5e-16", worst)
	}
	if Log(1) != 0 || !math.IsInf(Log(0), -1) || !math.IsNaN(Log(-1)) || !math.IsInf(Log(math.Inf(1)), 1) {
		t.Error("Log at 1, 0, -1 or +Inf is wrong")
	}
}

func TestCbrtAgainstExactCubes(t *testing.T) {
	n := NewNoise(3, 1)
	for range 100000 {
		x := math.Ldexp(n.Between(1, 2), n.Below(2000)-1000)
		y := Cbrt(x)
		// (y³ − x)/(3x) in 200 bits is the relative error of y.
		cube := new(big.Float).SetPrec(200).SetFloat64(y)
		square := new(big.Float).SetPrec(200).Mul(cube, cube)
		cube.Mul(square, cube).Sub(cube, new(big.Float).SetFloat64(x)).Quo(cube, new(big.Float).SetFloat64(x))
		relative, _ := cube.Float64()
		if math.Abs(relative/3) > 4.5e-16 {
			t.Fatalf("Cbrt(%g): relative error %g", x, relative/3)
		}
	}
	for _, x := range []float64{27, -8, 0} {
		if got := Cbrt(x); float64(got*float64(got*got)) != x {
			t.Errorf("Cbrt(%g) = %g", x, got)
		}
	}
	if got := Cbrt(5e-324); math.Abs(got/math.Cbrt(5e-324)-1) > 1e-15 {
		t.Errorf("Cbrt(5e-324) = %g", got)
	}
}

func TestPow(t *testing.T) {
	for _, c := range []struct{ x, y float64 }{{1.02, -40}, {0.95, -19.6}, {2, 0.5}, {10, 3}} {
		if got, want := Pow(c.x, c.y), math.Pow(c.x, c.y); math.Abs(got/want-1) > 1e-14 {
			t.Errorf("Pow(%g, %g) = %g, want %g", c.x, c.y, got, want)
		}
	}
}

func TestNoiseIsFixedBySeedAndStream(t *testing.T) {
	a, b, other := NewNoise(7, 1), NewNoise(7, 1), NewNoise(7, 2)
	same := 0
	for range 1000 {
		x := a.Gauss()
		if x != b.Gauss() {
			t.Fatal("one seed and stream gave two sequences")
		}
		if x == other.Gauss() {
			same++
		}
	}
	if same > 5 {
		t.Errorf("two streams agree %d times in 1000", same)
	}
}

// Moments of the Gaussian: mean 0, variance 1, and the kurtosis 3 − 1.2/12 of
// a sum of twelve uniforms (excess −6/5 over the count of them).
func TestGaussMoments(t *testing.T) {
	n := NewNoise(11, 3)
	const count = 400000
	var m1, m2, m4 float64
	for range count {
		x := n.Gauss()
		m1 += x
		m2 += x * x
		m4 += x * x * x * x
	}
	m1, m2, m4 = m1/count, m2/count, m4/count
	if math.Abs(m1) > 0.008 || math.Abs(m2-1) > 0.01 || math.Abs(m4/(m2*m2)-2.9) > 0.04 {
		t.Errorf("mean %g, variance %g, kurtosis %g; want 0, 1, 2.9", m1, m2, m4/(m2*m2))
	}
}

func TestUniformFillsItsRange(t *testing.T) {
	n := NewNoise(5, 5)
	var bins [10]int
	for range 100000 {
		u := n.Uniform()
		if u < 0 || u >= 1 {
			t.Fatalf("Uniform gave %g", u)
		}
		bins[int(u*10)]++
	}
	for i, c := range bins {
		if c < 9500 || c > 10500 {
			t.Errorf("bin %d has %d of 100000", i, c)
		}
	}
	if n.Below(0) != 0 || n.Below(-3) != 0 {
		t.Error("Below without a range is not 0")
	}
	for range 1000 {
		if v := n.Below(3); v < 0 || v > 2 {
			t.Fatalf("Below(3) gave %d", v)
		}
		if v := n.Between(-2, -1); v < -2 || v >= -1 {
			t.Fatalf("Between(-2, -1) gave %g", v)
		}
	}
}

func BenchmarkExp(b *testing.B) {
	x := 0.0
	for i := range b.N {
		x += Exp(float64(i&15) * -0.1)
	}
	sink = x
}

func BenchmarkCbrt(b *testing.B) {
	x := 0.0
	for i := range b.N {
		x += Cbrt(float64(i&15) + 0.1)
	}
	sink = x
}

var sink float64
