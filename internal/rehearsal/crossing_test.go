package rehearsal

import (
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
)

// A crossing that was found holds until a person has the wiring proved anew,
// and is then forgotten: put right, both tubs prove themselves and heat again.
func TestACrossingIsOverWhenTheWiringWasProvedAnew(t *testing.T) {
	s, err := LoadScenario("../../testdata/scenarios/probes-swapped-warm.toml")
	if err != nil {
		t.Fatal(err)
	}
	const righted = 8 * time.Hour
	s.Faults[0].Until = righted
	r, err := s.NewRun(Options{})
	if err != nil {
		t.Fatal(err)
	}
	wrong := func() (n int) {
		for _, st := range r.Loop().Snapshot().Stations {
			for _, a := range st.Alarms {
				if a.Cause == controller.WrongTub && a.State == alarm.Unacknowledged {
					n++
				}
			}
		}
		return n
	}
	to := func(at time.Duration) {
		t.Helper()
		for r.Bench().Now() < at {
			if err := r.Step(); err != nil {
				t.Fatal(err)
			}
		}
	}
	to(righted + 30*time.Minute)
	if wrong() != 2 {
		t.Fatalf("%d tubs stand as crossed after the probes were put right and nobody said so, want 2", wrong())
	}
	// Of one tub the floor probe came along: its pad was proven dead. Whoever
	// put the probes right says so.
	dead := controller.Act{Kind: controller.Reset, Cause: controller.NoRise, Place: controller.Board, Seen: controller.SeenPad}
	if _, ok := r.Loop().Submit(loop.ActRequest{Station: "north", Act: dead}); !ok {
		t.Fatal("the act was not taken")
	}
	for _, name := range []string{"north", "south"} {
		for _, kind := range []controller.ActKind{controller.ConfirmFill, controller.Prove} {
			if _, ok := r.Loop().Submit(loop.ActRequest{Station: name, Act: controller.Act{Kind: kind, Place: controller.Board}}); !ok {
				t.Fatal("the act was not taken")
			}
		}
	}
	to(righted + 30*time.Minute + 10*time.Second)
	if wrong() != 0 {
		t.Error("the crossing still stands after the wiring was proved anew")
	}
	to(righted + 3*time.Hour)
	for _, st := range r.Loop().Snapshot().Stations[:2] {
		if st.Reason == controller.WrongTub || !st.Permitted {
			t.Errorf("%s does not heat again: %v", st.Name, st.Reason)
		}
	}
}
