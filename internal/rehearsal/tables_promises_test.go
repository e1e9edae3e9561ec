package rehearsal

import (
	"strings"
	"testing"

	"soakwarden/sim/rig"
)

// kept is a set of results by which every promise is kept, each figure at its bound.
func kept() (singles, pairs, free *Campaigned) {
	singles = &Campaigned{}
	minutes := func(v ...float64) (s []float64) {
		for _, m := range v {
			s = append(s, 60*m)
		}
		return s
	}
	add := func(kind rig.FaultKind, set ProbeSet, times []float64) {
		singles.Faults = append(singles.Faults, FaultRow{Fault: string(kind), Probes: string(set), TimesS: times, ExposedS: times, WorstOver: pointer(1)})
	}
	add(rig.RelayWelded, FloorProbe, minutes(5, 5, 10))
	add(rig.RelayWelded, TwoProbes, minutes(8, 8, 50))
	for _, kind := range dead {
		add(kind, FloorProbe, minutes(6, 27))
		add(kind, TwoProbes, minutes(7, 7, 240))
	}
	for _, set := range []ProbeSet{FloorProbe, TwoProbes} {
		add(rig.ProbeOutOfWater, set, minutes(1, 3))
	}
	add(rig.ProbeFrozen, FloorProbe, minutes(15, 40))
	add(rig.ProbeFrozen, TwoProbes, minutes(60, 240))
	pairs = &Campaigned{Runs: 10}
	free = &Campaigned{TubYears: 300, FalseTrips: 3}
	for _, set := range probeSets {
		free.Alarms = append(free.Alarms, AlarmRate{"no rise", string(set), 1.5}, AlarmRate{"too cold", string(set), 0.5})
	}
	return singles, pairs, free
}

func TestPromisesAreHeldAgainstTheirBounds(t *testing.T) {
	table, broken := PromisesTable(kept())
	if len(broken) != 0 || strings.Contains(table, "not kept") {
		t.Fatalf("at the bounds: %q\n%s", broken, table)
	}
	for name, do := range map[string]func(singles, pairs, free *Campaigned){
		"any single fault": func(s, _, _ *Campaigned) { s.row("relay welded", "two").WorstOver = pointer(1.01) },
		"pad relay welded": func(s, _, _ *Campaigned) { s.row("relay welded", "floor").ExposedS[1] = 301 },
		"pad dead":         func(s, _, _ *Campaigned) { s.row("pads lost", "floor").TimesS[1] = 27*60 + 1 },
		"probe out of":     func(s, _, _ *Campaigned) { s.row("probe out of water", "two").ExposedS[1] = 181 },
		"probe frozen":     func(s, _, _ *Campaigned) { s.row("probe frozen", "two").Missed = 1 },
		"two faults":       func(_, p, _ *Campaigned) { p.Violations = make([]Violation, 1) },
		"false trips":      func(_, _, f *Campaigned) { f.FalseTrips = 4 },
		"alarms without":   func(_, _, f *Campaigned) { f.Alarms[2].ATubDay = 1.51 },
		"low alarms":       func(_, _, f *Campaigned) { f.LowAtNight = 1 },
	} {
		singles, pairs, free := kept()
		do(singles, pairs, free)
		table, broken := PromisesTable(singles, pairs, free)
		if len(broken) != 1 || !strings.HasPrefix(broken[0], name) || strings.Count(table, "**not kept**") != 1 {
			t.Errorf("%s: broken are %q", name, broken)
		}
	}
	// Without results nothing is kept that speaks of times.
	_, pairs, free := kept()
	if _, broken := PromisesTable(&Campaigned{}, pairs, free); len(broken) != len(timePromises) {
		t.Errorf("without results broken are %q", broken)
	}
}
