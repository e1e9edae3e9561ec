package treatment

import (
	"time"

	"soakwarden/controller"
)

// How a probe shows that it is not in a core.
const (
	lagWorth  = 1500 * controller.MilliKelvin // a planned lag under it proves nothing
	leapLeast = 400 * controller.MilliKelvin  // two readings of a probe at rest differ by less
	leapWorth = 3                             // times faster than planned
	window    = 30 * time.Second
	windowTop = 90 * time.Second
)

// doubt looks whether a reading of a core can come from a core. Logs whose
// readings are minutes apart and plans that say nothing leave it without an
// answer, never with a wrong one.
func (j *Judge) doubt(i int, r Reading, past bool) {
	p, rule := &j.Probes[i], &j.rules.Probes[i]
	if rule.Place != Core || p.Doubt != NoDoubt {
		return
	}
	air, known := j.air(r.At)
	if known && !p.Arrived {
		ahead := controller.Between(r.Value, air.Value)
		if j.rules.Schedule.Freeze {
			ahead = -ahead
		}
		p.Behind = max(p.Behind, ahead)
	}
	if past && !p.Arrived {
		switch {
		case rule.Planned > 0 && r.At-j.Start < rule.Planned/2:
			p.Doubt, p.DoubtAt = TooQuick, r.At
		case rule.Lag >= lagWorth && known && p.Behind < rule.Lag/3:
			p.Doubt, p.DoubtAt = LikeAir, r.At
		}
	}
	if rule.Steepest > 0 && rule.Lag > 0 && j.leaps(p, rule, r) {
		p.Doubt, p.DoubtAt = Leapt, r.At
	}
	if r.At-p.Newer.At >= window || !p.Newer.Good {
		p.Older, p.Newer = p.Newer, r
	}
}

// leaps compares a reading with one of about a minute ago.
func (j *Judge) leaps(p *ProbeState, rule *Probe, r Reading) bool {
	span := r.At - p.Older.At
	if !p.Older.Good || span > windowTop {
		return false
	}
	moved := controller.Between(p.Older.Value, r.Value)
	may := leapLeast + controller.Difference(int64(rule.Steepest)/60_000*span.Milliseconds())*leapWorth
	return max(moved, -moved) > may
}

// air is the last reading of the air when it is young enough to compare with.
func (j *Judge) air(at time.Duration) (Reading, bool) {
	for i := range j.Probes {
		p := &j.Probes[i]
		if j.rules.Probes[i].Place == Air && p.Known && at-p.Last.At <= window {
			return p.Last, true
		}
	}
	return Reading{}, false
}
