package sim

import "math"

// collapsed is one step of a network as a matrix: TR-BDF2 (Bank and others 1985;
// Hosea and Shampine 1996), second order, L-stable, with γ = 2 − √2 so that both
// of its stages share one matrix. Pad, room and sun enter as columns, so a relay
// that switches costs nothing.
type collapsed struct {
	at   [rows]state
	in   [rows]inputs
	held [rows]float64 // in·input of the inputs below, kept while they last
	pad  float64
	room float64
	sun  float64
}

// rows are the nodes, then what is lost, J, and the vapour that left, kg.
const (
	rowLost   = nodes
	rowVapour = nodes + 1
	rows      = nodes + 2
)

type inputs struct{ fixed, pad, room, sun float64 }

// apply runs one step from t to next and returns what was lost, J, and the
// vapour that left, kg.
func (c *collapsed) apply(t, next *state, pad, room, sun float64) (lost, vapour float64) {
	if pad != c.pad || room != c.room || sun != c.sun {
		c.hold(pad, room, sun)
	}
	t0, t1, t2, t3, t4, t5, t6, t7, t8 := t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7], t[8]
	for i := range nodes {
		m := &c.at[i]
		next[i] = ((float64(m[0]*t0) + float64(m[1]*t1)) + (float64(m[2]*t2) + float64(m[3]*t3))) +
			((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[i])
	}
	m := &c.at[rowLost]
	lost = ((float64(m[0]*t0) + float64(m[3]*t3)) + (float64(m[1]*t1) + float64(m[2]*t2))) +
		((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[rowLost])
	m = &c.at[rowVapour]
	vapour = ((float64(m[0]*t0) + float64(m[3]*t3)) + (float64(m[1]*t1) + float64(m[2]*t2))) +
		((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[rowVapour])
	return lost, vapour
}

// hold works out the inputs' share of a step.
func (c *collapsed) hold(pad, room, sun float64) {
	c.pad, c.room, c.sun = pad, room, sun
	for i := range c.in {
		in := &c.in[i]
		c.held[i] = in.fixed + float64(in.pad*pad) + float64(in.room*room) + float64(in.sun*sun)
	}
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
	for i := range x {
		x[i].stretch(heat)
	}
	for i := range x {
		c.step(i, &x, &in, alpha)
	}
	c.flux(rowLost, &n.lost, &x, &in, h, alpha)
	c.flux(rowVapour, &n.vapour, &x, &in, h, alpha)
	c.hold(c.pad, c.room, c.sun)
}

// columns are the inputs of a network over its heat capacities.
type columns struct{ fixed, room, per state }

// of returns the inputs seen through the row e.
func (c *columns) of(e *state) inputs {
	fixed, room := 0.0, 0.0
	fixed += float64(e[0] * c.fixed[0])
	room += float64(e[0] * c.room[0])
	fixed += float64(e[1] * c.fixed[1])
	room += float64(e[1] * c.room[1])
	fixed += float64(e[2] * c.fixed[2])
	room += float64(e[2] * c.room[2])
	fixed += float64(e[3] * c.fixed[3])
	room += float64(e[3] * c.room[3])
	fixed += float64(e[4] * c.fixed[4])
	room += float64(e[4] * c.room[4])
	fixed += float64(e[5] * c.fixed[5])
	room += float64(e[5] * c.room[5])
	fixed += float64(e[6] * c.fixed[6])
	room += float64(e[6] * c.room[6])
	fixed += float64(e[7] * c.fixed[7])
	room += float64(e[7] * c.room[7])
	fixed += float64(e[8] * c.fixed[8])
	room += float64(e[8] * c.room[8])
	return inputs{fixed, float64(e[pad] * c.per[pad]), room,
		float64(sunLower*float64(e[lower]*c.per[lower])) + float64((1-sunLower)*float64(e[upper]*c.per[upper]))}
}

// flux works out a boundary's flow over the step from the stages' temperatures:
// r·mean + the part that does not depend on them, times h.
func (c *collapsed) flux(to int, r *row, x *[nodes]state, cols *columns, h, alpha float64) {
	const (
		early = math.Sqrt2 / 4
		late  = 1 - math.Sqrt2/2
	)
	// Of the mean, T counts with early − early = 0 beside Tγ = 2X·T − T + ….
	var m, through state
	in := inputs{fixed: r.fixed, room: r.room}
	for i := range nodes {
		f := r.at[i]
		if f == 0 {
			continue
		}
		two, last := float64(2*early*f), float64(late*f)
		through.less(&x[i], -two)
		m.less(&c.at[i], -last)
		own := &c.in[i]
		in.fixed += float64(last * own.fixed)
		in.pad += float64(last * own.pad)
		in.room += float64(last * own.room)
		in.sun += float64(last * own.sun)
	}
	stage := cols.of(&through)
	for j := range m {
		c.at[to][j] = float64(h * (m[j] + through[j]))
	}
	c.in[to] = inputs{
		float64(h * (in.fixed + float64(alpha*stage.fixed))), float64(h * (in.pad + float64(alpha*stage.pad))),
		float64(h * (in.room + float64(alpha*stage.room))), float64(h * (in.sun + float64(alpha*stage.sun))),
	}
}

// invert replaces a by its inverse. Columns of a thermal network's matrix are
// dominated by the diagonal, so it needs no pivoting.
func invert(a *[nodes]state) {
	for k := range a {
		p := 1 / a[k][k]
		rk := &a[k]
		rk[k] = 1
		for j := range rk {
			rk[j] *= p
		}
		// Written out, because it is most of a refresh.
		b0, b1, b2, b3, b4, b5, b6, b7, b8 := rk[0], rk[1], rk[2], rk[3], rk[4], rk[5], rk[6], rk[7], rk[8]
		for i := range a {
			ri := &a[i]
			f := ri[k]
			if i == k || f == 0 {
				continue
			}
			ri[k] = 0
			ri[0] -= float64(f * b0)
			ri[1] -= float64(f * b1)
			ri[2] -= float64(f * b2)
			ri[3] -= float64(f * b3)
			ri[4] -= float64(f * b4)
			ri[5] -= float64(f * b5)
			ri[6] -= float64(f * b6)
			ri[7] -= float64(f * b7)
			ri[8] -= float64(f * b8)
		}
	}
}

// less takes f·b from a.
func (a *state) less(b *state, f float64) {
	a[0] -= float64(f * b[0])
	a[1] -= float64(f * b[1])
	a[2] -= float64(f * b[2])
	a[3] -= float64(f * b[3])
	a[4] -= float64(f * b[4])
	a[5] -= float64(f * b[5])
	a[6] -= float64(f * b[6])
	a[7] -= float64(f * b[7])
	a[8] -= float64(f * b[8])
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

// stretch takes each of a times that of b.
func (a *state) stretch(b *state) {
	a[0] *= b[0]
	a[1] *= b[1]
	a[2] *= b[2]
	a[3] *= b[3]
	a[4] *= b[4]
	a[5] *= b[5]
	a[6] *= b[6]
	a[7] *= b[7]
	a[8] *= b[8]
}

// step works out row i of the step from X, and what the inputs do in it.
func (c *collapsed) step(i int, x *[nodes]state, in *columns, alpha float64) {
	// Written out, because with invert it is most of a refresh.
	r := &x[i]
	var s0, s1, s2, s3, s4, s5, s6, s7, s8 float64
	for k := range x {
		f, b := float64((1+math.Sqrt2)*r[k]), &x[k]
		s0 += float64(f * b[0])
		s1 += float64(f * b[1])
		s2 += float64(f * b[2])
		s3 += float64(f * b[3])
		s4 += float64(f * b[4])
		s5 += float64(f * b[5])
		s6 += float64(f * b[6])
		s7 += float64(f * b[7])
		s8 += float64(f * b[8])
	}
	c.in[i] = in.of(&state{
		float64(alpha * (s0 + r[0])), float64(alpha * (s1 + r[1])), float64(alpha * (s2 + r[2])),
		float64(alpha * (s3 + r[3])), float64(alpha * (s4 + r[4])), float64(alpha * (s5 + r[5])),
		float64(alpha * (s6 + r[6])), float64(alpha * (s7 + r[7])), float64(alpha * (s8 + r[8])),
	})
	c.at[i] = state{
		s0 - float64(math.Sqrt2*r[0]), s1 - float64(math.Sqrt2*r[1]), s2 - float64(math.Sqrt2*r[2]),
		s3 - float64(math.Sqrt2*r[3]), s4 - float64(math.Sqrt2*r[4]), s5 - float64(math.Sqrt2*r[5]),
		s6 - float64(math.Sqrt2*r[6]), s7 - float64(math.Sqrt2*r[7]), s8 - float64(math.Sqrt2*r[8]),
	}
}
