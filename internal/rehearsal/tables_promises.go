package rehearsal

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"soakwarden/sim/rig"
)

// timePromise bounds how long faults of some kinds stay unnoticed, with one set of
// probes. Kinds that are the same to the water, a dead pad and a contact that does
// not close, count together.
type timePromise struct {
	what         string
	kinds        []rig.FaultKind
	set          ProbeSet
	seen         bool          // only the seconds in which there was anything to see count
	median, late time.Duration // late is for the share
	share        float64       // of the runs
}

var dead = []rig.FaultKind{rig.PadDead, rig.RelayOpen, rig.PadsLost}

var timePromises = []timePromise{
	{"pad relay welded: heat gone, alarm", []rig.FaultKind{rig.RelayWelded}, FloorProbe, true, 5 * time.Minute, 10 * time.Minute, 0.99},
	{"pad relay welded: heat gone, alarm", []rig.FaultKind{rig.RelayWelded}, TwoProbes, true, 8 * time.Minute, 50 * time.Minute, 0.99},
	{"pad dead or cut off: alarm", dead, FloorProbe, false, 6 * time.Minute, 27 * time.Minute, 0.99},
	{"pad dead or cut off: alarm", dead, TwoProbes, false, 7 * time.Minute, 4 * time.Hour, 0.90},
	{"probe out of the water, air 1.5 K off", []rig.FaultKind{rig.ProbeOutOfWater}, FloorProbe, true, time.Minute, 3 * time.Minute, 0.99},
	{"probe out of the water, air 1.5 K off", []rig.FaultKind{rig.ProbeOutOfWater}, TwoProbes, true, time.Minute, 3 * time.Minute, 0.99},
	{"probe frozen", []rig.FaultKind{rig.ProbeFrozen}, FloorProbe, false, 15 * time.Minute, 40 * time.Minute, 0.99},
	{"probe frozen", []rig.FaultKind{rig.ProbeFrozen}, TwoProbes, false, time.Hour, 4 * time.Hour, 0.99},
}

// What else is promised.
const (
	falseTripsMost = 0.01 // in a tub-year
	alarmsMost     = 2.0  // in a tub-day
)

// PromisesTable holds the results of a campaign of single faults, one of pairs and
// one without a fault against what the program promises. It also returns the
// promises that are not kept.
func PromisesTable(singles, pairs, free *Campaigned) (table string, broken []string) {
	var b strings.Builder
	b.WriteString("| promise | probes | bound | came out |\n|---|---|---|---|\n")
	row := func(kept bool, what, set, bound, came string) {
		if !kept {
			came += " **not kept**"
			broken = append(broken, fmt.Sprintf("%s (%s): %s, promised %s", what, set, came, bound))
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", what, set, bound, came)
	}
	for _, set := range probeSets {
		worst := 0.0
		for i := range singles.Faults {
			if f := &singles.Faults[i]; f.Probes == string(set) && f.WorstOver != nil {
				worst = max(worst, *f.WorstOver)
			}
		}
		row(worst <= faultRise, "any single fault: water over the set point by our heat", probeWords[set], over(pointer(faultRise)), over(&worst))
	}
	for i := range timePromises {
		p := &timePromises[i]
		times, lost := p.times(singles)
		median, late := quantile(times, 0.5), quantile(times, p.share)
		kept := median != nil && *median <= p.median.Seconds() && *late <= p.late.Seconds()
		what := p.what
		if p.seen {
			what += " (of the time in which there was anything to see)"
		}
		nth := fmt.Sprintf("%.0fth percentile", 100*p.share)
		row(kept, what, probeWords[p.set],
			fmt.Sprintf("median %s, %s %s", span(pointer(p.median.Seconds())), nth, span(pointer(p.late.Seconds()))),
			fmt.Sprintf("median %s, %s %s; %d not found", span(median), nth, span(late), lost))
	}
	row(len(pairs.Violations) == 0, "two faults: under the cutoff + 0.5 K, or told in time to unplug", "all", "every run", fmt.Sprintf("%d of %d runs", pairs.Runs-len(pairs.Violations), pairs.Runs))
	row(float64(free.FalseTrips) <= falseTripsMost*free.TubYears, "false trips in a tub-year", "all", fmt.Sprint(falseTripsMost), fmt.Sprintf("%d in %.0f tub-years", free.FalseTrips, free.TubYears))
	for _, set := range probeSets {
		alarms := 0.0
		for _, a := range free.Alarms {
			if a.Probes == string(set) {
				alarms += a.ATubDay
			}
		}
		row(alarms <= alarmsMost, "alarms without a fault in a tub-day", probeWords[set], fmt.Sprint(alarmsMost), fmt.Sprintf("%.2f", alarms))
	}
	row(free.LowAtNight == 0, "low alarms at night", "all", "none", fmt.Sprint(free.LowAtNight))
	return b.String(), broken
}

// times are the seconds until the faults of a promise were found, in order. Those
// that were not are among them as +Inf, but where only the seconds count in which
// there was anything to see: of most of them that was next to nothing.
func (p *timePromise) times(o *Campaigned) (times []float64, lost int) {
	for _, kind := range p.kinds {
		row := o.row(string(kind), string(p.set))
		if row == nil {
			continue
		}
		if p.seen {
			times = append(times, row.ExposedS...)
		} else {
			times = append(times, row.TimesS...)
		}
		lost += row.Missed
	}
	sort.Float64s(times)
	for range lost {
		if !p.seen {
			times = append(times, math.Inf(1))
		}
	}
	return times, lost
}

func pointer(v float64) *float64 { return &v }
