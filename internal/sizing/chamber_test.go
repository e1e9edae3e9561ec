package sizing

import (
	"math"
	"strings"
	"testing"
)

func TestChamberVerdicts(t *testing.T) {
	for _, c := range []struct {
		what    string
		pairs   []string
		verdict Verdict
		advice  string
	}{
		{"as it is", nil, Fits, "the cut-out at 80.0 °C (176.0 °F) stands before that"},
		{"no cut-out", []string{`cutout = "80C"`, ``, `heater = "250W"`, `heater = "200W"`}, NeedsCutOut, "over the limit of 70.0 °C (158.0 °F). Fit an independent"},
		{"strong, no cut-out", []string{`cutout = "80C"`, ``, `heater = "250W"`, `heater = "1kW"`}, Dangerous, "that is a fire"},
		{"weak", []string{`heater = "250W"`, `heater = "80W"`}, TooWeak, "does not bring every core to the set point"},
	} {
		cfg := parsed(t, "bench.toml", c.pairs...)
		s, err := SizeOf(&cfg.Stations[2])
		if err != nil {
			t.Fatal(err)
		}
		if s.Verdict != c.verdict || !strings.Contains(s.Text(), c.advice) {
			t.Errorf("%s: %s, want %s with %q\n%s", c.what, s.Verdict, c.verdict, c.advice, s.Text())
		}
	}
}

// What a chamber loses at rest is known in closed form: the air it exchanges,
// and what goes through the wall (film, inner wall, foam) over its faces. The
// inner wall is in the series with the half that the model counts outside.
func TestChamberHoldsByClosedForm(t *testing.T) {
	cfg := parsed(t, "bench.toml")
	st := &cfg.Stations[2]
	s, err := SizeOf(st)
	if err != nil {
		t.Fatal(err)
	}
	const (
		film     = 20.0   // W/m²K, fan on
		plastic  = 0.22   // W/mK, polypropylene (EN 12524)
		air      = 1200.0 // J/m³K
		setPoint = 59.0
		coldest  = 16.0
		face     = 2 * (0.9*0.5 + 0.9*0.7 + 0.5*0.7)
	)
	// The model leaves out the outermost quarter of the inner wall.
	through := face / (1/film + 0.75*0.005/plastic + 0.04/foam)
	leak := air * 0.9 * 0.5 * 0.7 * 0.3 / 3600
	want := (through + leak) * (setPoint - coldest)
	if got := *s.HoldPower; math.Abs(got-want) > 0.03*want {
		t.Errorf("hold power %g W, by closed form %g W", got, want)
	}
	stuck := 24 + 250/(through+leak)
	if got := *s.StuckOn; math.Abs(got-stuck) > 1.5 {
		t.Errorf("stuck on %g °C, by closed form %g °C", got, stuck)
	}
}

func TestWordsForPeople(t *testing.T) {
	for seconds, want := range map[float64]string{
		0: "0 s", 119: "119 s", 120: "2 min", 3600: "60 min", 7200: "2 h 0 min", 86400: "24 h 0 min", 200000: "2.3 days", math.Inf(1): "never",
	} {
		if got := clock(seconds); got != want {
			t.Errorf("%g: got %q, want %q", seconds, got, want)
		}
	}
	if got := both(29.4444); got != "29.4 °C (85.0 °F)" {
		t.Error(got)
	}
	if watts(9.96) != "10.0 W" || watts(24.6) != "25 W" || given(math.NaN()) != nil {
		t.Error("numbers are written differently")
	}
}
