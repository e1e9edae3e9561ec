package procedure

// Check is one thing that a round looks at.
type Check uint8

// The checks.
const (
	HeadFree Check = iota
	Depth
	Eyes
	Pits
	Chin
	Vent
	WaterClean
	Lid
	CheckCount = int(Lid) + 1
)

// ToSee is a check with what to do when it is not well. Every advice begins
// with a verb.
type ToSee struct {
	Word   string
	Text   string
	Advice string
	AtTub  bool // only when the animal lies in the tub
}

// See is the check in words.
func (c Check) See() ToSee { return toSee[min(int(c), CheckCount-1)] }

var toSee = [CheckCount]ToSee{
	HeadFree:   {"head", "head free, breathing quiet", "Lift the snake out. Dry box. Call the veterinarian.", false},
	Depth:      {"depth", "depth about half the height of the resting animal", "Lower the water: attended first, unplug before you reach in.", true},
	Eyes:       {"eyes", "eyes clear, no mites in the rims", "Look closer with a lens and write down what you see; ask the veterinarian before touching an eye.", false},
	Pits:       {"pits", "heat pits clean, or none", "Look closer with a lens and write down what you see.", false},
	Chin:       {"chin", "groove of the chin clean", "Wipe the chin with a damp cloth and count what comes off.", false},
	Vent:       {"vent", "vent and folds clean, nothing hangs out", "Lift the snake out. Dry box. Call the veterinarian.", false},
	WaterClean: {"water", "water clean", "Change the water now: attended first, unplug before you reach in.", true},
	Lid:        {"lid", "lid on, weights on it, air holes free", "Close the lid and put the weights back.", true},
}

// CheckOf finds a check by its word.
func CheckOf(word string) (Check, bool) {
	for c := range toSee {
		if toSee[c].Word == word {
			return Check(c), true
		}
	}
	return 0, false
}

// Round is what one round saw.
type Round struct {
	Seen  [CheckCount]Answer // Yes is well, No is not
	Mites int                // in the drained water; −1 when not counted
}

// AllWell is a round on which everything was well and nothing was drained.
func AllWell() Round {
	r := Round{Mites: -1}
	for i := range r.Seen {
		r.Seen[i] = Yes
	}
	return r
}

// missing is the first check that was not looked at and must be.
func (r *Round) missing(atTub bool) (Check, bool) {
	for c := range r.Seen {
		if r.Seen[c] == Unanswered && (atTub || !toSee[c].AtTub) {
			return Check(c), true
		}
	}
	return 0, false
}

// Advice is what to do about what was not well.
func (r *Round) Advice() []string {
	var all []string
	for c := range r.Seen {
		if r.Seen[c] == No {
			all = append(all, toSee[c].Advice)
		}
	}
	return all
}

// TopUp is the litres that have gone since the water was fresh: what the model
// says evaporates in a day, and what the learned mass says is missing of the
// volume (0 when nothing was learned), whichever is more. It is rounded to a
// tenth of a litre.
func TopUp(litresPerDay, hoursSince, volume, missing float64) float64 {
	l := max(float64(litresPerDay*hoursSince)/24, float64(volume*missing))
	return float64(int(float64(l*10)+0.5)) / 10
}
