package observer

import "math"

// A healthy sensor changes its code by noise alone within minutes; a quiet one
// does so only when the water moves. So two rules: the code repeats far longer
// than it ever did while the other probe moved by a code and a half; or the
// other probe moved so far that a healthy one must have followed.
const (
	codeStep    = 0.0625 // K, one code
	frozenLeast = 300.0  // s
	frozenRuns  = 3      // times the longest healthy run
	frozenMoved = 1.5 * codeStep
	frozenLong  = 1800.0 // s
	frozenHold  = 60.0   // s for which the other probe stays away
	frozenSigma = 5      // standard deviations of the pair's difference
	frozenFade  = 0.02   // of the longest run, forgotten with each run over a minute
	frozenShort = 60.0   // s
)

// run is one probe's repetition of a code.
type run struct {
	code    int16
	known   bool
	age     float64 // s for which the code repeats
	longest float64 // s, while healthy, slowly forgotten
	anchor  float64 // °C of the reference when the run began
	placed  bool    // anchor is set
	away    float64 // s for which the reference is away from the anchor
	far     float64 // s for which it is so far that a healthy probe must follow
	on, off float64 // s of the present run with heat on and off
	moved   bool    // the code changed within the last block
	frozen  bool
}

// step takes a fresh code.
func (r *run) step(code int16) {
	if r.known && code == r.code {
		return
	}
	if r.known && !r.frozen && r.age > frozenShort {
		r.longest = max(r.age, r.longest*(1-frozenFade))
	}
	*r = run{code: code, known: true, longest: r.longest, moved: true}
}

// block judges after a block of h seconds. reference is another reading of the
// same water (any NaN: there is none), sigma its usual distance, need the
// seconds of heat and of no heat after which the water has moved two codes
// either way.
func (r *run) block(h, reference, sigma, need float64, heating bool) {
	r.moved = false
	if !r.known {
		return
	}
	r.age += h
	if heating {
		r.on += h
	} else {
		r.off += h
	}
	if math.IsNaN(reference) {
		r.frozen = r.age > frozenLeast && r.age > frozenRuns*r.longest && r.on > need && r.off > need
		return
	}
	if !r.placed {
		r.anchor, r.placed = reference, true
		return
	}
	distance := math.Abs(reference - r.anchor)
	r.away = lasting(r.away, h, distance >= frozenMoved)
	r.far = lasting(r.far, h, distance >= max(2*codeStep, codeStep+float64(frozenSigma*sigma)))
	long := r.age > frozenLeast && (r.age > frozenRuns*r.longest || r.age > frozenLong)
	r.frozen = r.frozen || (long && r.away > 0) || (r.far >= frozenHold && r.age > 2*frozenHold)
}
