package rehearsal

import (
	"fmt"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/sim/rig"
)

// moments are three places of a heating cycle after the tub has settled: in
// the middle of the heat, just after it was switched off, and late in the
// pause. They are read off a run without a fault.
func moments(t *testing.T, s Scenario) [3]time.Duration {
	t.Helper()
	s.Faults = nil
	var switches []time.Duration
	var on []bool
	heat := false
	_, err := s.Run(Options{Every: time.Second, Sample: func(m *Sample) error {
		if now := m.Stations[0].HeatOn; now != heat && m.At > 7*time.Hour {
			heat = now
			switches, on = append(switches, m.At), append(on, now)
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+2 < len(switches); i++ {
		if on[i] {
			heats, rests := switches[i+1]-switches[i], switches[i+2]-switches[i+1]
			return [3]time.Duration{
				switches[i] + heats/2, switches[i+1] + 10*time.Second, switches[i+1] + rests*3/4,
			}
		}
	}
	t.Fatal("the tub does not cycle")
	return [3]time.Duration{}
}

// Every fault at three moments of a cycle: the judges are content, and the
// right cause is recorded, except where the note says why there is none.
func TestEveryFaultAtThreeMomentsOfACycle(t *testing.T) {
	base, err := LoadScenario(scenarios + "/fault-base.toml")
	if err != nil {
		t.Fatal(err)
	}
	at := moments(t, *base)
	for _, c := range []struct {
		fault  rig.Fault
		length time.Duration // zero: for good
		right  []controller.Cause
	}{
		{fault: rig.Fault{Kind: rig.RelayWelded, Target: "pad-north"}, right: tooMuch},
		{fault: rig.Fault{Kind: rig.RelayOpen, Target: "pad-north"}, right: noAnswer},
		{fault: rig.Fault{Kind: rig.RelayOpen, Target: "series-north"}, right: noAnswer},
		{fault: rig.Fault{Kind: rig.PadDead, Target: "north"}, right: noAnswer},
		{fault: rig.Fault{Kind: rig.PadsLost}, right: noAnswer},
		{fault: rig.Fault{Kind: rig.ProbeSilent, Target: "north/control"}, right: []controller.Cause{controller.ProbeSilent}},
		{fault: rig.Fault{Kind: rig.ProbeSilent, Target: "north/guard"}, right: []controller.Cause{controller.ProbeSilent}},
		{fault: rig.Fault{Kind: rig.ProbeFrozen, Target: "north/control"}, right: []controller.Cause{controller.ProbeFrozen, controller.ProbeJumped, controller.ProbesDiffer}},
		{fault: rig.Fault{Kind: rig.ProbeOffset, Target: "north/control", Amount: -2}, right: moved},
		{fault: rig.Fault{Kind: rig.ProbeOffset, Target: "north/guard", Amount: 1.5}, right: append(moved, tooMuch...)},
		{fault: rig.Fault{Kind: rig.ProbePowerOnValue, Target: "north/control"}, right: []controller.Cause{controller.ProbeImplausible}},
		{fault: rig.Fault{Kind: rig.ProbeOutOfWater, Target: "north/control", Where: "air"}, right: moved},
		{fault: rig.Fault{Kind: rig.ProbeOutOfWater, Target: "north/guard", Where: "floor"}, right: append(moved, tooMuch...)},
		{fault: rig.Fault{Kind: rig.BusShorted, Target: "header"}, right: []controller.Cause{controller.ProbeImplausible}},
		{fault: rig.Fault{Kind: rig.BusHung, Target: "header"}, right: []controller.Cause{controller.ProbeSilent}},
		{fault: rig.Fault{Kind: rig.RelayRefuses, Target: "pad-north"}, right: []controller.Cause{controller.RelayUnwritable}},
		{fault: rig.Fault{Kind: rig.RelayRefuses, Target: "series-north"}, right: []controller.Cause{controller.RelayUnwritable}},
		// A lid that is off is no fault; it must trip nothing.
		{fault: rig.Fault{Kind: rig.LidOff, Target: "north"}, length: 30 * time.Minute},
		// While the board has no power nobody is there to say so.
		{fault: rig.Fault{Kind: rig.MainsLost}, length: 20 * time.Minute},
		{fault: rig.Fault{Kind: rig.DaemonKilled}, length: time.Second},
	} {
		for i, moment := range at {
			name := fmt.Sprintf("%s %s, moment %d", c.fault.Kind, c.fault.Target, i+1)
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				s := *base
				f := c.fault
				f.At = moment
				if c.length > 0 {
					f.Until = moment + c.length
				}
				s.Faults = []rig.Fault{f}
				r, err := s.NewRun(Options{})
				if err != nil {
					t.Fatal(err)
				}
				for r.bench.Now() < s.Duration {
					if err := r.Step(); err != nil {
						t.Fatal(err)
					}
				}
				for _, v := range r.watcher.objections() {
					t.Errorf("%s: %s", v.Judge, v.Text)
				}
				if _, acted := r.bench.FirstEffect(); !acted {
					t.Fatal("the fault never had an effect")
				}
				found := false
				for _, raised := range r.watcher.stations[0].raised {
					for _, right := range c.right {
						found = found || raised.since != nil && raised.cause == right
					}
				}
				if len(c.right) > 0 && !found {
					t.Errorf("no right cause in %v", r.watcher.stations[0].raised)
				}
				if c.fault.Kind == rig.LidOff && len(r.watcher.stations[0].trips) > 0 {
					t.Errorf("an open lid tripped: %v", r.watcher.stations[0].trips)
				}
			})
		}
	}
}
