package sim

import (
	"math"
	"testing"
)

// cellTwin is a body cell by cell, without any modes: heat capacities, and the
// matrix of conductances with what goes to the medium.
type cellTwin struct {
	c, skin, t []float64
	k          [][]float64
}

func twinOf(p PieceSpec, start, film float64) *cellTwin {
	wide, high := cellsAlong, 1
	if p.Shape == Bar {
		wide, high = cellsSide, cellsSide
	}
	n := wide * high
	w := &cellTwin{c: make([]float64, n), skin: make([]float64, n), t: make([]float64, n), k: square(n)}
	rho, k, cp := p.at(start)
	link := func(i, j int, g float64) {
		w.k[i][i] += g
		w.k[j][j] += g
		w.k[i][j] -= g
		w.k[j][i] -= g
	}
	face := func(i int, area, d float64) { w.skin[i] += area / (1/film + d/2/k) }
	for i := range wide {
		for j := range high {
			at := i*high + j
			w.t[at] = start
			switch p.Shape {
			case Slab:
				d := p.Thickness / 2 / float64(wide)
				w.c[at] = rho * cp * 2 * p.Area * d
				if i < wide-1 {
					link(at, at+1, k*2*p.Area/d)
				} else {
					face(at, 2*p.Area, d)
				}
			case Cylinder:
				d := p.Diameter / 2 / float64(wide)
				round := 2 * math.Pi * p.Length
				out := float64(i+1) * d
				w.c[at] = rho * cp * round * d * (out - d/2)
				if i < wide-1 {
					link(at, at+1, k*round*out/d)
				} else {
					face(at, round*out, d)
				}
			case Bar:
				dx, dy := p.Width/2/float64(wide), p.Height/2/float64(high)
				w.c[at] = rho * cp * 4 * p.Length * dx * dy
				if i < wide-1 {
					link(at, at+high, k*4*p.Length*dy/dx)
				} else {
					face(at, 4*p.Length*dy, dx)
				}
				if j < high-1 {
					link(at, at+1, k*4*p.Length*dx/dy)
				} else {
					face(at, 4*p.Length*dx, dy)
				}
			}
		}
	}
	return w
}

// step is TR-BDF2 of the whole matrix, solved by elimination.
func (w *cellTwin) step(h, air float64) {
	n := len(w.t)
	alpha := h * (2 - math.Sqrt2) / 2
	solve := func(r []float64) []float64 {
		a := square(n)
		for i := range n {
			copy(a[i], w.k[i])
			for j := range a[i] {
				a[i][j] *= alpha
			}
			a[i][i] += w.c[i] + alpha*w.skin[i]
		}
		for p := range n {
			for i := p + 1; i < n; i++ {
				f := a[i][p] / a[p][p]
				if f == 0 {
					continue
				}
				for j := p; j < n; j++ {
					a[i][j] -= f * a[p][j]
				}
				r[i] -= f * r[p]
			}
		}
		for i := n - 1; i >= 0; i-- {
			for j := i + 1; j < n; j++ {
				r[i] -= a[i][j] * r[j]
			}
			r[i] /= a[i][i]
		}
		return r
	}
	r := make([]float64, n)
	for i := range r {
		r[i] = w.c[i]*w.t[i] + alpha*w.skin[i]*(2*air-w.t[i])
		for j, k := range w.k[i] {
			r[i] -= alpha * k * w.t[j]
		}
	}
	mid := solve(r)
	r = make([]float64, n)
	for i := range r {
		r[i] = w.c[i]*((1+math.Sqrt2)/2*mid[i]-(math.Sqrt2-1)/2*w.t[i]) + alpha*w.skin[i]*air
	}
	w.t = solve(r)
}

// A body in its modes is the same body cell by cell. No outside source: the twin
// is the plain way to the same numbers.
func TestBodyIsItsCells(t *testing.T) {
	for _, p := range []PieceSpec{
		{Shape: Slab, Thickness: 0.03, Material: "slate"},
		{Shape: Cylinder, Diameter: 0.08, Material: "cork bark"},
		{Shape: Bar, Width: 0.10, Height: 0.06, Material: "oak"},
	} {
		p = p.WithDefaults()
		// Properties of their own do not change with the temperature.
		p.Density, p.Conductivity, p.HeatCapacity = p.at(20)
		const film = 18.0
		b, w := newBody(p, 20), twinOf(p, 20, film)
		b.properties(film)
		for s := range 90 {
			air := 60 - float64(s%40)
			b.run(20, air, film)
			w.step(20, air)
		}
		heat, all := 0.0, 0.0
		for i, v := range b.cells() {
			if math.Abs(v-w.t[i]) > 1e-9 {
				t.Errorf("shape %d: cell %d is at %.12f °C, its twin at %.12f", p.Shape, i, v, w.t[i])
				break
			}
			heat += w.c[i] * (w.t[i] - 20)
			all += w.c[i]
		}
		near(t, "heat gained, J", b.gained(), heat, 1e-9*heat)
		near(t, "capacity, J/K", b.capacity, all, 1e-9*all)
		near(t, "mean, °C", b.average(), 20+heat/all, 1e-9)
	}
}

// What the body has does not change when its properties are worked out anew.
func TestBodyKeepsItsHeat(t *testing.T) {
	p := PieceSpec{Shape: Bar, Width: 0.10, Height: 0.06, Material: "pine", Moisture: 0.12}.WithDefaults()
	b := newBody(p, 20)
	b.properties(20)
	for range 200 {
		b.run(5, 60, 20)
	}
	before, gained := b.cells(), b.gained()
	b.properties(6)
	near(t, "heat gained, J", b.gained(), gained, 1e-9*gained)
	for i, v := range b.cells() {
		near(t, "cell, °C", v, before[i], 1e-9)
	}
}
