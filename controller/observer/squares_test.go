package observer

import (
	"math"
	"testing"
)

// leastSquares fits y with the columns by Gram and Schmidt, and returns the last
// column's coefficient, the variance of it for unit noise, and the sum of
// squared residuals.
func leastSquares(y []float64, columns ...[]float64) (coefficient, variance, residual float64) {
	var base [][]float64
	var norm2 float64
	dot := func(a, b []float64) (s float64) {
		for i := range a {
			s += a[i] * b[i]
		}
		return s
	}
	for _, c := range columns {
		q := append([]float64(nil), c...)
		for range 2 { // twice is enough
			for _, b := range base {
				p := dot(q, b)
				for i := range q {
					q[i] -= p * b[i]
				}
			}
		}
		norm2 = dot(q, q)
		for i := range q {
			q[i] /= math.Sqrt(norm2)
		}
		base = append(base, q)
	}
	rest := append([]float64(nil), y...)
	for _, b := range base {
		p := dot(rest, b)
		for i := range rest {
			rest[i] -= p * b[i]
		}
		coefficient = p / math.Sqrt(norm2)
	}
	return coefficient, 1 / norm2, dot(rest, rest)
}

// past is what a trace was shown, block by block.
type past struct {
	tr             trace
	t, y, cmd, sur []float64 // s, °C, K by command, K by a weld beyond it
}

func (p *past) add(h, y, cmd, weld float64) {
	n := len(p.t)
	last := func(list []float64) float64 {
		if n == 0 {
			return 0
		}
		return list[n-1]
	}
	p.t, p.y = append(p.t, last(p.t)+h), append(p.y, y)
	p.cmd, p.sur = append(p.cmd, last(p.cmd)+h*cmd), append(p.sur, last(p.sur)+h*weld)
	p.tr.add(h, y, cmd, weld)
}

// window gives the last n blocks: a constant, the time, what is to be explained
// and the story's own column.
func (p *past) window(n int, s story) (one, t, z, x []float64) {
	for i := len(p.t) - min(n, len(p.t), 300); i < len(p.t); i++ {
		one, t = append(one, 1), append(t, p.t[i])
		if s == welded {
			z, x = append(z, p.y[i]-p.cmd[i]), append(x, p.sur[i])
		} else {
			z, x = append(z, p.y[i]), append(x, p.cmd[i])
		}
	}
	return one, t, z, x
}

// pasts shows a trace waters of several kinds, and looks at windows of so many
// blocks as often as every says.
func pasts(every int, windows []int, look func(name string, p *past, n int)) {
	for _, c := range []struct {
		name        string
		obeys, weld float64 // shares of command and of a weld that reach the water
		noise, bend float64
	}{
		{"obedient", 1, 0, 0.03, 0},
		{"obedient, lid off half way", 1, 0, 0.03, -9e-4},
		{"welded", 1, 1, 0.03, 0},
		{"dead", 0, 0, 0.03, 0},
		{"dead, in the sun", 0, 0, 0.03, 5e-4},
		{"strong", 1.4, 0, 0.03, 0},
		{"wild", 1, 0, 0.4, 0},
	} {
		r := chance{generator(len(c.name))}
		var p past
		water := 29.0
		for k := range 420 {
			h := 10 + float64(k%3)
			cmd, weld := 0.0, 3e-4*float64(k/17%2)
			if k/23%2 == 1 {
				cmd, weld = 6e-4, 0
			}
			slope := -3e-4
			if k%140 > 100 {
				slope += c.bend
			}
			water += h * (c.obeys*cmd + c.weld*weld + slope)
			p.add(h, water+c.noise*r.gauss(), cmd, weld)
			if k%every == 0 || k == 11 || k == 12 || k > 20 && k < 30 {
				for _, n := range windows {
					look(c.name, &p, n)
				}
			}
		}
	}
}

// The fit is the least squares solution of line and story, worked out with whole
// columns, wherever in the ring the window lies.
func TestFitIsLeastSquares(t *testing.T) {
	const r = 0.002
	looks := 0
	pasts(29, []int{11, 12, 60, 144, 299, 300, 400}, func(name string, p *past, n int) {
		for _, s := range []story{welded, scaled} {
			phi, variance := p.tr.fit(n, s, r)
			one, at, z, x := p.window(n, s)
			if len(one) < 12 {
				if variance != unknown {
					t.Fatalf("%s: %d blocks say something", name, len(one))
				}
				continue
			}
			want, of, _ := leastSquares(z, one, at, x)
			if r*of >= unknown || math.IsNaN(want) {
				if variance != unknown {
					t.Fatalf("%s, %d blocks, story %d: no switch in it, and variance %v", name, n, s, variance)
				}
				continue
			}
			looks++
			if math.Abs(phi-want) > 1e-6*max(1, math.Abs(want)) || math.Abs(variance/(r*of)-1) > 1e-6 {
				t.Fatalf("%s, %d blocks, story %d: %v with variance %v, want %v with %v", name, n, s, phi, variance, want, r*of)
			}
		}
	})
	if looks < 500 {
		t.Errorf("only %d fits were compared", looks)
	}
}

// A vote is half the difference of the two stories' residual squares over the
// noise, each with its best straight line, or with one bend on one of sixteen
// moments where that gains more than 6.9 nats; nothing when neither fits, and at
// most eight.
func TestVoteIsTheBetterStoryWithItsBestBend(t *testing.T) {
	for _, r := range []float64{0.0009, 0.002} {
		votes, silent, full, bent := 0, 0, 0, 0
		pasts(67, []int{11, 12, 60, 144, 400}, func(name string, p *past, n int) {
			for _, s := range []story{welded, dead} {
				got, size := p.tr.compare(n, s, r)
				one, at, z, x := p.window(n, s)
				m := len(one)
				if m < 12 {
					if got != 0 || size != 0 {
						t.Fatalf("%s: %d blocks vote", name, m)
					}
					continue
				}
				// The command's story takes out of the water what the command
				// brought, the weld's what a weld brings beyond, the dead pad's
				// nothing.
				a, b := append([]float64(nil), z...), append([]float64(nil), z...)
				for i := range a {
					if s == welded {
						b[i] -= x[i]
					} else {
						a[i] -= x[i]
					}
				}
				best := func(y []float64) (residual, bend float64) {
					_, _, residual = leastSquares(y, one, at)
					for k := 1; k <= 16; k++ {
						// The moments part the window into seventeen.
						hinge := make([]float64, m)
						long := at[m-1] - at[0]
						for i := range hinge {
							hinge[i] = max(0, at[i]-at[m-1]+long*float64(k)/17)
						}
						of, _, v := leastSquares(y, one, at, hinge)
						if v += 2 * 6.9 * r; v < residual {
							residual, bend = v, of
						}
					}
					return residual, bend
				}
				bestA, bendA := best(a)
				bestB, _ := best(b)
				want, bend := clamp((bestA-bestB)/(2*r), -8, 8), bendA
				if min(bestA, bestB) > 2*float64(m)*r {
					want, bend = 0, 0
					silent++
				} else {
					votes++
				}
				if math.Abs(want) == 8 {
					full++
				}
				if bend != 0 {
					bent++
				}
				if math.Abs(got-want) > 1e-5 || math.Abs(size-bend) > 1e-8 {
					t.Fatalf("%s, %d blocks, story %d, noise %v: vote %v with a bend of %v, want %v with %v", name, n, s, r, got, size, want, bend)
				}
			}
		})
		if votes < 60 || full < 5 || bent < 5 || r < 0.001 && silent < 10 {
			t.Errorf("noise %v: %d votes, %d full, %d with a bend, %d times nothing", r, votes, full, bent, silent)
		}
	}
}

// A trace that was cleared begins anew and keeps nothing.
func TestTraceBeginsAnew(t *testing.T) {
	var p past
	for range 40 {
		p.add(10, 29, 6e-4, 0)
	}
	p.tr.clear()
	if p.tr != (trace{}) {
		t.Error("a cleared trace holds something")
	}
}
