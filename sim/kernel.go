package sim

import "math"

// The loops that most of a step and of a refresh is, as every processor can run
// them.

// advanceAny is the sum of held and of the effects of the nodes at t.
func advanceAny(at *[nodes]effect, held *effect, t, next *state) (lost, vapour float64) {
	t0, t1, t2, t3, t4, t5, t6, t7, t8 := t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7], t[8]
	for i := range nodes {
		next[i] = ((float64(at[0][i]*t0) + float64(at[1][i]*t1)) + (float64(at[2][i]*t2) + float64(at[3][i]*t3))) +
			((float64(at[4][i]*t4) + float64(at[5][i]*t5)) + (float64(at[6][i]*t6) + float64(at[7][i]*t7))) + (float64(at[8][i]*t8) + held[i])
	}
	var out [2]float64
	for k := range out {
		i := nodes + k
		out[k] = ((float64(at[0][i]*t0) + float64(at[3][i]*t3)) + (float64(at[1][i]*t1) + float64(at[2][i]*t2))) +
			((float64(at[4][i]*t4) + float64(at[5][i]*t5)) + (float64(at[6][i]*t6) + float64(at[7][i]*t7))) + (float64(at[8][i]*t8) + held[i])
	}
	return out[0], out[1]
}

// holdAny works out the inputs' share of a step.
func holdAny(c *collapsed) {
	in := &c.in
	for i := range c.held {
		c.held[i] = in.fixed[i] + float64(in.pad[i]*c.pad) + float64(in.room[i]*c.room) + float64(in.sun[i]*c.sun)
	}
}

// stagesAny writes the step of the nodes, (1+√2)X² − √2X, what turns an input into
// its effect, α((1+√2)X² + X), and the effects of nothing and of the room.
func stagesAny(c *collapsed, by *shares, in *columns, alpha float64) {
	for k := range nodes {
		for i := range nodes {
			by.wide[k][i] = float64((1 + math.Sqrt2) * by.x[k][i])
		}
	}
	var fixed, room state
	for j := range nodes {
		var s0, s1, s2, s3, s4, s5, s6, s7, s8 float64
		for k := range nodes {
			f, m := by.x[j][k], &by.wide[k]
			s0 += float64(f * m[0])
			s1 += float64(f * m[1])
			s2 += float64(f * m[2])
			s3 += float64(f * m[3])
			s4 += float64(f * m[4])
			s5 += float64(f * m[5])
			s6 += float64(f * m[6])
			s7 += float64(f * m[7])
			s8 += float64(f * m[8])
		}
		s := state{s0, s1, s2, s3, s4, s5, s6, s7, s8}
		x, to, e := &by.x[j], &c.at[j], &by.e[j]
		for i := range s {
			e[i] = float64(alpha * (s[i] + x[i]))
			to[i] = s[i] - float64(math.Sqrt2*x[i])
			fixed[i] += float64(e[i] * in.fixed[j])
			room[i] += float64(e[i] * in.room[j])
		}
	}
	copy(c.in.fixed[:], fixed[:])
	copy(c.in.room[:], room[:])
}

// invertAny replaces a by its inverse. Columns of a thermal network's matrix are
// dominated by the diagonal, so it needs no pivoting.
func invertAny(a *[nodes]state) {
	for k := range a {
		p := 1 / a[k][k]
		rk := &a[k]
		rk[k] = 1
		for j := range rk {
			rk[j] *= p
		}
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
