package sim

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// envelope is five tubs from one end of what the program is for to the other.
// Invented.
var envelope = []struct {
	name string
	tub  TubSpec
}{
	{"shallow box, 10 mm", TubSpec{Length: 0.35, Width: 0.22, Depth: 0.010, PadPower: 10, Lid: true, Insulation: 0.2, Animal: 0.15}},
	{"small tub, 40 mm", TubSpec{Length: 0.36, Width: 0.24, Depth: 0.040, PadPower: 12, Lid: true, Insulation: 0.1, Animal: 0.6}},
	{"bench tub, 60 mm", TubSpec{Length: 0.40, Width: 0.28, Depth: 0.060, PadPower: 23, Lid: true, Animal: 1.5}},
	{"large tub, 100 mm", TubSpec{Length: 0.60, Width: 0.40, Depth: 0.100, PadPower: 60, Lid: true, Animal: 4}},
	{"trough, 150 mm, no lid", TubSpec{Length: 0.80, Width: 0.45, Depth: 0.150, PadPower: 180, Insulation: 0.3, Animal: 9}},
}

// envelopeTable writes what the model says of the five tubs as a table.
func envelopeTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| tub | water | pad | 5 K warm-up | duty at 29.4 °C | evaporation | stuck on | from 29.4 to 31.7 °C, stuck on | power cut, 29.4 to 26.7 °C | floor under the animal | coast |\n")
	b.WriteString("|---|---|---|---|---|---|---|---|---|---|---|\n")
	for _, e := range envelope {
		r, err := Size(SizeSpec{Tub: e.tub, SetPoint: 29.4, TooCold: 26.7, Cutoff: 31.7, Fill: 24.4, RoomColdest: 20, RoomWarmest: 26})
		if err != nil {
			t.Fatal(err)
		}
		litres := 1000 * e.tub.Length * e.tub.Width * e.tub.Depth
		fmt.Fprintf(&b, "| %s | %.1f L | %.0f W, %.1f W/L | %s | %.0f %% | %.2f L/day | %.1f °C | %s | %s | %.1f °C | %.0f s, %.2f K |\n",
			e.name, litres, e.tub.PadPower, e.tub.PadPower/litres, hours(r.WarmUp), 100*r.HoldShare, r.Evaporation, r.StuckOn, hours(r.StuckOnCutoff), hours(r.PowerCut), r.Floor, r.Coast, r.CoastRise)
	}
	return b.String()
}

func hours(s float64) string {
	switch {
	case math.IsInf(s, 1):
		return "never"
	case s < 5400:
		return fmt.Sprintf("%.0f min", s/60)
	}
	return fmt.Sprintf("%.1f h", s/3600)
}

// The table that the README shows, written anew with SOAKWARDEN_WRITE=1. Room 20 °C
// for warm-up, duty, evaporation and power cut, 26 °C for stuck on.
func TestEnvelopeTable(t *testing.T) {
	const path = "../testdata/reference/envelope.md"
	got := envelopeTable(t)
	if os.Getenv("SOAKWARDEN_WRITE") == "1" {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the table is\n%s\nwant\n%s", got, want)
	}
}
