package sim

import "math"

// collapsed is one step of a network as a matrix: TR-BDF2 (Bank and others 1985;
// Hosea and Shampine 1996), second order, L-stable, with γ = 2 − √2 so that both
// of its stages share one matrix. Pad, room and sun enter as columns, so a relay
// that switches costs nothing.
type collapsed struct {
	at   [nodes]effect // of each node
	in   inputs
	held effect // in·input of the inputs below, kept while they last
	pad  float64
	room float64
	sun  float64
	by   shares // of a refresh; here, so that it need not be cleared
}

// effect is what something does in a step: to the nodes, and then to what is lost,
// J, and to the vapour that left, kg.
type effect [rows]float64

const (
	rowLost   = nodes
	rowVapour = nodes + 1
	rows      = nodes + 2
)

// inputs are the effects of what drives a network: of nothing, of a watt of the
// pad, of a degree of the room, of a watt of sun.
type inputs struct{ fixed, pad, room, sun effect }

// apply runs one step from t to next and returns what was lost, J, and the
// vapour that left, kg.
func (c *collapsed) apply(t, next *state, pad, room, sun float64) (lost, vapour float64) {
	if pad != c.pad || room != c.room || sun != c.sun {
		c.pad, c.room, c.sun = pad, room, sun
		hold(c)
	}
	return advance(&c.at, &c.held, t, next)
}

// sunLower is the share of the sun that the lower half takes up, with the floor
// and the animal in it.
const sunLower = 0.5

// collapse works out the step of h seconds of the network n over the heat
// capacities c.
//
// With A = C − αJ, α = γh/2 and X = A⁻¹C, the stages of the constant network
// C·T' = J·T + b are
//
//	Tγ = (2X − 1)·T + 2α·X·C⁻¹b
//	T₁ = X·(w₁Tγ − w₂T) + α·X·C⁻¹b,  w₁ = (1+√2)/2, w₂ = (√2−1)/2
//	   = ((1+√2)X² − √2X)·T + α((1+√2)X² + X)·C⁻¹b
//
// and the mean over the step, which fluxes are taken at, is
// (√2/4)(T + Tγ) + (1 − √2/2)·T₁. The step and the fluxes over it are worked out
// apart, so that a wrong step does not balance.
func (c *collapsed) collapse(n *network, heat *state, h float64) {
	const gamma = 2 - math.Sqrt2
	alpha := 0.5 * gamma * h
	var x [nodes]state
	for i := range x {
		x[i].scale(-alpha, &n.at[i])
		x[i][i] += heat[i]
	}
	invert(&x)
	// What each input does to a node by itself, K/s: the columns of C⁻¹b.
	var in columns
	for j := range heat {
		per := 1 / heat[j]
		in.fixed[j] = float64(n.fixed[j] * per)
		in.room[j] = float64(n.room[j] * per)
		in.per[j] = per
	}
	by := &c.by
	for i := range x {
		by.enter(i, &x[i], heat)
	}
	stages(c, by, &in, alpha)
	for i := range nodes {
		c.in.pad[i] = float64(by.e[pad][i] * in.per[pad])
		c.in.sun[i] = sunShare(by.e[lower][i], by.e[upper][i], &in.per)
	}
	c.flux(rowLost, &n.lost, &by.x, &in, h, alpha)
	c.flux(rowVapour, &n.vapour, &by.x, &in, h, alpha)
	hold(c)
}

// columns are the inputs of a network over its heat capacities.
type columns struct{ fixed, room, per state }

// shares are the columns of X, of (1+√2)X, and of what turns the inputs' columns
// into their effects.
type shares struct{ x, wide, e [nodes]effect }

// sunShare is what the sun does through its shares in lower and upper water.
func sunShare(low, up float64, per *state) float64 {
	return float64(sunLower*float64(low*per[lower])) + float64((1-sunLower)*float64(up*per[upper]))
}

// flux works out a boundary's flow over the step from the stages' temperatures:
// r·mean + the part that does not depend on them, times h.
func (c *collapsed) flux(to int, r *row, x *[nodes]effect, cols *columns, h, alpha float64) {
	const (
		early = math.Sqrt2 / 4
		late  = 1 - math.Sqrt2/2
	)
	// Of the mean, T counts with early − early = 0 beside Tγ = 2X·T − T + ….
	var m, through state
	in := &c.in
	fixed, ofPad, room, sun := r.fixed, 0.0, r.room, 0.0
	for i := range nodes {
		f := r.at[i]
		if f == 0 {
			continue
		}
		two, last := float64(2*early*f), float64(late*f)
		through.less(x, i, -two)
		m.less(&c.at, i, -last)
		fixed += float64(last * in.fixed[i])
		ofPad += float64(last * in.pad[i])
		room += float64(last * in.room[i])
		sun += float64(last * in.sun[i])
	}
	var stageFixed, stageRoom float64
	for j := range m {
		stageFixed += float64(through[j] * cols.fixed[j])
		stageRoom += float64(through[j] * cols.room[j])
		c.at[j][to] = float64(h * (m[j] + through[j]))
	}
	in.fixed[to] = float64(h * (fixed + float64(alpha*stageFixed)))
	in.pad[to] = float64(h * (ofPad + float64(alpha*float64(through[pad]*cols.per[pad]))))
	in.room[to] = float64(h * (room + float64(alpha*stageRoom)))
	in.sun[to] = float64(h * (sun + float64(alpha*sunShare(through[lower], through[upper], &cols.per))))
}

// enter writes row i of A⁻¹ times the heat capacities.
func (s *shares) enter(i int, row, heat *state) {
	s.x[0][i] = float64(row[0] * heat[0])
	s.x[1][i] = float64(row[1] * heat[1])
	s.x[2][i] = float64(row[2] * heat[2])
	s.x[3][i] = float64(row[3] * heat[3])
	s.x[4][i] = float64(row[4] * heat[4])
	s.x[5][i] = float64(row[5] * heat[5])
	s.x[6][i] = float64(row[6] * heat[6])
	s.x[7][i] = float64(row[7] * heat[7])
	s.x[8][i] = float64(row[8] * heat[8])
}

// less takes f·row i of m from a.
func (a *state) less(m *[nodes]effect, i int, f float64) {
	a[0] -= float64(f * m[0][i])
	a[1] -= float64(f * m[1][i])
	a[2] -= float64(f * m[2][i])
	a[3] -= float64(f * m[3][i])
	a[4] -= float64(f * m[4][i])
	a[5] -= float64(f * m[5][i])
	a[6] -= float64(f * m[6][i])
	a[7] -= float64(f * m[7][i])
	a[8] -= float64(f * m[8][i])
}

// scale sets a to f·b.
func (a *state) scale(f float64, b *state) {
	a[0] = float64(f * b[0])
	a[1] = float64(f * b[1])
	a[2] = float64(f * b[2])
	a[3] = float64(f * b[3])
	a[4] = float64(f * b[4])
	a[5] = float64(f * b[5])
	a[6] = float64(f * b[6])
	a[7] = float64(f * b[7])
	a[8] = float64(f * b[8])
}
