package sim

import "math"

// step is TR-BDF2 (see collapsed) in each mode of a body by itself, where it is a
// number. With α = γh/2, the rate λ and the skin s of a mode, u of it in the body
// and the medium at a₀, a_γ and a₁,
//
//	x  = (1 − αλ)/(1 + αλ)·u + αs/(1 + αλ)·a₀, and u_γ = x + αs/(1 + αλ)·a_γ
//	y  = (w₁·u_γ − w₂·u)/(1 + αλ),             and u₁ = y + αs/(1 + αλ)·a₁
//
// The medium needs Σs·x and Σs·y before it knows a_γ and a₁; both are sums over u,
// and known at the step's beginning.
type step struct {
	span  float64   // s, that it is for; 0 for none
	give  []float64 // s times u's part of x
	give2 []float64 // s times u's part of y
	keep  []float64 // u's part of y
	early []float64 // what a₀ and a_γ add to y
	late  []float64 // what a_γ adds to u_γ, and a₁ to u₁
	lift  float64   // Σs·late
	lift2 float64   // Σs·early
	now   float64   // Σs·u
	one   float64   // u's part of Σs·x
	two   float64   // u's part of Σs·y
	airs  float64   // a₀, then a₀ + a_γ
}

func (s *step) make(n int) {
	for _, v := range []*[]float64{&s.give, &s.give2, &s.keep, &s.early, &s.late} {
		*v = make([]float64, n)
	}
}

// prepare works out a step of h seconds.
func (s *step) prepare(h float64, rate, skin []float64) {
	const w1, w2 = (1 + math.Sqrt2) / 2, (math.Sqrt2 - 1) / 2
	const gamma = 2 - math.Sqrt2
	alpha := 0.5 * gamma * h
	s.span, s.lift, s.lift2 = h, 0, 0
	for m, r := range rate {
		part := 1 / (1 + float64(alpha*r))
		first := (1 - float64(alpha*r)) * part
		s.late[m] = alpha * skin[m] * part
		s.keep[m] = (float64(w1*first) - w2) * part
		s.early[m] = w1 * s.late[m] * part
		s.give[m], s.give2[m] = skin[m]*first, skin[m]*s.keep[m]
		s.lift += float64(skin[m] * s.late[m])
		s.lift2 += float64(skin[m] * s.early[m])
	}
}

// look takes the sums over what is in the body now.
func (s *step) look(much, skin []float64) {
	skin, give, give2 := skin[:len(much)], s.give[:len(much)], s.give2[:len(much)]
	var now, one, two float64
	for m, v := range much {
		now += float64(skin[m] * v)
		one += float64(give[m] * v)
		two += float64(give2[m] * v)
	}
	s.now, s.one, s.two = now, one, two
}
