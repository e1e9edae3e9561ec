package treatment

import (
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Place is what a probe of a treatment measures.
type Place uint8

// The places. Air is watched and never has to hold the target: air is there
// long before a core.
const (
	Core Place = iota
	Surface
	Air
)

// Probe is one probe of a treatment, with what the plan expects of it. What is
// zero is not expected.
type Probe struct {
	Name        string
	Place       Place
	Uncertainty controller.Difference // expanded
	Planned     time.Duration         // core: from the start until it is at the target
	Lag         controller.Difference // core: the most that it stays behind the air
	Steepest    controller.Difference // core: the most that it moves in a minute
}

// Rules are what a Judge goes by.
type Rules struct {
	Schedule   Schedule
	Probes     []Probe
	Required   int           // as many probes, air not counted, must hold the target to the end
	LongestGap time.Duration // a probe without data for longer restarts the clock
	Lethality  Constants
}

// ProbesMost is how many probes one treatment may have.
const ProbesMost = 64

// GapMost is the longest gap that any rule may allow.
const GapMost = time.Hour

// check says everything that is wrong with the rules.
func (r *Rules) check() error {
	var errs []error
	that := func(ok bool, format string, args ...any) {
		if !ok {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	counted := 0
	for _, p := range r.Probes {
		if p.Place != Air {
			counted++
		}
		that(p.Uncertainty >= 0, "probe %s: its uncertainty is negative: give the expanded one, such as 0.5K", p.Name)
		that(p.Place <= Air, "probe %s: place %d is none", p.Name, p.Place)
		that(p.Planned >= 0 && p.Lag >= 0 && p.Steepest >= 0, "probe %s: its plan is negative", p.Name)
	}
	that(len(r.Probes) <= ProbesMost, "%d probes are more than %d", len(r.Probes), ProbesMost)
	that(counted > 0, "no probe measures a piece: air alone proves nothing about a core")
	that(r.Required > 0 && r.Required <= counted, "%d of %d probes are required: require 1 to %d", r.Required, counted, counted)
	that(r.Schedule.Hold > 0, "the schedule has no time: give how long the target must be held, such as 48h")
	that(r.Schedule.Target > 0, "the schedule has no target: give a temperature, such as 45C")
	that(r.LongestGap > 0 && r.LongestGap <= GapMost, "the longest gap is %s: give one up to %s, such as 5m", r.LongestGap, GapMost)
	that(r.Lethality.Below >= 0 && r.Lethality.Above >= 0, "a z is negative: give it in kelvin, such as 4")
	return errors.Join(errs...)
}

// Reading is one value of one probe. The zero value is none.
type Reading struct {
	At    time.Duration // on the clock of the judge, not before any earlier one
	Value physic.Temperature
	Good  bool
}

// Stretch is a time, from a first to a last reading.
type Stretch struct {
	From, To time.Duration
}

// Length is how long it is.
func (s Stretch) Length() time.Duration { return s.To - s.From }

// Why says why a clock was restarted.
type Why uint8

// The reasons.
const (
	FellOut     Why = iota // a reading short of the target
	NoData                 // no data for longer than the rule allows
	Interrupted            // nobody watched, and for how long is not known or too long
	CameBack               // a probe that had been dropped gave data again
)

// Restart is one restart of the clock.
type Restart struct {
	At    time.Duration
	Probe int // index, −1 for all
	Why   Why
	Lost  time.Duration // what had been held together until then
}

// Doubt is why a probe cannot have been where it should be. One doubt makes a
// FAIL, for review by a person.
type Doubt uint8

// The doubts.
const (
	NoDoubt  Doubt = iota
	TooQuick       // at the target in under half of its planned time
	LikeAir        // never stayed behind the air as the plan says it must
	Leapt          // moved faster than a core can
)

// String is the doubt in words.
func (d Doubt) String() string {
	switch d {
	case TooQuick:
		return "was at the target in under half of its planned time: it is not in a core"
	case LikeAir:
		return "followed the air and never stayed behind it as planned: it is not in a core"
	case Leapt:
		return "moved faster than its piece can: it came out of its core"
	}
	return "no doubt"
}

// String is the reason in words.
func (w Why) String() string {
	switch w {
	case NoData:
		return "no data for longer than the rule allows"
	case Interrupted:
		return "an interruption"
	case CameBack:
		return "a probe that had been dropped gave data again"
	}
	return "a reading short of the target"
}
