package observer

import "math"

// A healthy sensor changes its code by noise alone within minutes; a quiet one
// does so only when the water moves. So two rules: the code repeats far longer
// than it ever did while the other probe moved by a code and a half; or the
// other probe moved so far that a healthy one must have followed.
//
// A probe that is alone has the model for its other: heat and drift say how far
// the water went while the code stood. Three codes leave one for rounding and
// one for a drift that changed. A lid may have come off when the run began, and
// its drift then hides the heat: so heat alone counts too, at five codes, because
// a tub of the envelope keeps at least a fifth of it (duty of 0.8 at most), which
// is a code. Either bounds what an unseen rise can be: half of the differential,
// five codes of a gain that is learned a third too small, and the coast make
// 0.14 + 0.42 + 0.35 K, under the promised kelvin.
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
	frozenPath  = 3 * codeStep
	frozenHeat  = 5 * codeStep
	frozenEver  = 7200.0 // s: the slowest tub (0.2 mK/s, duty 0.1) needs 52 min for a code
	frozenDrift = 0.25   // of the gain, to which the drift must be known
)

// run is one probe's repetition of a code.
type run struct {
	code    int16
	known   bool
	moved   bool    // the code changed within the last block
	frozen  bool    // it does not follow the water
	placed  bool    // anchor is set
	begun   bool    // drift is set
	age     float64 // s for which the code repeats
	longest float64 // s, while healthy, slowly forgotten
	anchor  float64 // °C of the reference when the run began
	away    float64 // s for which the reference is away from the anchor
	far     float64 // s for which it is so far that a healthy probe must follow
	heat    float64 // K that the pad alone brought since the run began
	drift   float64 // K/s of the water when it began
	path    float64 // K that heat and that drift moved the water since
	low     float64 // K, the least of path
	high    float64 // K, and the most
}

// step takes a fresh code.
func (r *run) step(code int16) {
	if !r.known || code != r.code {
		r.change(code)
	}
}

// change begins the run of another code.
func (r *run) change(code int16) {
	if r.known && !r.frozen && r.age > frozenShort {
		r.longest = max(r.age, r.longest*(1-frozenFade))
	}
	*r = run{code: code, known: true, longest: r.longest, moved: true}
}

// block judges after a block of h seconds against another reading of the same
// water, sigma its usual distance.
func (r *run) block(h, reference, sigma float64) {
	if !r.known {
		return
	}
	r.age += h
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

// alone judges after a block of h seconds without another reading: heat is what
// the pad brought in it, in K, and drift the water's, in K/s, with known saying
// whether it may be relied on.
func (r *run) alone(h, heat, drift float64, known bool) {
	if !r.known {
		return
	}
	if !r.begun {
		r.begun, r.drift = true, drift
		if !known {
			r.drift = math.NaN() // then the path is none, and no comparison with it is true
		}
	}
	r.age += h
	r.heat += heat
	r.path += heat + float64(r.drift*h)
	r.low, r.high = min(r.low, r.path), max(r.high, r.path)
	r.frozen = r.frozen || (r.age > frozenLeast &&
		(r.high-r.low >= frozenPath || r.heat >= frozenHeat || r.age > max(frozenEver, float64(frozenRuns*r.longest))))
}
