package observer

import (
	"testing"
	"time"
)

// falls feeds two agreeing probes a course of temperatures, a value a second,
// and says at which second a fall was found, −1 for none.
func falls(t *testing.T, depth float64, guard bool, course func(second int) float64, touch func(second int, in *Input)) int {
	t.Helper()
	o, err := New(Params{Gain: 0.0005, Coast: 90, Depth: depth, SetPoint: 29.4, Differential: 0.28})
	if err != nil {
		t.Fatal(err)
	}
	for s := 1; s <= 1800; s++ {
		in := Input{Now: time.Duration(s) * time.Second}
		v := course(s)
		in.Probes[Control] = Reading{Value: v, Code: int16(16 * v), Valid: true, Believed: true, Fresh: true}
		if guard {
			in.Probes[Guard] = in.Probes[Control]
		}
		if touch != nil {
			touch(s, &in)
		}
		if o.Step(&in); o.Findings().Fell {
			return s
		}
	}
	return -1
}

// ramp stays at 29.4 °C for ten minutes and then falls by so many kelvin within
// a span of seconds.
func ramp(by, span float64) func(int) float64 {
	return func(s int) float64 { return 29.4 - by*clamp((float64(s)-600)/span, 0, 1) }
}

func TestFallFasterThanAnyLoss(t *testing.T) {
	for _, c := range []struct {
		name   string
		depth  float64
		guard  bool
		course func(int) float64
		found  bool
	}{
		{"both into air one kelvin cooler", 0.06, true, ramp(1, 30), true},
		{"the only one into air one kelvin cooler", 0.06, false, ramp(1, 30), true},
		{"two probes, 0.7 K", 0.06, true, ramp(0.7, 20), true},
		{"one probe, 0.7 K", 0.06, false, ramp(0.7, 20), true},
		{"0.4 K: layers do that", 0.06, false, ramp(0.4, 20), false},
		// 650 W/m² out of 48 mm are 3.2 mK/s: 3.9 K in twenty minutes.
		{"lid off in a cold draught", 0.06, true, ramp(3.8, 1200), false},
		{"the same out of 150 mm", 0.15, true, ramp(3.8, 600), true},
		{"the same out of 10 mm", 0.01, true, ramp(3.8, 300), false},
		{"a warm jug", 0.06, true, ramp(-3, 20), false},
	} {
		at := falls(t, c.depth, c.guard, c.course, nil)
		if (at >= 0) != c.found {
			t.Errorf("%s: found at %d", c.name, at)
		}
		if c.found && c.depth == 0.06 && at > 660 {
			t.Errorf("%s: found only at %d s, it fell at 600", c.name, at)
		}
	}
}

// What a person does is no fall; what happens four minutes later is one.
func TestFallUnderHandsIsNone(t *testing.T) {
	hands := func(s int, in *Input) { in.Attended = s > 540 && s < 620 }
	changed := func(s int, in *Input) { in.Changed = s == 605 }
	gap := func(s int, in *Input) {
		if s > 600 {
			in.Now += 5 * time.Minute
		}
	}
	for name, touch := range map[string]func(int, *Input){"hands": hands, "changed": changed, "gap": gap} {
		if at := falls(t, 0.06, true, ramp(2, 1), touch); at >= 0 {
			t.Errorf("%s: found at %d", name, at)
		}
	}
	late := func(s int) float64 { return 29.4 - 2*clamp((float64(s)-900)/15, 0, 1) }
	if at := falls(t, 0.06, true, late, hands); at < 0 {
		t.Error("a fall long after hands were in is not found")
	}
}

// The probe that is taken out of the mean does not look like a fall.
func TestFallOfASetIsNone(t *testing.T) {
	apart := func(s int, in *Input) {
		in.Probes[Guard].Value += 2
		in.Probes[Control].Believed = s < 1000 || s > 1200
		in.Probes[Guard].Believed = s < 600
	}
	if at := falls(t, 0.06, true, func(int) float64 { return 29.4 }, apart); at >= 0 {
		t.Errorf("found at %d", at)
	}
}
