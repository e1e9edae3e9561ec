package daemon

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// A target that was held and is lost, a FAIL and a chamber that waits are told
// once each and for as long as they last; a core that flickers about the target
// as it arrives is not.
func TestTreatmentsAreTold(t *testing.T) {
	v := &loop.TreatmentView{Number: "cabinet-0001", Running: true, Stage: "heating to the target", Result: "open"}
	wall := time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)
	snap := &loop.Snapshot{Wall: wall, Stations: []loop.StationView{
		{Name: "north", Kind: controller.Tub}, {Name: "cabinet", Kind: controller.Chamber, Treatment: v},
	}}
	clocks := map[string]heldClock{}
	look := func(why string, want ...string) {
		t.Helper()
		snap.Wall = snap.Wall.Add(time.Minute)
		list := treatmentAlarms(snap, clocks)
		if len(list) != len(want) {
			t.Errorf("%s: %+v, want %q", why, list, want)
			return
		}
		for i, a := range list {
			if !strings.HasPrefix(a.Name, want[i]) || !strings.HasSuffix(a.Name, "in treatment "+v.Number) || a.Station != "cabinet" || a.Advice == "" {
				t.Errorf("%s: %+v, want %q", why, a, want[i])
			}
		}
	}
	if treatmentAlarms(nil, clocks) != nil {
		t.Error("told before the first tick")
	}
	look("on its way")
	v.Together = 5 * time.Minute
	look("just there")
	v.Together = 0
	look("flickers")
	v.Together = 10 * time.Minute
	look("holds")
	v.Together = 0
	look("lost", "target lost")
	since := snap.Wall
	look("still lost", "target lost")
	if got := treatmentAlarms(snap, clocks)[0].At; !got.Equal(since) {
		t.Errorf("lost since %s, told since %s", since, got)
	}
	v.Together = time.Minute
	look("there again")
	v.Together, v.Running, v.Failed, v.Stage = 0, false, true, "cooling down"
	look("failed", "FAIL")
	v.Awaits, v.Stage = true, "waits for release"
	look("failed and cool", "FAIL", "over and safe to open")
	v.Failed = false
	look("passed and cool", "over and safe to open")
	snap.Stations[1].Treatment = nil
	look("released")
	if len(clocks) != 0 {
		t.Errorf("remembered: %+v", clocks)
	}
}

// The message of a finished treatment carries the chain value that pins its
// record, and says so when there is none that can be relied upon.
func TestFinishedTreatmentIsPinned(t *testing.T) {
	v := &loop.TreatmentView{Number: "cabinet-0001", Result: "PASS", Awaits: true}
	snap := &loop.Snapshot{
		Stations: []loop.StationView{{Name: "cabinet", Kind: controller.Chamber, Treatment: v}},
		Journal:  loop.JournalView{OK: true, Entries: 12, Durable: 12, Head: "abc123"},
	}
	why := func() string { return treatmentAlarms(snap, map[string]heldClock{})[0].Why }
	if got := why(); !strings.Contains(got, "PASS") || !strings.Contains(got, "abc123 over 12 entries") {
		t.Errorf("%q", got)
	}
	snap.Journal.Durable = 11
	if got := why(); strings.Contains(got, "abc123") || !strings.Contains(got, "no chain value") {
		t.Errorf("not on disk: %q", got)
	}
}
