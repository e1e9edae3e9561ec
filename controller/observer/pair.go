package observer

import "math"

// Two probes in one water agree but for their place. What place can do: the
// upper layer cools against the lower by the heat that leaves the surface, so
// the allowance grows with that flux.
const (
	pairBase   = 0.30   // K
	pairLeast  = 0.15   // K, on top: eddies of 0.04 K at each probe, and codes
	pairFlux   = 400    // W/m² that hold one kelvin of layering
	pairMost   = 1.2    // K, the largest threshold
	pairMoved  = 0.35   // K that one must have moved against the other within a minute
	pairHold   = 20.0   // s for which a jump lasts
	pairPhase  = 300.0  // s of difference in each phase of a cycle …
	pairLong   = 1800.0 // … or altogether
	pairFreeze = 0.30   // K beyond which the baseline no longer follows
	pairSettle = 1200.0 // s after a water change before it follows again
	pairLag    = 3600.0 // s of the running means
	pairBack   = 0.2    // K: a jumped probe that is this near its baseline …
	pairHeal   = 600.0  // … for this long agrees again
	volumeHeat = 4.18e6 // J/m³K of water
)

// history is how many blocks back a jump is looked for: a minute before the
// hold time began.
const history = 9

// pair watches control minus guard.
type pair struct {
	base     float64 // K, learned difference
	age      float64 // s of learning
	settle   float64 // s until learning goes on
	past     [history]float64
	head     int
	count    int
	over     float64 // s for which a jump's excess lasts
	on, off  float64 // s of excess in each phase of the cycle, since it began
	long     float64 // s of excess altogether
	agree    float64 // s of agreement while a jump is found
	jumped   Place
	differ   bool
	sum      float64 // of the running block
	n        int     // of it
	limit    float64 // K, the threshold now
	variance float64 // K², of the difference about its baseline

	still, rise float64 // K: learned difference with the pad off, and what full heat adds
	lean        float64 // K, how far the difference is from what the command says, over three minutes
	leanVar     float64 // K², of lean while calm
	leanAge     float64 // s of learning
}

// A pad under the water sends its heat up through the layers, so that the low
// probe is the warmer one while it heats, by P/2 over the mixing conductance.
// A dead pad takes that away; a lid that comes off adds to it, because more
// heat passes. That tells the two apart where the difference is large enough
// to be seen among eddies.
const (
	leanLag   = 120.0 // s, longer than the eddies and shorter than the wait for evidence
	leanClear = 1.5   // standard deviations of lean that rise must have
	leanSays  = 0.25  // of rise: a lid is under 0, a dead pad near 1 but late by the lag
	leanPace  = 0.005 // of the error, per block
)

// layers learns and applies that; pad is 0…1, the pad's power as the water
// gets it.
func (p *pair) layers(h, d, pad float64, learn bool) {
	err := d - p.still - float64(p.rise*pad)
	p.lean += float64((err - p.lean) * h / leanLag)
	if !learn {
		return
	}
	p.leanAge = min(p.leanAge+h, 1e9)
	p.still += float64(float64(leanPace*err) * (1 - pad))
	p.rise += float64(float64(leanPace*err) * pad)
	p.leanVar += float64((float64(p.lean*p.lean) - p.leanVar) * h / pairLag)
}

// missing is the part of the pad's layering that is missing against the
// command: 1 over a dead pad, 0 when it is obeyed, negative with the lid off.
// It is false when that cannot be told from eddies in this tub.
func (p *pair) missing() (float64, bool) {
	if p.leanAge < floorAge || !(p.rise > 0) ||
		float64(p.rise*p.rise) < float64(leanClear*leanClear)*p.leanVar {
		return 0, false
	}
	return -p.lean / p.rise, true
}

// allowance sets the threshold from the flux through the surface, W/m².
func (p *pair) allowance(flux, widen float64) {
	p.limit = min(pairBase+max(pairLeast, flux/pairFlux), pairMost) * widen
}

// near takes a pair of readings, and says whether their difference is no more
// than place can do.
func (p *pair) near(difference float64) bool {
	p.sum += difference
	p.n++
	if math.Abs(difference-p.base) <= p.limit {
		p.over = 0
		return true
	}
	return false
}

// apart takes a pair that is further apart than that, for h seconds.
func (p *pair) apart(h, difference float64) {
	p.over += h
	if p.over < pairHold || p.jumped != None {
		return
	}
	for k := range p.count {
		if math.Abs(difference-p.past[k]) > pairMoved {
			p.jumped, p.agree = Guard, 0
			if difference < p.base {
				p.jumped = Control
			}
			return
		}
	}
}

// block closes a block of h seconds; on says whether the pad heated.
func (p *pair) block(h, pad float64, on, learn bool) {
	if p.n == 0 {
		p.count = 0
		return
	}
	d := p.sum / float64(p.n)
	p.sum, p.n = 0, 0
	p.past[p.head] = d
	if p.head++; p.head == history {
		p.head = 0
	}
	p.count = min(p.count+1, history)
	p.layers(h, d, pad, learn && p.settle == 0)
	dev := d - p.base
	size := math.Abs(dev)
	if size > p.limit {
		p.long += h
		if on {
			p.on += h
		} else {
			p.off += h
		}
	} else {
		p.long, p.on, p.off = 0, 0, 0
	}
	p.differ = p.long >= pairLong || (p.on >= pairPhase && p.off >= pairPhase)
	if p.jumped != None {
		if p.agree = lasting(p.agree, h, size < pairBack); p.agree >= pairHeal {
			p.jumped = None
		}
	}
	p.settle = left(p.settle, h)
	if learn && p.settle == 0 && size <= pairFreeze && p.jumped == None {
		p.age = min(p.age+h, pairLag)
		p.base += float64(dev * h / max(p.age, pairSettle))
		p.variance += float64((float64(dev*dev) - p.variance) * h / pairLag)
	}
}
