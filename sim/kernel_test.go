package sim

import (
	"math"
	"testing"

	"soakwarden/sim/num"
)

// draw fills with what a network has, or with what none has: zeros of both signs,
// the smallest and the largest numbers, infinities and no number at all.
func draw(n *num.Noise, wild bool, to ...[]float64) {
	odd := [...]float64{0, math.Copysign(0, -1), 5e-324, -1e-310, 1e-160, 1e160, -math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), 1, -1}
	for _, values := range to {
		for i := range values {
			values[i] = n.Between(-3, 3)
			if n.Below(4) == 0 {
				values[i] = 0
			}
			if wild && n.Below(3) == 0 {
				values[i] = odd[n.Below(len(odd))]
			}
		}
	}
}

// differ says where two lists of numbers have other bits; two that are no numbers
// are the same.
func differ(a, b []float64) int {
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) && !(math.IsNaN(a[i]) && math.IsNaN(b[i])) {
			return i
		}
	}
	return -1
}

// What this processor runs gives the bits of what every processor can run.
// Source: IEEE 754, clause 5.1: each operation has one right result.
func TestKernelsGiveTheSameBits(t *testing.T) {
	n := num.NewNoise(8, 8)
	for round := range 20000 {
		wild := round%4 == 0
		var a, b collapsed
		var ours, theirs [nodes]state
		var in columns
		for k := range nodes {
			draw(n, wild, a.at[k][:], a.by.x[k][:], ours[k][:])
			ours[k][k] += 4
		}
		draw(n, wild, a.in.fixed[:], a.in.pad[:], a.in.room[:], a.in.sun[:], in.fixed[:], in.room[:])
		a.pad, a.room, a.sun = n.Between(-1, 40), n.Between(-20, 40), float64(n.Below(2))*n.Between(0, 20)
		b, theirs = a, ours

		hold(&a)
		holdAny(&b)
		if i := differ(a.held[:], b.held[:]); i >= 0 {
			t.Fatalf("round %d: of what is held, place %d is %v, want %v", round, i, a.held[i], b.held[i])
		}
		var x, y state
		lost, vapour := advance(&a.at, &a.held, &ours[0], &x)
		lostAny, vapourAny := advanceAny(&b.at, &b.held, &ours[0], &y)
		if i := differ(append(x[:], lost, vapour), append(y[:], lostAny, vapourAny)); i >= 0 {
			t.Fatalf("round %d: after a step, place %d is %v, want %v", round, i, x, y)
		}
		invert(&ours)
		invertAny(&theirs)
		for k := range ours {
			if i := differ(ours[k][:], theirs[k][:]); i >= 0 {
				t.Fatalf("round %d: of the inverse, %d, %d is %v, want %v", round, k, i, ours[k][i], theirs[k][i])
			}
		}
		alpha := n.Between(0.1, 2)
		stages(&a, &a.by, &in, alpha)
		stagesAny(&b, &b.by, &in, alpha)
		for k := range nodes {
			for _, pair := range [][2][]float64{{a.at[k][:], b.at[k][:]}, {a.by.e[k][:nodes], b.by.e[k][:nodes]}} {
				if i := differ(pair[0], pair[1]); i >= 0 {
					t.Fatalf("round %d: of column %d, place %d is %v, want %v", round, k, i, pair[0][i], pair[1][i])
				}
			}
		}
		if i := differ(append(a.in.fixed[:], a.in.room[:]...), append(b.in.fixed[:], b.in.room[:]...)); i >= 0 {
			t.Fatalf("round %d: of what the inputs do, place %d differs", round, i)
		}
	}
}
