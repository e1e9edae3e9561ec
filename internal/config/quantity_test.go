package config

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

func TestTemperatures(t *testing.T) {
	// Exact values: °C = (°F − 32)·5/9 and 0 °C = 273.15 K by definition.
	for s, nano := range map[string]int64{
		"85F": 29444444444, "85 F": 29444444444, "85 °F": 29444444444, "85°F": 29444444444, "85° F": 29444444444, "85f": 29444444444,
		"29.4C": 29400000000, "29.4 °C": 29400000000, "+29.4C": 29400000000, "32F": 0, "212F": 100e9,
		"-40C": -40e9, "-40F": -40e9, "−40F": -40e9, "90F": 32222222222, "0.000000001C": 1, "85\u00a0°F": 29444444444,
	} {
		got, err := ParseTemperature(s)
		if want := physic.ZeroCelsius + physic.Temperature(nano); err != nil || got != want {
			t.Errorf("%q: got %d (%v), want %d", s, got-physic.ZeroCelsius, err, nano)
		}
	}
	for s, want := range map[string]string{
		"85": `write "85F" or "29.4C"`, "29.4": `write "29.4C" or "84.9F"`, "": "does not begin with a number", "C": "does not begin with a number",
		"85mC": `the unit "mC"`, "85K": `the unit "K"`, "1.2.3C": "number", "29,4C": "decimal comma", "1e3C": `the unit "e3C"`,
		"12345678901C": "more digits", "NaNC": "number", "-300C": "absolute zero", "85 F bath": "the unit", "٣C": "number", "--5C": "number",
	} {
		if got, err := ParseTemperature(s); err == nil || !strings.Contains(err.Error(), want) || got != 0 {
			t.Errorf("%q: got %d, %v, want an error with %q", s, got, err, want)
		}
	}
}

func TestDifferences(t *testing.T) {
	for s, want := range map[string]controller.Difference{
		"0.5F": 277777778, "0.28K": 280 * controller.MilliKelvin, "1C": controller.Kelvin, "-1.5K": -1500 * controller.MilliKelvin,
		"+0.12 K": 120 * controller.MilliKelvin, "9F": 5 * controller.Kelvin, "0.5 °F": 277777778,
	} {
		if got, err := ParseDifference(s); err != nil || got != want {
			t.Errorf("%q: got %d (%v), want %d", s, got, err, want)
		}
	}
	for _, s := range []string{"0.5", "0.5G", "", "F"} {
		if _, err := ParseDifference(s); err == nil || !strings.Contains(err.Error(), "write") {
			t.Errorf("%q: %v", s, err)
		}
	}
}

func TestQuantities(t *testing.T) {
	near := func(got float64, err error, want float64) bool {
		return err == nil && got > want-1e-12-want*1e-12 && got < want+1e-12+want*1e-12
	}
	// Inch 25.4 mm, pound 0.45359237 kg: exact by definition.
	for _, c := range []struct {
		s     string
		parse func(string) (float64, error)
		want  float64
	}{
		{"400mm", ParseLength, 0.4}, {"40 cm", ParseLength, 0.4}, {"0.4m", ParseLength, 0.4}, {"16in", ParseLength, 0.4064}, {"1ft", ParseLength, 0.3048},
		{"20W", ParsePower, 20}, {"1.2kW", ParsePower, 1200}, {"12%", ParsePercent, 0.12}, {"36L/h", ParseFlow, 1e-5}, {"60 L/min", ParseFlow, 1e-3},
		{"2lb", masses.parse, 0.90718474}, {"200MB", sizes.parse, 2e8}, {"6cm²", areas.parse, 6e-4},
	} {
		if got, err := c.parse(c.s); !near(got, err, c.want) {
			t.Errorf("%q: got %g (%v), want %g", c.s, got, err, c.want)
		}
	}
	for _, s := range []string{"400", "400 parsecs", "mm", "", "4e2mm"} {
		if _, err := ParseLength(s); err == nil || !strings.Contains(err.Error(), "write a length") {
			t.Errorf("%q: %v", s, err)
		}
	}
	for s, want := range map[string]time.Duration{"90s": 90 * time.Second, "1h30m": 90 * time.Minute, "7d": 168 * time.Hour, " 48h ": 48 * time.Hour} {
		if got, err := ParseDuration(s); err != nil || got != want {
			t.Errorf("%q: got %v (%v)", s, got, err)
		}
	}
	for s, want := range map[string]string{"90": `write "90s" for seconds`, "soon": "is no duration", "1.5d": "is no duration", "": "is no duration"} {
		if _, err := ParseDuration(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", s, err)
		}
	}
}
