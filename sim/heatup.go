package sim

import (
	"fmt"
	"math"
)

// HeatupSpec asks how long one piece takes until its core has a temperature.
type HeatupSpec struct {
	Piece  PieceSpec
	Start  float64 // °C, all through
	Medium float64 // °C, of the air, water or steam around it
	Film   float64 // W/m²K between the two: about 10 in still air (radiation included), 20 to 30 with a fan, 200 and more in condensing steam or stirred water
	Target float64 // °C, for the core
	After  float64 // s: report core and surface at this moment; 0 means when the core reaches the target
}

// HeatupResult is the answer.
type HeatupResult struct {
	Reached bool
	Seconds float64 // until the core has the target; 0 when it is not reached
	Core    float64 // °C, at After or at Seconds (or at the end of the search)
	Surface float64 // °C, at the same moment
	At      float64 // s, that moment
	Curve   []HeatupPoint
}

// HeatupPoint is one point of the curve.
type HeatupPoint struct{ Seconds, Core, Surface float64 }

// Check says what is wrong with the question and what to write instead.
func (h HeatupSpec) Check() error {
	if err := h.Piece.Check(); err != nil {
		return err
	}
	if h.Target < 0 && h.Start > h.Target {
		if err := h.Piece.freezable(); err != nil {
			return err
		}
	}
	for _, b := range []struct {
		name     string
		v        float64
		low, top float64
		unit     string
	}{
		{"start", h.Start, -200, 1200, "°C"},
		{"medium", h.Medium, -200, 1200, "°C"},
		{"target", h.Target, -200, 1200, "°C"},
		{"film", h.Film, 0.5, 50000, "W/m²K"},
		{"after", h.After, 0, 3e7, "s"},
	} {
		// Written so that NaN fails it.
		if !(b.v >= b.low && b.v <= b.top) {
			return fmt.Errorf("heatup: %s is %g %s, write %g to %g %s", b.name, b.v, b.unit, b.low, b.top, b.unit)
		}
	}
	return nil
}

// longestHeatup ends the search: a year.
const longestHeatup = 365 * 86400.0

// Heatup works out how long a piece takes to heat or cool to its core, and the
// curve to there. A target that lies beyond the medium is never reached: that
// is an answer and not an error.
//
// It is conduction alone. Wet wood in dry air is held back by what evaporates
// from it, and takes longer than this says; free water that must freeze takes
// so much longer that such a question is refused.
func Heatup(h HeatupSpec) (HeatupResult, error) {
	if err := h.Check(); err != nil {
		return HeatupResult{}, err
	}
	h.Piece = h.Piece.WithDefaults()
	b := newBody(h.Piece, h.Start)
	b.properties(h.Film)
	rho, k, cp := h.Piece.at((h.Start + h.Medium) / 2)
	thin := h.Piece.thin()
	// A five-hundredth of the time scale of the body: half its thickness through
	// conduction and film in series. Second order makes that exact to 1e-4.
	scale := rho * cp * thin * (float64(thin/k/2) + 1/h.Film)
	// A late After is reached in bigger steps.
	step := max(scale/500, h.After/20000)

	rising := h.Medium >= h.Start
	past := func(t float64) bool { return (rising && t >= h.Target) || (!rising && t <= h.Target) }
	within := (rising && h.Target < h.Medium) || (!rising && h.Target > h.Medium)

	var r HeatupResult
	point := func(s float64) HeatupPoint { return HeatupPoint{s, b.core(), b.surfaceIn(h.Medium)} }
	last := HeatupPoint{0, h.Start, h.Start} // nothing has flowed yet
	r.Curve = append(r.Curve, last)
	r.Core, r.Surface = last.Core, last.Surface
	if past(h.Start) {
		r.Reached = true
	}
	// When the target is never reached and nothing else is asked, the curve ends
	// when the body is at one with the medium.
	settled := func(p HeatupPoint) bool {
		return math.Abs(p.Core-h.Medium) < float64(1e-3*math.Abs(h.Start-h.Medium))+1e-9
	}
	answered := func() bool {
		if h.After > 0 {
			return r.At > 0
		}
		return r.Reached
	}
	for n := 1; !answered() || (!r.Reached && within); n++ {
		s := float64(float64(n) * step)
		if s > longestHeatup {
			break
		}
		b.run(step, h.Medium, h.Film)
		p := point(s)
		if !r.Reached && past(p.Core) {
			share := (h.Target - last.Core) / (p.Core - last.Core)
			r.Reached, r.Seconds = true, last.Seconds+float64(share*step)
			if h.After == 0 {
				p = last.towards(p, share)
				r.Core, r.Surface, r.At = p.Core, p.Surface, p.Seconds
			}
		}
		if h.After > 0 && r.At == 0 && s >= h.After {
			asked := last.towards(p, (h.After-last.Seconds)/step)
			r.Core, r.Surface, r.At = asked.Core, asked.Surface, h.After
		}
		r.Curve = append(r.Curve, p)
		last = p
		if !within && settled(p) && (h.After == 0 || r.At > 0) {
			break
		}
	}
	if r.At == 0 && h.After == 0 {
		r.Core, r.Surface, r.At = last.Core, last.Surface, last.Seconds
	}
	r.Curve = thinned(r.Curve)
	return r, nil
}

func (p HeatupPoint) towards(q HeatupPoint, share float64) HeatupPoint {
	return HeatupPoint{
		p.Seconds + float64(share*(q.Seconds-p.Seconds)),
		p.Core + float64(share*(q.Core-p.Core)),
		p.Surface + float64(share*(q.Surface-p.Surface)),
	}
}

// thinned keeps about 200 points of the curve, first and last among them.
func thinned(c []HeatupPoint) []HeatupPoint {
	every := len(c)/200 + 1
	out := c[:0:0]
	for i, p := range c {
		if i%every == 0 || i == len(c)-1 {
			out = append(out, p)
		}
	}
	return out
}
