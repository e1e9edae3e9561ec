package sim

import "math"

// Cells in a body: enough that the core's time to target is within 0.5 % of
// the exact series (see the tests).
const (
	cellsAlong = 20 // in a slab or cylinder, from the middle to the surface
	cellsSide  = 10 // of a quarter of a bar, each way
)

// body is a piece resolved in depth: finite volumes from its middle to its
// surface. A bar is a quarter of its section, wide × high cells. It is kept as
// how much of each mode is in it, because each goes its own way; the modes of a
// bar are the products of those across its width and of those up its height.
type body struct {
	spec       PieceSpec
	wide, high int
	film       float64 // W/m²K, that the modes are for
	mean       float64 // °C, that the properties are for
	half       float64 // resistance of half a cell in the width, m²K/W

	across, up modes
	size       float64   // by which heat and skin must be taken for J/K and W/K
	rate       []float64 // of each mode, width by width; the next two likewise
	heat, skin []float64
	rows       [][]float64 // what each mode adds to the cells along the width, in the middle of the height
	capacity   float64     // J/K
	conducts   float64     // W/K, to the medium
	much       []float64   // of each mode
	held       float64     // heat over 0 °C, in units of size
	then       float64     // the same when the properties began
	before     float64     // J that came before that

	step step
}

func newBody(spec PieceSpec, start float64) *body {
	b := &body{spec: spec, wide: cellsAlong, high: 1, mean: start}
	if spec.Shape == Bar {
		b.wide, b.high = cellsSide, cellsSide
	}
	n := b.wide * b.high
	for _, s := range []*[]float64{&b.rate, &b.heat, &b.skin, &b.much} {
		*s = make([]float64, n)
	}
	b.step.make(n)
	b.rows = make([][]float64, b.wide)
	for i := range b.rows {
		b.rows[i] = make([]float64, n)
	}
	return b
}

// properties gives the body those it has at its mean temperature and film.
func (b *body) properties(film float64) {
	t := b.cells()
	b.film, b.mean = film, b.average()
	b.before = b.gained()
	rho, k, cp := b.spec.at(b.mean)
	b.half = b.spec.halfSize() / 2 / float64(b.wide) / k
	b.up = single()
	switch b.spec.Shape {
	case Slab:
		b.across = evenModes(b.wide, b.spec.Thickness/2, rho*cp, k, film)
		b.size = 2 * b.spec.Area
	case Cylinder:
		dr := b.spec.Diameter / 2 / float64(b.wide)
		round := 2 * math.Pi * b.spec.Length
		c, link := make([]float64, b.wide), make([]float64, b.wide)
		for i := range b.wide {
			out := float64(float64(i+1) * dr)
			c[i] = rho * cp * round * dr * (out - float64(dr/2))
			link[i] = k * round * out / dr
		}
		b.across = modesOf(c, link, round*b.spec.Diameter/2/(1/film+dr/2/k))
		b.size = 1
	case Bar:
		b.across = evenModes(b.wide, b.spec.Width/2, rho*cp, k, film)
		b.up = evenModes(b.high, b.spec.Height/2, rho*cp, k, film)
		// Both hold a heat capacity, and a cell's is their product.
		b.size = 4 * b.spec.Length / (rho * cp)
	}
	b.multiply()
	b.take(t)
	b.then = b.held
	b.step.span = 0
}

// evenModes are those of n even cells over a depth m, for each m² of face.
func evenModes(n int, depth, capacity, k, film float64) modes {
	d := depth / float64(n)
	c, link := make([]float64, n), make([]float64, n)
	for i := range n {
		c[i], link[i] = capacity*d, k/d
	}
	return modesOf(c, link, 1/(1/film+d/2/k))
}

// multiply makes the body's modes of those of its directions.
func (b *body) multiply() {
	b.capacity, b.conducts = 0, 0
	for k := range b.wide {
		for l := range b.high {
			m := k*b.high + l
			x, y := &b.across, &b.up
			b.rate[m] = x.rate[k] + y.rate[l]
			b.heat[m] = float64(x.heat[k] * y.heat[l])
			b.skin[m] = float64(x.skin[k]*y.heat[l]) + float64(x.heat[k]*y.skin[l])
			b.capacity += float64(b.size * float64(b.heat[m]*b.heat[m]))
			b.conducts += float64(b.size * float64(b.skin[m]*b.heat[m]))
			middle := y.shape[l][0]
			if b.high > 1 {
				middle += float64((middle - y.shape[l][1]) / 8) // by symmetry a parabola
			}
			for i := range b.rows {
				b.rows[i][m] = float64(x.shape[k][i] * middle)
			}
		}
	}
}

// cells returns the temperature of every cell, °C, width by width; nil before the
// body has any modes.
func (b *body) cells() []float64 {
	if b.across.rate == nil {
		return nil
	}
	t := make([]float64, b.wide*b.high)
	for k := range b.wide {
		for l := range b.high {
			much := b.much[k*b.high+l]
			for i := range b.wide {
				part := float64(much * b.across.shape[k][i])
				for j := range b.high {
					t[i*b.high+j] += float64(part * b.up.shape[l][j])
				}
			}
		}
	}
	return t
}

// take gives the body the temperatures of its cells; without any it is as warm as
// its mean all through.
func (b *body) take(t []float64) {
	b.held = 0
	for k := range b.wide {
		for l := range b.high {
			m := k*b.high + l
			b.much[m] = float64(b.heat[m] * b.mean)
			if t != nil {
				sum := 0.0
				for i := range b.wide {
					of := float64(b.across.cell[i] * b.across.shape[k][i])
					for j := range b.high {
						sum += float64(float64(of*float64(b.up.cell[j]*b.up.shape[l][j])) * t[i*b.high+j])
					}
				}
				b.much[m] = sum
			}
			b.held += float64(b.heat[m] * b.much[m])
		}
	}
}

// average returns the mean temperature, °C.
func (b *body) average() float64 {
	if b.capacity == 0 {
		return b.mean
	}
	return float64(b.size*b.held) / b.capacity
}

// gained returns the heat that came since the start, J.
func (b *body) gained() float64 { return b.before + float64(b.size*(b.held-b.then)) }

// gives returns the conductance to the medium times the temperatures under it, W.
func (b *body) gives() float64 { return float64(b.size * b.step.now) }

// run runs the body for h seconds in a medium of constant temperature.
func (b *body) run(h, medium, film float64) {
	b.ready(h, film)
	b.first(medium)
	b.second(medium)
	b.finish(medium)
}

// ready sees to it that properties and step are those of the step to come, and
// says whether they are others than before.
func (b *body) ready(h, film float64) (changed bool) {
	if film != b.film || math.Abs(b.average()-b.mean) > 1 {
		b.properties(film)
	}
	if changed = h != b.step.span; changed {
		b.step.prepare(h, b.rate, b.skin)
	}
	b.step.look(b.much, b.skin)
	return changed
}

// first begins a step with the medium at air: what gives returns once the first
// stage is over, but for what the medium does at γ (see step.lift).
func (b *body) first(air float64) float64 {
	b.step.airs = air
	return float64(b.size * (b.step.one + float64(b.step.lift*air)))
}

// second takes the medium at γ and begins the second stage.
func (b *body) second(air float64) float64 {
	b.step.airs += air
	return float64(b.size * (b.step.two + float64(b.step.lift2*b.step.airs)))
}

// finish takes the medium at the end of the step.
func (b *body) finish(air float64) {
	s := &b.step
	much := b.much
	keep, early, late, heat := s.keep[:len(much)], s.early[:len(much)], s.late[:len(much)], b.heat[:len(much)]
	held := 0.0
	for m, v := range much {
		v = float64(keep[m]*v) + float64(early[m]*s.airs) + float64(late[m]*air)
		much[m] = v
		held += float64(heat[m] * v)
	}
	b.held = held
}

// at returns the temperature of cell i along the width, in the middle of the
// height, °C.
func (b *body) at(i int) float64 {
	sum := 0.0
	row := b.rows[i][:len(b.much)]
	for m, v := range b.much {
		sum += float64(row[m] * v)
	}
	return sum
}

// core returns the temperature at the very middle: by symmetry the curve
// there is a parabola.
func (b *body) core() float64 {
	inner := b.at(0)
	return inner + float64((inner-b.at(1))/8)
}

// surfaceIn returns the temperature of the surface in a medium: for a bar, in
// the middle of the face across its width.
func (b *body) surfaceIn(medium float64) float64 {
	return (float64(medium*b.half) + float64(b.at(b.wide-1)*(1/b.film))) / (b.half + 1/b.film)
}

// depthAt returns the temperature at a depth m under the surface (of a bar, under
// the middle of the face across its width) in a medium.
func (b *body) depthAt(depth, medium float64) float64 {
	cell := b.spec.halfSize() / float64(b.wide)
	// Distance from the middle in cells, then between the cells' middles.
	x := max(0, b.spec.halfSize()-depth)/cell - 0.5
	switch {
	case x <= 0:
		low, high := b.core(), b.at(0)
		return low + float64((high-low)*max(0, 2*(x+0.5)))
	case x >= float64(b.wide-1):
		low, high := b.at(b.wide-1), b.surfaceIn(medium)
		return low + float64((high-low)*min(1, 2*(x-float64(b.wide-1))))
	}
	i := int(x)
	low, high := b.at(i), b.at(i+1)
	return low + float64((high-low)*(x-float64(i)))
}
