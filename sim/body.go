package sim

import "math"

// Cells in a body: enough that the core's time to target is within 0.5 % of
// the exact series (see the tests).
const (
	cellsAlong = 20 // in a slab or cylinder, from the middle to the surface
	cellsSide  = 10 // of a quarter of a bar, each way
)

// body is a piece resolved in depth: finite volumes from its middle to its
// surface. A bar is a quarter of its section, wide × high cells.
type body struct {
	spec       PieceSpec
	wide, high int
	film       float64 // W/m²K, that the conductances are for
	mean       float64 // °C, that the properties are for
	alpha      float64 // s, that the factors are for

	t    []float64 // °C
	cap  []float64 // J/K
	far  []float64 // W/K to the cell one further out in the width
	near []float64 // W/K to the next in the height
	skin []float64 // W/K to the medium

	// Factors of C + αK: a band matrix, band = high.
	diag []float64
	over []float64 // 1 over diag
	band []float64
	lift []float64 // what a kelvin of the medium does to the solution

	rhs, mid []float64
	stored   float64 // J since the start
}

func newBody(spec PieceSpec, start float64) *body {
	b := &body{spec: spec, wide: cellsAlong, high: 1, mean: start}
	if spec.Shape == Bar {
		b.wide, b.high = cellsSide, cellsSide
	}
	n := b.wide * b.high
	for _, s := range []*[]float64{&b.t, &b.cap, &b.far, &b.near, &b.skin, &b.diag, &b.over, &b.lift, &b.rhs, &b.mid} {
		*s = make([]float64, n)
	}
	b.band = make([]float64, n*b.high)
	for i := range b.t {
		b.t[i] = start
	}
	return b
}

// properties gives the body those it has at its mean temperature and film.
func (b *body) properties(film float64) {
	b.film, b.mean = film, b.average()
	rho, k, cp := b.spec.at(b.mean)
	for i := range b.t {
		b.far[i], b.near[i], b.skin[i] = 0, 0, 0
	}
	switch b.spec.Shape {
	case Slab:
		dx := b.spec.Thickness / 2 / float64(b.wide)
		area := 2 * b.spec.Area
		for i := range b.wide {
			b.cap[i] = rho * cp * area * dx
			b.far[i] = k * area / dx
		}
		b.surface(b.wide-1, area, dx, k, film)
		b.far[b.wide-1] = 0
	case Cylinder:
		dr := b.spec.Diameter / 2 / float64(b.wide)
		round := 2 * math.Pi * b.spec.Length
		for i := range b.wide {
			out := float64(float64(i+1) * dr)
			b.cap[i] = rho * cp * round * dr * (out - float64(dr/2))
			b.far[i] = k * round * out / dr
		}
		b.surface(b.wide-1, round*b.spec.Diameter/2, dr, k, film)
		b.far[b.wide-1] = 0
	case Bar:
		dx, dy := b.spec.Width/2/float64(b.wide), b.spec.Height/2/float64(b.high)
		deep := 4 * b.spec.Length
		for i := range b.t {
			b.cap[i] = rho * cp * deep * dx * dy
			if i/b.high < b.wide-1 {
				b.far[i] = k * deep * dy / dx
			} else {
				b.surface(i, deep*dy, dx, k, film)
			}
			if i%b.high < b.high-1 {
				b.near[i] = k * deep * dx / dy
			} else {
				b.surface(i, deep*dx, dy, k, film)
			}
		}
	}
	b.alpha = 0
}

// surface adds a face of area to cell i, half a cell of d m under it.
func (b *body) surface(i int, area, d, k, film float64) {
	b.skin[i] += area / (1/film + d/2/k)
}

func (b *body) average() float64 {
	sum, all := 0.0, 0.0
	for i, c := range b.cap {
		sum += float64(c * b.t[i])
		all += c
	}
	if all == 0 {
		return b.mean
	}
	return sum / all
}

// factor works out the factors of A = C + αK (LDLᵀ in a band) and the lift.
func (b *body) factor(alpha float64) {
	b.alpha = alpha
	w := b.high
	for i := range b.t {
		b.diag[i] = b.cap[i] + float64(alpha*(b.far[i]+b.near[i]+b.skin[i]))
		if i >= w {
			b.diag[i] += float64(alpha * b.far[i-w])
		}
		if i > 0 {
			b.diag[i] += float64(alpha * b.near[i-1])
		}
		// band[i·w + m] is the entry between i and i−w+m, so that a row and the
		// values it meets run the same way.
		row := b.band[i*w : (i+1)*w]
		for m := range row {
			row[m] = 0
		}
		if w > 1 && i > 0 {
			row[w-1] = -float64(alpha * b.near[i-1])
		}
		if i >= w {
			row[0] = -float64(alpha * b.far[i-w])
		}
	}
	for i := range b.t {
		row := b.band[i*w : (i+1)*w]
		for m := max(0, w-i); m < w; m++ {
			j := i - w + m
			v := row[m]
			// What the columns before have already taken up.
			for k := max(0, w-i); k < m; k++ {
				if at := w + k - m; at >= 0 {
					v -= float64(row[k] * float64(b.band[j*w+at]*b.diag[i-w+k]))
				}
			}
			row[m] = v / b.diag[j]
		}
		for m := max(0, w-i); m < w; m++ {
			b.diag[i] -= float64(row[m] * float64(row[m]*b.diag[i-w+m]))
		}
	}
	for i := range b.t {
		b.over[i] = 1 / b.diag[i]
		b.lift[i] = float64(alpha * b.skin[i])
	}
	b.solve(b.lift)
}

// solve replaces r by A⁻¹r.
func (b *body) solve(r []float64) {
	w := b.high
	for i := range r {
		from := max(0, i-w)
		row, seg := b.band[i*w+w-(i-from):(i+1)*w], r[from:i]
		seg = seg[:len(row)]
		// Two sums, because one would wait for itself.
		even, odd := 0.0, 0.0
		m := 0
		for ; m+1 < len(row); m += 2 {
			even += float64(row[m] * seg[m])
			odd += float64(row[m+1] * seg[m+1])
		}
		if m < len(row) {
			even += float64(row[m] * seg[m])
		}
		r[i] -= even + odd
	}
	for i, o := range b.over {
		r[i] = float64(r[i] * o)
	}
	for i := len(r) - 1; i >= 0; i-- {
		from := max(0, i-w)
		row, seg, v := b.band[i*w+w-(i-from):(i+1)*w], r[from:i], r[i]
		seg = seg[:len(row)]
		for m, l := range row {
			seg[m] -= float64(l * v)
		}
	}
}

// first begins a step of TR-BDF2 with the medium at air: the solution of its
// first stage but for lift × the medium at γ. It returns skin · solution.
func (b *body) first(air float64) float64 {
	w := b.high
	for i := range b.t {
		b.rhs[i] = float64(b.cap[i]*b.t[i]) + float64(b.alpha*float64(b.skin[i]*(air-b.t[i])))
	}
	for i := range b.t {
		if g := b.far[i]; g != 0 {
			q := float64(b.alpha * float64(g*(b.t[i]-b.t[i+w])))
			b.rhs[i] -= q
			b.rhs[i+w] += q
		}
		if g := b.near[i]; g != 0 {
			q := float64(b.alpha * float64(g*(b.t[i]-b.t[i+1])))
			b.rhs[i] -= q
			b.rhs[i+1] += q
		}
	}
	b.solve(b.rhs)
	return b.through(b.rhs)
}

// second takes the medium at γ and begins the second stage.
func (b *body) second(air float64) float64 {
	const w1, w2 = (1 + math.Sqrt2) / 2, (math.Sqrt2 - 1) / 2
	for i := range b.t {
		b.mid[i] = b.rhs[i] + float64(b.lift[i]*air)
		b.rhs[i] = float64(b.cap[i] * (float64(w1*b.mid[i]) - float64(w2*b.t[i])))
	}
	b.solve(b.rhs)
	return b.through(b.rhs)
}

// finish takes the medium at the end of the step.
func (b *body) finish(air float64) {
	for i := range b.t {
		next := b.rhs[i] + float64(b.lift[i]*air)
		b.stored += float64(b.cap[i] * (next - b.t[i]))
		b.t[i] = next
	}
}

func (b *body) through(x []float64) float64 {
	sum := 0.0
	for i, g := range b.skin {
		sum += float64(g * x[i])
	}
	return sum
}

// step runs the body for h seconds in a medium of constant temperature.
func (b *body) step(h, medium, film float64) {
	b.ready(h, film)
	b.first(medium)
	b.second(medium)
	b.finish(medium)
}

// ready sees to it that properties and factors are those of the step to come.
func (b *body) ready(h, film float64) {
	if film != b.film || math.Abs(b.average()-b.mean) > 1 {
		b.properties(film)
	}
	const gamma = 2 - math.Sqrt2
	if alpha := 0.5 * gamma * h; alpha != b.alpha {
		b.factor(alpha)
	}
}

// core returns the temperature at the very middle: by symmetry the curve
// there is a parabola.
func (b *body) core() float64 { return b.middle(func(i int) float64 { return b.at(i, 0) }) }

func (b *body) at(i, j int) float64 {
	if b.high == 1 {
		return b.t[i]
	}
	// Through the middle of the other direction.
	return b.t[i*b.high+j] + float64((b.t[i*b.high+j]-b.t[i*b.high+j+1])/8)
}

func (b *body) middle(at func(i int) float64) float64 { return at(0) + float64((at(0)-at(1))/8) }

// surfaceIn returns the temperature of the surface in a medium: for a bar, in
// the middle of the face across its width.
func (b *body) surfaceIn(medium float64) float64 {
	outer := b.at(b.wide-1, 0)
	k := b.half()
	return (float64(medium*k) + float64(outer*(1/b.film))) / (k + 1/b.film)
}

// half returns the resistance of half a cell in the width, m²K/W.
func (b *body) half() float64 {
	_, k, _ := b.spec.at(b.mean)
	return b.spec.halfSize() / 2 / float64(b.wide) / k
}

// depthAt returns the temperature at a depth m under the surface (of a bar, under
// the middle of the face across its width) in a medium.
func (b *body) depthAt(depth, medium float64) float64 {
	cell := b.spec.halfSize() / float64(b.wide)
	// Distance from the middle in cells, then between the cells' middles.
	x := max(0, b.spec.halfSize()-depth)/cell - 0.5
	switch {
	case x <= 0:
		low, high := b.core(), b.at(0, 0)
		return low + float64((high-low)*max(0, 2*(x+0.5)))
	case x >= float64(b.wide-1):
		low, high := b.at(b.wide-1, 0), b.surfaceIn(medium)
		return low + float64((high-low)*min(1, 2*(x-float64(b.wide-1))))
	}
	i := int(x)
	low, high := b.at(i, 0), b.at(i+1, 0)
	return low + float64((high-low)*(x-float64(i)))
}
