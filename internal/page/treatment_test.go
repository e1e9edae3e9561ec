package page

import (
	"math"
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

// The scale of a chamber is hatched where a treatment counts: from the target up
// when heating, from it down when freezing. Without a treatment it says that
// what it shows is the set point.
func TestScaleOfAChamber(t *testing.T) {
	heat := &loop.StationView{Kind: controller.Chamber, SetPoint: celsius(59), Cutoff: celsius(70), Treatment: &loop.TreatmentView{Target: celsius(56), Running: true}}
	cold := &loop.StationView{Kind: controller.Chamber, SetPoint: celsius(-24), Cutoff: celsius(75), Treatment: &loop.TreatmentView{Target: celsius(-18), Running: true}}
	idle := &loop.StationView{Kind: controller.Chamber, SetPoint: celsius(59), Cutoff: celsius(70)}
	for name, c := range map[string]struct {
		v       *loop.StationView
		word    string
		from    float64
		up      bool
		limited bool
	}{
		"heating": {heat, "target", 56, true, true}, "freezing": {cold, "target", -18, false, false}, "idle": {idle, "set point", 59, true, true},
	} {
		s := scaleOf(c.v, 28, 222)
		drawn := &canvas{}
		s.draw(drawn, c.v, status.Celsius, 0, false)
		band, word, limit := false, false, false
		for _, p := range drawn.Strokes {
			switch {
			case p.Fill == "url(#hatch-band)" && c.up:
				band = p.Y == s.top && math.Abs(p.Y+p.H-s.y(c.from)) < 0.1
			case p.Fill == "url(#hatch-band)":
				band = math.Abs(p.Y-s.y(c.from)) < 0.1 && math.Abs(p.Y+p.H-s.floor) < 0.1
			case p.Text == c.word:
				word = true
			case p.Text == "limit":
				limit = true
			}
		}
		if !band || !word || limit != c.limited {
			t.Errorf("%s: band %v, word %v, limit %v", name, band, word, limit)
		}
	}
}
