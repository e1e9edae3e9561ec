package rehearsal

import (
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// kindOfFault is one row of the campaign's list: how to draw such a fault, and
// which causes name it rightly.
type kindOfFault struct {
	kind    rig.FaultKind
	targets []string // drawn from; "" when none
	amount  [2]float64
	least   float64 // of an amount, either way
	where   []string
	needs   ProbeSet // the least set of probes for the target to exist
	until   time.Duration
	right   []controller.Cause
}

var (
	moved    = []controller.Cause{controller.ProbeJumped, controller.ProbesDiffer}
	tooMuch  = []controller.Cause{controller.UnaskedRise, controller.OverBand, controller.OverCutoff, controller.FloorTooHot}
	noAnswer = []controller.Cause{controller.NoRise, controller.OnTooLong, controller.TooCold}
)

// campaignFaults lists the single faults of relay, pad, probe, bus and program
// that a campaign draws, in a fixed order.
var campaignFaults = []kindOfFault{
	{kind: rig.RelayWelded, targets: []string{"pad"}, right: tooMuch},
	{kind: rig.RelayOpen, targets: []string{"pad", "series"}, right: noAnswer},
	{kind: rig.RelayChatters, targets: []string{"pad"}, right: noAnswer},
	{kind: rig.RelayRefuses, targets: []string{"pad", "series"}, right: []controller.Cause{controller.RelayUnwritable}},
	{kind: rig.PadDead, targets: []string{"tub"}, right: noAnswer},
	{kind: rig.PadsLost, targets: []string{""}, right: noAnswer},
	{kind: rig.ProbeSilent, targets: []string{"tub/control", "tub/guard", "tub/floor"}, right: []controller.Cause{controller.ProbeSilent}},
	{kind: rig.ProbeFrozen, targets: []string{"tub/control", "tub/guard"}, right: append([]controller.Cause{controller.ProbeFrozen}, moved...)},
	{kind: rig.ProbePowerOnValue, targets: []string{"tub/control", "tub/guard", "tub/floor"}, right: []controller.Cause{controller.ProbeImplausible}},
	{kind: rig.ProbeOffset, targets: []string{"tub/control", "tub/guard"}, amount: [2]float64{-3, 3}, least: 0.7, needs: TwoProbes, right: moved},
	{kind: rig.ProbeDrifts, targets: []string{"tub/control", "tub/guard"}, amount: [2]float64{-24, 24}, least: 4, needs: TwoProbes, right: moved},
	{kind: rig.ProbeOutOfWater, targets: []string{"tub/control", "tub/guard"}, where: []string{"air", "air", "floor", "pad"}, needs: TwoProbes, right: moved},
	{kind: rig.BusShorted, targets: []string{"bus"}, right: []controller.Cause{controller.ProbeImplausible, controller.ProbeSilent}},
	{kind: rig.BusHung, targets: []string{"bus"}, right: []controller.Cause{controller.ProbeSilent}},
	{kind: rig.TubLeaking, targets: []string{"tub"}, amount: [2]float64{1, 8}, right: append([]controller.Cause{controller.WaterLow, controller.NoWater}, append(moved, tooMuch...)...)},
	// Shorter than the watchdog waits, and long enough to be late.
	{kind: rig.DaemonPaused, targets: []string{""}, amount: [2]float64{6.5, 9.5}, right: []controller.Cause{controller.LoopLate}},
	{kind: rig.DaemonKilled, targets: []string{""}, until: time.Second},
}

// has says whether a set of probes has the probe of a target.
func has(probes ProbeSet, target string) bool {
	switch target {
	case "tub/guard":
		return probes != OneProbe
	case "tub/floor":
		return probes == FloorProbe
	}
	return true
}

// possible are the kinds of fault that a set of probes allows, and of which a
// campaign wants only.
func possible(only rig.FaultKind, probes ProbeSet) []*kindOfFault {
	var list []*kindOfFault
	for k := range campaignFaults {
		f := &campaignFaults[k]
		if only != "" && f.kind != only || f.needs == TwoProbes && probes == OneProbe {
			continue
		}
		list = append(list, f)
	}
	return list
}

// single draws the one fault of run i. The kinds come in turn.
func (c *Campaign) single(i int, probes ProbeSet, noise *num.Noise) ([]rig.Fault, string) {
	kinds := possible(c.Fault, probes)
	if len(kinds) == 0 {
		return nil, ""
	}
	at := learning + time.Duration(noise.Between(0, faultSpan.Seconds()))*time.Second
	k := kinds[i/3%len(kinds)]
	return []rig.Fault{k.draw(probes, at, noise)}, string(k.kind)
}

func (k *kindOfFault) draw(probes ProbeSet, at time.Duration, noise *num.Noise) rig.Fault {
	f := rig.Fault{Kind: k.kind, At: at}
	var targets []string
	for _, t := range k.targets {
		if has(probes, t) {
			targets = append(targets, t)
		}
	}
	f.Target = targets[noise.Below(len(targets))]
	if k.amount != [2]float64{} {
		f.Amount = noise.Between(k.amount[0], k.amount[1])
		// Smaller errors hide in what two good probes may differ by, as long as
		// a run lasts.
		switch {
		case k.least == 0 || f.Amount >= k.least || f.Amount <= -k.least:
		case f.Amount < 0:
			f.Amount = -k.least
		default:
			f.Amount = k.least
		}
	}
	if len(k.where) > 0 {
		f.Where = k.where[noise.Below(len(k.where))]
	}
	if k.until > 0 {
		f.Until = at + k.until
	}
	return f
}

// raisedCause is a cause that began to act, with the seconds since the first
// effect of a fault; nil before any. One that was raised and cleared before is
// over.
type raisedCause struct {
	cause controller.Cause
	at    time.Duration
	since *float64
	over  bool
	// exposed is for how many seconds a fault could be seen until then.
	exposed float64
}

// names says whether a cause names one of the faults rightly.
func names(faults []rig.Fault, cause controller.Cause) bool {
	for _, f := range faults {
		for k := range campaignFaults {
			if campaignFaults[k].kind != f.Kind {
				continue
			}
			for _, right := range campaignFaults[k].right {
				if right == cause {
					return true
				}
			}
		}
	}
	return false
}

// firstRight is when the first right cause of any of the faults was raised, and
// which. Standing means that such a cause stood already when the fault began to
// matter: nobody can be told a second time. A probe's fault matters when it reads
// 0.15 K off, and some are seen before: a code that stands still, say. What named
// such a fault after it began, and still stood when it mattered, found it at once.
func firstRight(faults []rig.Fault, raised []raisedCause) (first *raisedCause, standing bool) {
	for _, r := range raised {
		if !names(faults, r.cause) || r.over {
			continue
		}
		if r.since == nil && seenBefore(faults, r.at) {
			r.since = new(float64)
		}
		if r.since != nil {
			return &r, standing
		}
		standing = true
	}
	return nil, standing
}

// seenBefore says whether all the faults are of the kind that shows before it
// matters, and had begun at a moment.
func seenBefore(faults []rig.Fault, at time.Duration) bool {
	for _, f := range faults {
		if f.Kind != rig.ProbeFrozen && f.Kind != rig.ProbeDrifts || at < f.At {
			return false
		}
	}
	return len(faults) > 0
}

// nameable says whether any of the faults has a cause that names it. The death
// of the program has none: nobody is left to tell, and the next life is careful.
func nameable(faults []rig.Fault) bool {
	for _, f := range faults {
		for k := range campaignFaults {
			if campaignFaults[k].kind == f.Kind && len(campaignFaults[k].right) > 0 {
				return true
			}
		}
	}
	return false
}

// blind says whether the only probe in the water tells no truth that anything
// could miss. One that repeats its code betrays itself: the heat must end.
func blind(st *config.Station, faults []rig.Fault) bool {
	inWater := 0
	for _, p := range st.Probes {
		if p.Role == controller.RoleControl || p.Role == controller.RoleGuard {
			inWater++
		}
	}
	if inWater != 1 {
		return false
	}
	for _, f := range faults {
		switch f.Kind {
		case rig.ProbeOffset, rig.ProbeDrifts, rig.ProbeOutOfWater:
			return true
		}
	}
	return false
}

// cutoffGrace is how far over the cutoff our own heat may ever bring the water:
// what is under way when both relays open.
const cutoffGrace = 0.5

// objections are what the judges of a run have to say against it.
func (w *watcher) objections() []Violation {
	var list []Violation
	for i := range w.stations {
		s := &w.stations[i]
		st := &w.run.scenario.Config.Stations[i]
		if st.Kind != controller.Tub {
			continue
		}
		object := func(judge, format string, args ...any) {
			list = append(list, Violation{Judge: judge, Text: st.Name + ": " + fmt.Sprintf(format, args...)})
		}
		faults := w.run.scenario.Faults
		if s.unpermitted > 0 {
			object("heat without permission", "the command asked for heat in %d s without permission", s.unpermitted)
		}
		if blind(st, faults) {
			// One probe in the water, and it lies: nothing can know. That is why
			// such a station may heat only attended.
			continue
		}
		why := uncuttable(faults)
		if s.dryFloor > floorBound+cutoffGrace && !(w.excuse && why != "" && s.told) {
			object("empty tub too hot", "the floor of the empty tub reached %.2f °C, at most %.1f °C", s.dryFloor, floorBound+cutoffGrace)
		}
		if !w.excuse && s.worstByUs > faultRise {
			object("water over the set point", "%.2f K over the set point, at most %.1f K", s.worstByUs, faultRise)
		}
		over := s.set + s.worstByUs - celsius(st.Cutoff)
		switch {
		case over <= cutoffGrace:
		case w.excuse && why != "" && s.told && s.toldAt <= celsius(st.Cutoff):
			// A person was told in time what no relay can do any more.
		case w.excuse && why != "":
			object("no call to pull the plug", "%.2f K past the cutoff, nothing left to cut the heat (%s), and nobody was told while the water was under the cutoff", over, why)
		default:
			object("water past the cutoff", "%.2f K past the cutoff, at most %.1f K", over, cutoffGrace)
		}
	}
	return list
}
