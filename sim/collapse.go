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

type stepped struct {
	t            state
	lost, vapour float64
}

// apply runs one step from t.
func (c *collapsed) apply(t *state, pad, room, sun float64) (out stepped) {
	if pad != c.pad || room != c.room || sun != c.sun {
		c.hold(pad, room, sun)
	}
	t0, t1, t2, t3, t4, t5, t6, t7, t8 := t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7], t[8]
	for i := range nodes {
		m := &c.at[i]
		out.t[i] = ((float64(m[0]*t0) + float64(m[1]*t1)) + (float64(m[2]*t2) + float64(m[3]*t3))) +
			((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[i])
	}
	m := &c.at[rowLost]
	out.lost = ((float64(m[0]*t0) + float64(m[3]*t3)) + (float64(m[1]*t1) + float64(m[2]*t2))) +
		((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[rowLost])
	m = &c.at[rowVapour]
	out.vapour = ((float64(m[0]*t0) + float64(m[3]*t3)) + (float64(m[1]*t1) + float64(m[2]*t2))) +
		((float64(m[4]*t4) + float64(m[5]*t5)) + (float64(m[6]*t6) + float64(m[7]*t7))) + (float64(m[8]*t8) + c.held[rowVapour])
	return out
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
// With A = C − αJ, α = γh/2, X = A⁻¹C and y = A⁻¹b, the stages of the constant
// network C·T' = J·T + b are
//
//	Tγ = (2X − 1)·T + 2α·y
//	T₁ = X·(w₁Tγ − w₂T) + α·y,  w₁ = (1+√2)/2, w₂ = (√2−1)/2
//
// and the mean over the step, which fluxes are taken at, is
// (√2/4)(T + Tγ) + (1 − √2/2)·T₁. The step and the fluxes over it are worked out
// apart, so that a wrong step does not balance.
func (c *collapsed) collapse(n *network, heat *state, h float64) {
	const gamma = 2 - math.Sqrt2
	alpha := 0.5 * gamma * h
	var inv [nodes]state
	for i := range inv {
		for j := range inv[i] {
			inv[i][j] = -float64(alpha * n.at[i][j])
		}
		inv[i][i] += heat[i]
	}
	invert(&inv)

	// Columns of the inputs: fixed, pad, room, sun.
	var y [nodes]inputs
	for i := range inv {
		a := &inv[i]
		var f, r float64
		for j := range a {
			f += float64(a[j] * n.fixed[j])
			r += float64(a[j] * n.room[j])
		}
		y[i] = inputs{f, a[pad], r, float64(sunLower*a[lower]) + float64((1-sunLower)*a[upper])}
	}
	for i := range inv {
		for j := range inv[i] {
			inv[i][j] *= heat[j]
		}
	}
	x := &inv
	for i := range nodes {
		xi := &x[i]
		var square state
		in := inputs{}
		for k := range xi {
			f := xi[k]
			xk, yk := &x[k], &y[k]
			for j := range square {
				square[j] += float64(f * xk[j])
			}
			in.add(f, yk)
		}
		// T₁ = ((1+√2)·X² − √2·X)·T + α·((1+√2)·X + 1)·y.
		m := &c.at[i]
		for j := range square {
			m[j] = float64((1+math.Sqrt2)*square[j]) - float64(math.Sqrt2*xi[j])
		}
		sum := inputs{}
		sum.add(float64(alpha*(1+math.Sqrt2)), &in)
		sum.add(alpha, &y[i])
		c.in[i] = sum
	}
	c.flux(rowLost, &n.lost, x, &y, h, alpha)
	c.flux(rowVapour, &n.vapour, x, &y, h, alpha)
	c.hold(c.pad, c.room, c.sun)
}

func (in *inputs) add(f float64, b *inputs) {
	in.fixed += float64(f * b.fixed)
	in.pad += float64(f * b.pad)
	in.room += float64(f * b.room)
	in.sun += float64(f * b.sun)
}

// flux works out a boundary's flow over the step from the stages' temperatures:
// r·mean + the part that does not depend on them, times h.
func (c *collapsed) flux(to int, r *row, x *[nodes]state, y *[nodes]inputs, h, alpha float64) {
	const (
		early = math.Sqrt2 / 4
		late  = 1 - math.Sqrt2/2
	)
	m, in := state{}, inputs{fixed: r.fixed, room: r.room}
	for i := range nodes {
		f := r.at[i]
		if f == 0 {
			continue
		}
		// Tγ = 2X·T − T + 2α·y; T counts with early − early = 0 beside X.
		two, last := float64(2*early*f), float64(late*f)
		xi, mi := &x[i], &c.at[i]
		for j := range m {
			m[j] += float64(two*xi[j]) + float64(last*mi[j])
		}
		in.add(float64(two*alpha), &y[i])
		in.add(last, &c.in[i])
	}
	for j := range m {
		m[j] *= h
	}
	c.at[to] = m
	c.in[to] = inputs{in.fixed * h, in.pad * h, in.room * h, in.sun * h}
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
		for i := range a {
			if i == k {
				continue
			}
			ri := &a[i]
			f := ri[k]
			if f == 0 {
				continue
			}
			ri[k] = 0
			for j := range ri {
				ri[j] -= float64(f * rk[j])
			}
		}
	}
}
