package rehearsal

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/sim/rig"
)

// Each judge objects to what it is there for and to nothing less.
func TestEachJudgeObjectsAtItsLine(t *testing.T) {
	welds := []rig.Fault{{Kind: rig.RelayWelded, Target: "pad"}, {Kind: rig.RelayWelded, Target: "series"}}
	frozen := []rig.Fault{{Kind: rig.ProbeFrozen, Target: "tub/control"}}
	const set, cutoff = 29.4, 31.7
	for _, c := range []struct {
		name   string
		probes ProbeSet
		faults []rig.Fault
		excuse bool
		change func(*watched)
		want   string // judges, joined
	}{
		{"nothing", TwoProbes, nil, false, func(*watched) {}, ""},
		{"just under a kelvin", TwoProbes, frozen, false, func(s *watched) { s.worstByUs = 0.999 }, ""},
		{"over a kelvin", TwoProbes, frozen, false, func(s *watched) { s.worstByUs = 1.001 }, "water over the set point"},
		{"over a kelvin in a pair", TwoProbes, frozen, true, func(s *watched) { s.worstByUs = 1.5 }, ""},
		{"just under the cutoff and its grace", TwoProbes, frozen, true, func(s *watched) { s.worstByUs = cutoff + 0.499 - set }, ""},
		{"over them", TwoProbes, frozen, true, func(s *watched) { s.worstByUs = cutoff + 0.501 - set }, "water past the cutoff"},
		{"over both", FloorProbe, frozen, false, func(s *watched) { s.worstByUs = 4 }, "water over the set point, water past the cutoff"},
		{"a lone probe that stands still", OneProbe, frozen, false, func(s *watched) { s.worstByUs = 1.5 }, "water over the set point"},
		{"a lone probe that lies", OneProbe, []rig.Fault{{Kind: rig.ProbeDrifts, Target: "tub/control"}}, false, func(s *watched) { s.worstByUs = 4 }, ""},
		{"a lone probe, another fault", OneProbe, welds[:1], false, func(s *watched) { s.worstByUs = 1.5 }, "water over the set point"},
		{"both welded, told in time", TwoProbes, welds, true, func(s *watched) { s.worstByUs, s.told, s.toldAt = 4, true, cutoff }, ""},
		{"both welded, told late", TwoProbes, welds, true, func(s *watched) { s.worstByUs, s.told, s.toldAt = 4, true, cutoff+0.1 }, "no call to pull the plug"},
		{"both welded, nobody told", TwoProbes, welds, true, func(s *watched) { s.worstByUs = 4 }, "no call to pull the plug"},
		{"both welded without an excuse", TwoProbes, welds, false, func(s *watched) { s.worstByUs, s.told = 4, true }, "water over the set point, water past the cutoff"},
		{"an empty tub at the bound", TwoProbes, nil, false, func(s *watched) { s.dryFloor = 35.5 }, ""},
		{"an empty tub over it", TwoProbes, nil, true, func(s *watched) { s.dryFloor = 35.51 }, "empty tub too hot"},
		{"an empty tub over it, nothing to cut with, told", TwoProbes, welds, true, func(s *watched) { s.dryFloor, s.told = 40, true }, ""},
		{"the same, nobody told", TwoProbes, welds, true, func(s *watched) { s.dryFloor = 40 }, "empty tub too hot"},
		{"heat without permission", OneProbe, frozen, false, func(s *watched) { s.unpermitted = 1 }, "heat without permission"},
	} {
		d, err := drawTub(1, c.probes)
		if err != nil {
			t.Fatal(err)
		}
		scenario := d.Scenario("judged", 1, time.Hour)
		scenario.Faults = c.faults
		w := &watcher{run: &Run{scenario: scenario}, excuse: c.excuse, stations: []watched{{set: set}}}
		c.change(&w.stations[0])
		var got []string
		for _, v := range w.objections() {
			got = append(got, v.Judge)
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %q, wanted %q", c.name, strings.Join(got, ", "), c.want)
		}
	}
}

// What the sun gave is not our heat; what two welded relays add in the sun is.
func TestSunIsNoExcuseForAWeld(t *testing.T) {
	run := func(faults ...rig.Fault) (ours, warmest float64) {
		d, err := drawTub(2, TwoProbes)
		if err != nil {
			t.Fatal(err)
		}
		d.Nuisances = rig.Nuisances{}
		s := d.Scenario("sun", 2, 12*time.Hour)
		s.Faults = faults
		r, err := s.NewRun(Options{Wire: d.Wire})
		if err != nil {
			t.Fatal(err)
		}
		for r.bench.Now() < s.Duration {
			if err := r.Step(); err != nil {
				t.Fatal(err)
			}
			warmest = max(warmest, r.bench.Water(0)-r.watcher.stations[0].set)
		}
		return r.watcher.stations[0].worstByUs, warmest
	}
	sun := rig.Fault{Kind: rig.SunOnTub, Target: "tub", Amount: 40, At: 6 * time.Hour, Until: 8 * time.Hour}
	ours, warmest := run(sun)
	if warmest < 1 {
		t.Fatalf("the sun warmed the water by %.2f K only", warmest)
	}
	if ours > 0.3 {
		t.Errorf("%.2f K of sun count as ours", ours)
	}
	welded := []rig.Fault{
		sun, {Kind: rig.RelayWelded, Target: "pad", At: 6 * time.Hour}, {Kind: rig.RelayWelded, Target: "series", At: 6 * time.Hour},
	}
	if ours, warmest = run(welded...); ours < faultRise {
		t.Errorf("of %.2f K over the set point in the sun only %.2f K count as two welded relays'", warmest, ours)
	}
}

// An alarm that stood before the fault is neither found nor missed.
func TestStandingAlarmIsNoFinding(t *testing.T) {
	weld := []rig.Fault{{Kind: rig.RelayWelded, Target: "pad"}}
	later := 60.0
	for _, c := range []struct {
		name     string
		raised   []raisedCause
		found    bool
		standing bool
	}{
		{"nothing", nil, false, false},
		{"wrong", []raisedCause{{cause: controller.LoopLate, since: &later}}, false, false},
		{"right", []raisedCause{{cause: controller.UnaskedRise, since: &later}}, true, false},
		{"stood before", []raisedCause{{cause: controller.UnaskedRise}}, false, true},
		{"was over before", []raisedCause{{cause: controller.UnaskedRise, over: true}}, false, false},
		{"another came later", []raisedCause{{cause: controller.UnaskedRise}, {cause: controller.OverBand, since: &later}}, true, true},
	} {
		first, standing := firstRight(weld, c.raised)
		if (first != nil) != c.found || standing != c.standing {
			t.Errorf("%s: found %v, standing %v", c.name, first != nil, standing)
		}
	}
}

// A code that stands still shows before the reading is off by anything: what
// named it after it began found it at once. Heat that nobody asked for shows in
// nothing else, so an alarm that came before it was another matter.
func TestFoundBeforeItMattered(t *testing.T) {
	const began = 6 * time.Hour
	for _, c := range []struct {
		name  string
		kind  rig.FaultKind
		cause controller.Cause
		at    time.Duration
		found bool
	}{
		{"frozen", rig.ProbeFrozen, controller.ProbeFrozen, began, true},
		{"drifts", rig.ProbeDrifts, controller.ProbesDiffer, began + time.Hour, true},
		{"before it began", rig.ProbeFrozen, controller.ProbeFrozen, began - time.Second, false},
		{"a relay", rig.RelayWelded, controller.UnaskedRise, began + time.Hour, false},
	} {
		first, standing := firstRight([]rig.Fault{{Kind: c.kind, At: began}}, []raisedCause{{cause: c.cause, at: c.at}})
		if c.found && (first == nil || *first.since != 0 || first.cause != c.cause || standing) || !c.found && (first != nil || !standing) {
			t.Errorf("%s: %+v, standing %v", c.name, first, standing)
		}
	}
	both := []rig.Fault{{Kind: rig.ProbeFrozen, At: began}, {Kind: rig.RelayWelded, At: began}}
	if first, _ := firstRight(both, []raisedCause{{cause: controller.ProbeFrozen, at: began}}); first != nil {
		t.Error("a second fault that shows in nothing else is found with the first")
	}
}
