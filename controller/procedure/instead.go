package procedure

// instead says what to do in the place of an order that a stage does not take.
// It is written for somebody who stands at the tub at night: what is so, then
// the word of the order that comes first.
func instead(o Order, s Stage) string {
	switch {
	case o == Begin:
		return "end the case that runs (stop), or begin another at another station"
	case s == NoStage || s.Over():
		return "no case runs here: begin one (begin)"
	case o == Return && s == Watch:
		return "furnishings and animal are back already: look on the days of the follow-up (look)"
	case o == Return:
		return "the animal goes back from paper, into a treated enclosure: rinse, paper and the treated furnishings first"
	case o == Look:
		return "a look belongs to the time after the soak; look at the animal now as a round (round)"
	case o == Clear:
		return "the all-clear ends the watch: furnishings treated, animal back in its enclosure, then looks until the earliest day"
	case o == Again:
		return "go on with this soak; again is for mites that are seen after it"
	case o >= Furnish && o <= Unseal:
		return "the furnishings are back: when mites were seen, begin a new soak (again), and every one is treated again"
	case s == Filling || s == Ready:
		return insteadBefore(o)
	case s == DryRest:
		return insteadResting(o)
	case s == Rinse:
		return "the soak is over: rinse it, look it over, then put it on paper (paper)"
	case s >= OnPaper:
		return "the soak is over: when mites were seen, begin a new soak (again)"
	}
	return insteadInWater(o, s)
}

// insteadBefore is for a tub that has water and no animal.
func insteadBefore(o Order) string {
	switch o {
	case PutIn:
		return "wait until the tub is ready: filled with plain water, in band for ten minutes, nothing tripped"
	case Detergent:
		return "plain water for drinking comes before every soak water: animal-in when the tub is ready, 30 min, then attended, detergent, done"
	case Fill:
		return "it is filled already; change its water with attended, water-changed, done"
	case LiftOut, Box:
		return "the animal is not in the tub; write where it is (place)"
	case Close:
		return "the lid is on already: nothing to close"
	case DoRinse, Paper:
		return "nothing was soaked yet; end the case (stop) when there will be no soak"
	}
	return "begin attended first (attended), and unplug before you reach in"
}

// insteadResting is for a tub that was drained, with the animal in its dry box.
func insteadResting(o Order) string {
	switch o {
	case LiftOut:
		return "it is in its dry box already; write the box's temperature (box)"
	case Paper:
		return "rinse it and look it over first (rinse)"
	}
	return "the tub is drained and does not heat: fill it with plain water first (fill), when the rest is over"
}

// insteadInWater is for an animal in the water, with the lid on or off.
func insteadInWater(o Order, s Stage) string {
	switch o {
	case PutIn:
		if s == Attended {
			return "put the lid on first (done), and wait until the tub is ready"
		}
		return "the animal is in already: do the round (round)"
	case Open:
		return "the lid is off already: unplug before you reach in, and say done when it is on again"
	case Box:
		return "lift the animal into its dry box first (rest)"
	case Fill:
		return "the tub is filled; change its water with attended, water-changed, done"
	case Paper:
		return "rinse the animal and look it over first (rinse)"
	case Weigh:
		return "weigh it out of the water: before the soak, in a rest or after"
	case Place:
		return "the animal is in its tub: lift it out first (rest)"
	case Heat:
		return "put the lid on and take the hands out first (done); heat comes back by itself"
	case Close:
		return "the lid is on already: nothing to close"
	}
	return "begin attended first (attended), and unplug before you reach in"
}
