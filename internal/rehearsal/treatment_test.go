package rehearsal

import (
	"strings"
	"testing"
	"time"

	"soakwarden/sim/rig"
)

// chamberRun rehearses a scenario of the treatments with other faults and
// length.
func chamberRun(t *testing.T, name string, long time.Duration, change func(*Scenario)) (*Run, *Outcome) {
	t.Helper()
	s, err := LoadScenario("../../testdata/treatments/" + name + ".toml")
	if err != nil {
		t.Fatal(err)
	}
	s.Duration = long
	if change != nil {
		change(s)
	}
	r, err := s.NewRun(Options{})
	if err != nil {
		t.Fatal(err)
	}
	for r.bench.Now() < s.Duration {
		if err := r.Step(); err != nil {
			t.Fatal(err)
		}
	}
	o := r.Outcome()
	r.treated.tell(o)
	if len(o.Treatments) != 1 || o.Treatments[0].Number == "" {
		t.Fatalf("%+v", o.Treatments)
	}
	if !o.Held() {
		t.Errorf("%s: %+v", o.Treatments[0].Reason, o.Promises)
	}
	return r, o
}

func fault(kind rig.FaultKind, target string, at, until time.Duration) func(*Scenario) {
	return func(s *Scenario) {
		s.Events = s.Events[:1]
		s.Faults = append(s.Faults, rig.Fault{Kind: kind, Target: target, At: at, Until: until})
	}
}

func hm(h, m int) time.Duration {
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute
}

// A cork branch, a slate and a thick plank: the air is there long before the
// core of the plank, PASS comes by the core, and the plan's time is within a
// tenth of the run's.
func TestHeatingPassesByTheCore(t *testing.T) {
	s, err := LoadScenario("../../testdata/treatments/cabinet-run.toml")
	if err != nil {
		t.Fatal(err)
	}
	s.Duration = hm(6, 0)
	r, err := s.NewRun(Options{})
	if err != nil {
		t.Fatal(err)
	}
	air, core := time.Duration(0), time.Duration(0)
	for r.bench.Now() < s.Duration {
		if err := r.Step(); err != nil {
			t.Fatal(err)
		}
		c := r.bench.Chamber(0)
		if now := r.bench.Now(); air == 0 && c.Air >= 56 {
			air = now
		} else if core == 0 && c.Pieces[2].Core >= 56 {
			core = now
		}
		if core != 0 && r.bench.Now() < core+time.Minute {
			if v := r.Desk().Driver("cabinet").View(); v.Result != "open" {
				t.Fatalf("%s as soon as the core was there", v.Result)
			}
		}
	}
	if air == 0 || core-air < time.Hour {
		t.Errorf("air there after %s, the plank's core after %s", air, core)
	}
	o := r.Outcome()
	r.treated.tell(o)
	got := o.Treatments[0]
	if got.Result != "PASS" || got.TookS == nil || got.TrueLongestS < 1800 {
		t.Fatalf("%+v", got)
	}
	if ratio := *got.TookS / *got.PlannedS; ratio < 0.9 || ratio > 1.1 {
		t.Errorf("took %g s, planned %g s", *got.TookS, *got.PlannedS)
	}
	t.Logf("took %.0f s, planned %.0f s; air %s, core %s", *got.TookS, *got.PlannedS, air, core)
}

// What goes wrong makes a FAIL or restarts the clock, is never a PASS on what
// was held before, and never gets more than 2 K over the limit.
func TestHeatingWithAFault(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Scenario)
		long   time.Duration
		want   string // in the reason, what it waits for, or a deviation
		pass   bool   // after a new clock
	}{
		"probe never in its core":      {fault(rig.ProbeOutOfPiece, "cabinet/core", 0, 0), hm(6, 0), "for review: 28-0000a2000002 (core of plank)", false},
		"probe pulled out on the way":  {fault(rig.ProbeOutOfPiece, "cabinet/core", hm(2, 30), 0), hm(6, 0), "moved faster than its piece can", false},
		"probe pulled out near target": {fault(rig.ProbeOutOfPiece, "cabinet/core", hm(3, 40), 0), hm(6, 0), "moved faster than its piece can", false},
		"probe pulled out, holding":    {fault(rig.ProbeOutOfPiece, "cabinet/core", hm(4, 22), 0), hm(6, 0), "moved faster than its piece can", false},
		"another probe pulled out":     {fault(rig.ProbeOutOfPiece, "cabinet/core-2", hm(2, 30), 0), hm(6, 0), "28-0000a2000003 (core of branch) moved faster than its piece can", false},
		"fan dead":                     {fault(rig.FanDead, "cabinet", hm(4, 25), 0), hm(6, 0), "airflow lost", false},
		"heater welded on the way":     {fault(rig.RelayWelded, "heat", hm(2, 0), 0), hm(6, 0), "unasked rise", false},
		"heater welded while holding":  {fault(rig.RelayWelded, "heat", hm(4, 25), 0), hm(6, 0), "unasked rise", false},
		"heater trips midway":          {fault(rig.PadDead, "cabinet", hm(2, 0), 0), hm(6, 0), "K from the target", false},
		"probe silent":                 {fault(rig.ProbeSilent, "cabinet/core", hm(4, 20), 0), hm(6, 0), "probe silent", false},
		"air probe frozen, on the way": {fault(rig.ProbeFrozen, "cabinet/air", hm(2, 0), 0), hm(6, 0), "probe frozen", false},
		"air probe frozen, holding":    {fault(rig.ProbeFrozen, "cabinet/air", hm(4, 20), 0), hm(6, 0), "probe frozen", false},
		"mains lost for a minute":      {fault(rig.MainsLost, "", hm(4, 25), hm(4, 26)), hm(8, 0), "an interruption", true},
		"killed":                       {fault(rig.DaemonKilled, "", hm(4, 25), 0), hm(8, 0), "an interruption", true},
		"mains lost, time unknown": {func(s *Scenario) {
			fault(rig.MainsLost, "", hm(4, 25), hm(5, 30))(s)
			s.Trusted = false
		}, hm(11, 0), "for how long is not known", true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, o := chamberRun(t, "cabinet-run", c.long, c.change)
			got := o.Treatments[0]
			if (got.Result == "PASS") != c.pass {
				t.Errorf("%s: %s", got.Result, got.Reason)
			}
			at := o.Treatments[0]
			if c.pass && at.TookS != nil && *at.TookS < (hm(4, 25)-hm(0, 11)+30*time.Minute).Seconds() {
				t.Errorf("PASS after %g s: what was held before counted", *at.TookS)
			}
			story := got.Reason + strings.Join(documents(r), "\n")
			if !strings.Contains(story, c.want) {
				t.Errorf("no word of %q in %s", c.want, story)
			}
			if hot := got.HottestC; hot > got.LimitC+2 {
				t.Errorf("%g °C with a limit of %g °C", hot, got.LimitC)
			}
			t.Logf("%s: %s; hottest %.2f °C", got.Result, got.Reason, got.HottestC)
		})
	}
}

// documents are the deviations and restarts of the treatment in the chamber.
func documents(r *Run) (list []string) {
	for _, c := range r.treated.all {
		if v := r.Desk().Driver(c.Station).View(); v != nil {
			list = append(list, v.Waits, v.Reason)
		}
		list = append(list, r.Desk().Deviations(c.Station)...)
	}
	return list
}

// A freezer whose bedding follows a day and a half behind: the clock starts when
// its core is there, by the warmest reading plus its uncertainty.
func TestFreezingStartsWithTheCore(t *testing.T) {
	_, o := chamberRun(t, "freezer-run", 44*time.Hour, nil)
	got := o.Treatments[0]
	lag := *got.PlannedS - (14 * 24 * time.Hour).Seconds()
	if lag < 34*3600 || lag > 38*3600 {
		t.Errorf("planned lag %g s", lag)
	}
	// From eleven minutes after the start.
	began := (44*time.Hour - hm(0, 11)).Seconds() - got.LongestS
	if began < 0.9*lag || began > 1.1*lag {
		t.Errorf("the clock started after %g s, planned %g s", began, lag)
	}
	if got.Result != "open" || got.LongestS > got.TrueLongestS || got.LongestS < 3600 {
		t.Errorf("%+v", got)
	}
	t.Logf("lag planned %.0f s, run %.0f s; together %.0f s, truly %.0f s", lag, began, got.LongestS, got.TrueLongestS)
}

// An open door keeps the warning going and is written down; a
// person stops it and nobody opens a hot chamber.
func TestPeopleAtAChamber(t *testing.T) {
	r, o := chamberRun(t, "cabinet-run", hm(2, 0), func(s *Scenario) {
		s.Events = append(s.Events[:1],
			Event{At: hm(0, 8), Kind: DoorOpened, Target: "cabinet"}, Event{At: hm(0, 9), Kind: DoorClosed, Target: "cabinet"},
			Event{At: hm(1, 0), Kind: DoorOpened, Target: "cabinet"}, Event{At: hm(1, 1), Kind: DoorClosed, Target: "cabinet"},
			Event{At: hm(1, 50), Kind: TreatmentStopped, Target: "cabinet"}, Event{At: hm(1, 55), Kind: TreatmentReleased, Target: "cabinet"})
	})
	got := o.Treatments[0]
	if got.Result != "FAIL" || !strings.HasPrefix(got.Reason, "stopped by the keeper of the rehearsal: the story says so") || got.Stage != "cooling down" {
		t.Errorf("%+v", got)
	}
	if text := strings.Join(r.Desk().Deviations("cabinet"), "\n"); !strings.Contains(text, "the door was opened") {
		t.Error(text)
	}
	// Warned again from the ninth minute on.
	if r.treated.all[0].heatFrom < hm(0, 19) || r.treated.all[0].heatFrom > hm(0, 20) {
		t.Errorf("heat from %s", r.treated.all[0].heatFrom)
	}
}

// While the buzzer cannot be switched on nobody is warned, and nothing heats;
// once it sounds, ten whole minutes of it come first.
func TestNoHeatWithoutABuzzer(t *testing.T) {
	s, err := LoadScenario("../../testdata/treatments/cabinet-run.toml")
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.NewRun(Options{})
	if err != nil {
		t.Fatal(err)
	}
	heat, mended := time.Duration(0), hm(0, 40)
	for r.bench.Now() < hm(1, 0) {
		switch r.bench.Now() {
		case hm(0, 5):
			r.treated.bell.RefusesWrites(true)
		case mended:
			if v := r.Desk().Driver("cabinet").View(); !strings.Contains(v.Waits, "the buzzer, which cannot be switched on") {
				t.Error(v.Waits)
			}
			r.treated.bell.RefusesWrites(false)
		}
		if err := r.Step(); err != nil {
			t.Fatal(err)
		}
		if heat == 0 && r.bench.Heats(0) {
			heat = r.bench.Now()
		}
	}
	if heat < mended+10*time.Minute || heat > mended+11*time.Minute {
		t.Errorf("heat from %s on, the buzzer sounds from %s on", heat, mended)
	}
	if text := strings.Join(r.Desk().Deviations("cabinet"), "\n"); !strings.Contains(text, "the buzzer could not be switched on") {
		t.Error(text)
	}
}
