package observer

// Water cannot fall faster than it loses heat. A reading that does so is no
// longer in it, or the water is not the one that was there: it leaked away
// under the probes, or somebody poured.
const (
	// fallFlux is more than leaves any tub of the envelope, W/m²: water of 32 °C
	// without a lid in a draughty room of 10 °C gives off about 310 by
	// evaporation (90 W/m²kPa, half as much again as over still water by the
	// ASHRAE form, times 3.4 kPa) and about 330 by convection and radiation
	// (15 W/m²K times 22 K).
	fallFlux = 650.0
	fallLess = 0.8 // of the depth at least is there after a day's evaporation
	// fallBase is codes, eddies, and layers that are mixed by hands or an animal.
	// In a hundred busy tub-weeks the furthest was 0.11 K past the steepest loss.
	fallBase  = 0.45 // K
	fallTwice = 2    // blocks for which it must have fallen
	fallBack  = 12   // blocks looked back: two minutes, four of the slowest probe's time constants
	fallQuiet = 180  // s after hands were in the tub or the water was changed
)

// fall watches the warmest believed probe for a fall that no water can do: when
// only one of two falls, that is the jump test's business.
type fall struct {
	past  [fallBack]float64 // °C, the last blocks
	age   [fallBack]float64 // s since the first block, of each
	head  int
	count int
	now   float64 // s
	low   int     // blocks for which it is too low
	quiet float64 // s
}

// clear forgets the past: another set of probes, another water, a gap.
func (f *fall) clear() { *f = fall{quiet: f.quiet} }

// add takes one block of h seconds and says whether the reading fell further
// than the steepest loss allows.
func (f *fall) add(h, y, depth float64) bool {
	f.now += h
	if f.quiet > 0 {
		f.quiet = left(f.quiet, h)
		return false
	}
	rate := fallFlux / float64(float64(fallLess*depth)*volumeHeat)
	fell := false
	age := f.age[:f.count]
	for k, past := range f.past[:f.count] {
		if past-y > fallBase+float64(rate*(f.now-age[k])) {
			fell = true
		}
	}
	f.past[f.head], f.age[f.head] = y, f.now
	if f.head++; f.head == fallBack {
		f.head = 0
	}
	f.count = min(f.count+1, fallBack)
	if !fell {
		f.low = 0
		return false
	}
	f.low++
	return f.low == fallTwice
}
