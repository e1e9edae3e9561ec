package page

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

func TestTreatmentInWords(t *testing.T) {
	v := &loop.StationView{Kind: controller.Chamber}
	if treatmentOf(v, status.Celsius) != nil {
		t.Error("a treatment of nothing")
	}
	v.Treatment = &loop.TreatmentView{
		Number: "cabinet-0001", Schedule: "core-56-30min", Stage: "holding", Running: true, Hold: 30 * time.Minute,
		Together: 5*time.Minute + 7*time.Second, Longest: 12 * time.Minute, Left: 90 * time.Minute,
		Slowest: 1, Piece: "plank", Behind: 1250 * controller.MilliKelvin, Waits: "the time", Result: "open",
	}
	got := *treatmentOf(v, status.Celsius)
	if got.Slowest != "plank, 1.2 K short of the target, its uncertainty counted" && got.Slowest != "plank, 1.3 K short of the target, its uncertainty counted" && got.Slowest != "plank, 1.25 K short of the target, its uncertainty counted" {
		t.Errorf("%q", got.Slowest)
	}
	if got.Together != "5:07 min" || got.Longest != "12:00 min" || got.Left != "1:30 h" || got.Result != "" || got.Failed {
		t.Errorf("%+v", got)
	}
	v.Treatment.Behind, v.Treatment.Running, v.Treatment.Result, v.Treatment.Reason = 0, false, "FAIL", "stopped by <b>"
	if got := *treatmentOf(v, status.Celsius); got.Slowest != "plank, past the target" || got.Result != "FAIL" || !got.Failed || got.Left != "" {
		t.Errorf("%+v", got)
	}
	if spanWord(14*24*time.Hour) != "14.0 days" {
		t.Error(spanWord(14 * 24 * time.Hour))
	}
	var b strings.Builder
	s := stationView{Name: "cabinet", Treatment: treatmentOf(v, status.Celsius)}
	if err := templates.ExecuteTemplate(&b, "station", s); err != nil {
		t.Fatal(err)
	}
	if text := b.String(); !strings.Contains(text, "treatment cabinet-0001") || !strings.Contains(text, "stopped by &lt;b&gt;") || strings.Contains(text, "left") {
		t.Error(text)
	}
}

// The target of a treatment is its schedule's. What the air is given is more,
// and the slowest point need not reach that.
func TestSlowestPointIsHeldAgainstTheSchedule(t *testing.T) {
	v := &loop.StationView{
		Kind: controller.Chamber, SetPoint: celsius(59),
		Probes:    []loop.ProbeView{{Role: controller.RoleCore, Reading: controller.Reading{Quality: controller.Good, Value: celsius(20)}}},
		Treatment: &loop.TreatmentView{Target: celsius(56), Running: true},
	}
	for reading, want := range map[float64]string{21.5: "34.5 K under the target", 56.5: "past the target"} {
		if got := chamberPhrase(v, celsius(reading), status.Celsius); !strings.HasSuffix(got, want) {
			t.Errorf("at %g °C: %s; want %s", reading, got, want)
		}
	}
	// Without a treatment the hottest point tells whether it may be opened.
	v.Treatment = nil
	v.Probes = append(v.Probes, loop.ProbeView{Role: controller.RoleAir, Reading: controller.Reading{Quality: controller.Good, Value: celsius(31)}})
	for _, over := range []*loop.TreatmentView{nil, {Target: celsius(56)}} {
		v.Treatment = over
		if got, _ := shown(v); got != celsius(31) || chamberPhrase(v, got, status.Celsius) != "hottest point, air" {
			t.Errorf("%v: %v, %s", over, got, chamberPhrase(v, got, status.Celsius))
		}
	}
	v.SetPoint = celsius(-24)
	if got, _ := shown(v); got != celsius(20) || chamberPhrase(v, got, status.Celsius) != "coldest point, core" {
		t.Errorf("freezer: %v", got)
	}
	v.Treatment = &loop.TreatmentView{Target: celsius(-18), Running: true}
	if got, _ := shown(v); got != celsius(31) || !strings.HasSuffix(chamberPhrase(v, got, status.Celsius), "air, 49.0 K over the target") {
		t.Errorf("freezer: %v", got)
	}
}
