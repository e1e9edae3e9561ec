package rehearsal

import (
	"time"

	"soakwarden/controller"
	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// seriesWelded is a fault that does nothing by itself: it only takes the second
// means of cutting away. It is one half of pairs and never a single fault.
var seriesWelded = kindOfFault{kind: rig.RelayWelded, targets: []string{"series"}, right: []controller.Cause{controller.SeriesWelded, controller.BothWelded}}

// pair is two kinds of fault in one run.
type pair struct{ one, two *kindOfFault }

// allPairs is every pair of kinds of fault, and each kind with itself where it
// has more than one target, in a fixed order.
var allPairs = func() []pair {
	kinds := make([]*kindOfFault, 0, len(campaignFaults)+1)
	for i := range campaignFaults {
		kinds = append(kinds, &campaignFaults[i])
	}
	kinds = append(kinds, &seriesWelded)
	var list []pair
	for i, one := range kinds {
		for _, two := range kinds[i:] {
			if one != two || len(one.targets) > 1 {
				list = append(list, pair{one, two})
			}
		}
	}
	return list
}()

// name tells the two contacts that weld apart.
func (k *kindOfFault) name() string {
	if k == &seriesWelded {
		return "series relay welded"
	}
	return string(k.kind)
}

// String names both faults.
func (p pair) String() string { return p.one.name() + " + " + p.two.name() }

// draw draws both faults: the second begins within half an hour of the first,
// before or after it. A fault that needs a second probe is drawn without one
// too: then it is one that nothing can find, and the limit must hold.
func (p pair) draw(probes ProbeSet, noise *num.Noise) []rig.Fault {
	at := pairLearning + time.Duration(noise.Between(0, pairSpan.Seconds()))*time.Second
	apart := time.Duration(noise.Between(-1800, 1800)) * time.Second
	list := []rig.Fault{p.one.draw(probes, at, noise), p.two.draw(probes, at+apart, noise)}
	if p.one == p.two && list[0].Target == list[1].Target {
		// Each kind with itself means two things that break in the same way.
		for _, t := range p.two.targets {
			if t != list[0].Target && has(probes, t) {
				list[1].Target = t
				break
			}
		}
	}
	return list
}

// hopeless is a pair of faults that leaves the program nothing to cut the heat
// with. A person has to pull the plug, and must be told in time.
type hopeless struct {
	one, two rig.Fault // kind and target
	why      string
}

// uncuttablePairs lists them by name.
var uncuttablePairs = []hopeless{
	{
		rig.Fault{Kind: rig.RelayWelded, Target: "pad"}, rig.Fault{Kind: rig.RelayWelded, Target: "series"},
		"both contacts are welded",
	},
	{
		rig.Fault{Kind: rig.RelayWelded, Target: "pad"}, rig.Fault{Kind: rig.RelayRefuses, Target: "series"},
		"the pad relay's contact is welded and the series relay's line stays as it was",
	},
	{
		rig.Fault{Kind: rig.RelayWelded, Target: "series"}, rig.Fault{Kind: rig.RelayRefuses, Target: "pad"},
		"the series relay's contact is welded and the pad relay's line stays as it was",
	},
	{
		rig.Fault{Kind: rig.RelayRefuses, Target: "pad"}, rig.Fault{Kind: rig.RelayRefuses, Target: "series"},
		"both lines stay as they were",
	},
}

// uncuttable says why nothing is left to cut the heat; empty while something is.
func uncuttable(faults []rig.Fault) string {
	has := func(want rig.Fault) bool {
		for _, f := range faults {
			if f.Kind == want.Kind && f.Target == want.Target {
				return true
			}
		}
		return false
	}
	for _, h := range uncuttablePairs {
		if has(h.one) && has(h.two) {
			return h.why
		}
	}
	return ""
}

// callsForPlug says whether a cause tells a person that no relay helps.
func callsForPlug(c controller.Cause) bool {
	return c == controller.BothWelded || c == controller.RelayUnwritable || c == controller.SeriesWelded
}
