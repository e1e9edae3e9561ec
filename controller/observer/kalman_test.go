package observer

import (
	"math"
	"testing"
)

// kalman is the textbook's filter, written with whole matrices: prediction
// A·P·Aᵀ + Q, correction in Joseph's form (I − K·H)·P·(I − K·H)ᵀ + K·R·Kᵀ,
// which holds for any gain K (Bucy and Joseph 1968, from memory). Gains of the
// tub that are not learned are considered only, as in Schmidt's filter: their
// row of K is zero.
type kalman struct {
	x [4]float64
	p [4][4]float64
}

func (k *kalman) block(h float64, pad [2]float64, y, r float64, q [4]float64, learn bool) {
	a := [4][4]float64{{1, h, h * pad[0], h * pad[1]}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}
	var x [4]float64
	for i := range 4 {
		for j := range 4 {
			x[i] += a[i][j] * k.x[j]
		}
	}
	p := product(product(a, k.p), transposed(a))
	for i := range 4 {
		p[i][i] += q[i] * h
	}
	s := p[0][0] + r
	var gain [4]float64
	for i := range 4 {
		gain[i] = p[i][0] / s
		if i >= 2 {
			gain[i] *= s / (s + 0.006) // K² beside the noise: the bias of learning in a closed loop
			if !learn {
				gain[i] = 0
			}
		}
	}
	var left [4][4]float64
	for i := range 4 {
		left[i][i] = 1
		left[i][0] -= gain[i]
	}
	next := product(product(left, p), transposed(left))
	for i := range 4 {
		for j := range 4 {
			next[i][j] += gain[i] * r * gain[j]
		}
		k.x[i] = x[i] + gain[i]*(y-x[0])
	}
	k.p = next
}

func product(a, b [4][4]float64) (c [4][4]float64) {
	for i := range 4 {
		for j := range 4 {
			for k := range 4 {
				c[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return c
}

func transposed(a [4][4]float64) (b [4][4]float64) {
	for i := range 4 {
		for j := range 4 {
			b[i][j] = a[j][i]
		}
	}
	return b
}

// near says whether two numbers agree to nine digits, zero being as large as
// scale makes it.
func near(a, b, scale float64) bool {
	return math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b), scale)
}

// The filter that the observer runs, with its rows written out, is the
// textbook's: temperature, drift and both gains, and every covariance, block by
// block through cycles, through blocks of other lengths, learning and not.
func TestFilterIsKalmans(t *testing.T) {
	const gain, coast = 6e-4, 120.0
	var f filter
	f.noise = 0.003
	f.prior(gain, coast)
	f.length(10)
	f.begin(29.2)
	twin := kalman{x: f.x, p: f.cov}
	q := [4]float64{0, 0.12 * gain * 0.12 * gain / 600, 0.03 * gain * 0.03 * gain / 86400, 0.03 * gain * 0.03 * gain / 86400}
	r := chance{generator(5)}
	water, pads := 29.2, [2]float64{}
	for k := range 900 {
		h := 10.0
		if k%50 == 49 {
			h = 13
		}
		u := float64(k / 45 % 2)
		f.length(h)
		mean := f.lags(&f.pad, u)
		for i, lag := range [2]float64{40, 240} {
			after := u + (pads[i]-u)*math.Exp(-h/lag)
			if want := (pads[i] + after) / 2; math.Abs(mean[i]-want) > 1e-8 || math.Abs(f.pad[i]-after) > 1e-8 {
				t.Fatalf("block %d: the lag of %v s passes %v on and holds %v, want %v and %v", k, lag, mean[i], f.pad[i], want, after)
			}
			pads[i] = after
		}
		water += h * (1.2*gain*(0.6*mean[0]+0.4*mean[1]) - 3e-4)
		y := water + 0.05*r.gauss()
		learn := k%7 != 3
		f.predict(mean)
		f.weigh(y, learn)
		f.correct()
		twin.block(h, mean, y, 0.003, q, learn)
		for i := range 4 {
			if !near(f.x[i], twin.x[i], 1e-6) {
				t.Fatalf("block %d: state %d is %v, want %v", k, i, f.x[i], twin.x[i])
			}
			for j := range 4 {
				if scale := math.Sqrt(twin.p[i][i] * twin.p[j][j]); !near(f.cov[i][j], twin.p[i][j], scale) {
					t.Fatalf("block %d: covariance %d %d is %v, want %v", k, i, j, f.cov[i][j], twin.p[i][j])
				}
			}
		}
	}
	if g := f.rate(); math.Abs(g/gain-1.2) > 0.1 {
		t.Errorf("it learned %v of the configured gain, want 1.2", g/gain)
	}
}

// Volume and pad power, known to 25 % together, and the coast, known to 20 %,
// are independent; what that makes of the two gains follows by propagation of
// errors through g₁ = g·(1 − w), g₂ = g·w with w = (coast − 40 s)/200 s.
func TestPriorOfTheGainsFollowsFromTheTub(t *testing.T) {
	for _, c := range []struct{ gain, coast float64 }{{6e-4, 120}, {2e-4, 60}, {9e-4, 300}} {
		var f filter
		for i := range states {
			for j := range states {
				f.cov[i][j] = 7 // whatever was there
			}
		}
		f.prior(c.gain, c.coast)
		w := (c.coast - 40) / 200
		vg, vw := math.Pow(0.25*c.gain, 2), math.Pow(0.2*c.coast/200, 2)
		jacobi := [2][2]float64{{1 - w, -c.gain}, {w, c.gain}}
		for i := range 2 {
			for j := range 2 {
				want := jacobi[i][0]*vg*jacobi[j][0] + jacobi[i][1]*vw*jacobi[j][1]
				if got := f.cov[iG1+i][iG1+j]; !near(got, want, 0) {
					t.Errorf("%+v: covariance of gains %d and %d is %v, want %v", c, i+1, j+1, got, want)
				}
				if f.cov[i][iG1+j] != 0 || f.cov[iG1+j][i] != 0 {
					t.Errorf("%+v: temperature and drift know of the gains", c)
				}
			}
		}
		if !near(f.rate(), c.gain, 0) || !near(f.coast(), c.coast, 0) || !near(f.spread(), 0.25, 0) {
			t.Errorf("%+v: gain %v coast %v spread %v", c, f.rate(), f.coast(), f.spread())
		}
		if !near(f.least, 0.4*c.gain, 0) || !near(f.most, 2.5*c.gain, 0) {
			t.Errorf("%+v: bounds %v to %v", c, f.least, f.most)
		}
	}
}

// A filter that begins knows the water as well as one reading does, its drift
// anywhere within one and a half gains, and what it learned of the tub.
func TestFilterBeginsAtTheReading(t *testing.T) {
	var f filter
	f.noise = 0.004
	f.prior(6e-4, 120)
	for i := range states {
		for j := range states {
			if i < iG1 || j < iG1 {
				f.cov[i][j] = 7
			}
		}
	}
	f.x[iD] = 3
	f.sum, f.blocks = 2, 5
	gains := f.cov[iG1]
	f.begin(28.5)
	if f.x[iT] != 28.5 || f.x[iD] != 0 || f.sum != 0 || f.blocks != 0 {
		t.Errorf("it begins at %v, drifting %v", f.x[iT], f.x[iD])
	}
	if f.cov[iT][iT] != 0.004 || !near(f.cov[iD][iD], math.Pow(1.5*6e-4, 2), 0) {
		t.Errorf("variances %v and %v", f.cov[iT][iT], f.cov[iD][iD])
	}
	for i := range states {
		for j := range states {
			if i != j && (i < iG1 || j < iG1) && f.cov[i][j] != 0 {
				t.Errorf("covariance %d %d is %v", i, j, f.cov[i][j])
			}
		}
	}
	if f.cov[iG1][iG1] != gains[iG1] || f.cov[iG1][iG2] != gains[iG2] {
		t.Error("what was learned of the tub is lost")
	}
}

// The coast that the two gains mix to stays within what any tub can have.
func TestCoastOfTheMixture(t *testing.T) {
	for _, c := range []struct{ short, long, want float64 }{
		{1, 0, 40}, {0, 1, 240}, {1, 1, 140}, {1.2, -0.2, 25}, {-1, 2, 420}, {-0.5, 1.5, 340},
	} {
		f := filter{x: [states]float64{iG1: c.short * 1e-4, iG2: c.long * 1e-4}}
		if got := f.coast(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("parts %v and %v: coast %v s, want %v", c.short, c.long, got, c.want)
		}
	}
}

// A gain that leaves its bounds is put back on them with both its parts in
// their ratio, and one that is within is left alone.
func TestGainIsPutBackInRatio(t *testing.T) {
	for _, c := range []struct{ gain, want float64 }{{0.39, 0.4}, {0.41, 0.41}, {2.49, 2.49}, {2.6, 2.5}, {0.4, 0.4}, {2.5, 2.5}} {
		var f filter
		f.noise = 0.003
		f.prior(1e-3, 120)
		f.x[iG1], f.x[iG2] = 0.75*c.gain*1e-3, 0.25*c.gain*1e-3
		f.correct() // nothing was weighed: only the bounds act
		if !near(f.rate(), c.want*1e-3, 0) || !near(f.x[iG1], 3*f.x[iG2], 0) {
			t.Errorf("a gain of %v becomes %v + %v, want %v in the ratio of three", c.gain, f.x[iG1], f.x[iG2], c.want*1e-3)
		}
	}
}

// The noise follows the innovations once in eighteen blocks: unchanged when they
// are what they should be, down when they are smaller, up by at most as much
// as a square clipped at four makes it, and never past its bounds.
func TestNoiseFollowsTheInnovations(t *testing.T) {
	for _, c := range []struct {
		name        string
		noise       float64
		innovations func(k int) float64 // in standard deviations
		want        float64
	}{
		{"as they should be", 0.003, func(int) float64 { return math.Sqrt(0.83 / 18) }, 0.003},
		{"none", 0.003, func(int) float64 { return 0 }, 0.003 * math.Exp(-0.02*0.83)},
		{"of both signs", 0.003, func(k int) float64 { return float64(1 - k%2*2) }, 0.003 * math.Exp(-0.02*0.83)},
		{"twice", 0.003, func(int) float64 { return 2 * math.Sqrt(0.83/18) }, 0.003 * math.Exp(0.02*3*0.83)},
		{"far too large", 0.003, func(int) float64 { return 5 }, 0.003 * math.Exp(0.02*(4-0.83))},
		{"none, at the least", 0.001, func(int) float64 { return 0 }, 0.001},
		{"far too large, at the most", 0.05, func(int) float64 { return 5 }, 0.05},
	} {
		f := filter{noise: c.noise, s: 0.0004}
		for k := range 18 {
			if f.noise != c.noise {
				t.Errorf("%s: it moved after %d blocks", c.name, k)
			}
			f.nu = c.innovations(k) * math.Sqrt(f.s)
			f.adapt()
		}
		// exp to second order, which is what the code claims to within 5e-5.
		if math.Abs(f.noise/c.want-1) > 5e-5 {
			t.Errorf("%s: noise %v, want %v", c.name, f.noise, c.want)
		}
		if f.sum != 0 || f.blocks != 0 {
			t.Errorf("%s: the next window does not begin empty", c.name)
		}
	}
}

// A variance that rounding has made negative is none.
func TestSpreadOfARoundedVariance(t *testing.T) {
	var f filter
	f.x[iG1], f.cov[iG1][iG2] = 1e-3, -1e-12
	if f.spread() != 0 {
		t.Errorf("a spread of %v", f.spread())
	}
}
