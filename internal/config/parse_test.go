package config

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// example returns the text of one of the example files.
func example(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "configs", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func apply(c Calibration, t physic.Temperature) physic.Temperature {
	a := c.Applied()
	return a.Apply(t)
}

func listed(problems []Problem) string {
	var b strings.Builder
	for _, p := range problems {
		fmt.Fprintf(&b, "%d:%d %s %s\n", p.Line, p.Column, p.Severity, p.Message)
	}
	return b.String()
}

func TestExamplesAreClean(t *testing.T) {
	for _, name := range []string{"tub.toml", "bench.toml", "reference.toml"} {
		cfg, problems := Parse(name, []byte(example(t, name)))
		if cfg == nil {
			t.Errorf("%s:\n%s", name, listed(problems))
			continue
		}
		for _, p := range problems {
			if p.Severity != Advice {
				t.Errorf("%s: %d:%d %s %s", name, p.Line, p.Column, p.Severity, p.Message)
			}
		}
	}
}

func TestTubIsReadWhole(t *testing.T) {
	cfg, problems := Parse("tub.toml", []byte(example(t, "tub.toml")))
	if cfg == nil {
		t.Fatal(listed(problems))
	}
	s := cfg.Stations[0]
	type values struct {
		setPoint, tooCold, cutoff, cutout, bound, coldest, warmest physic.Temperature
		differential, ramp                                         controller.Difference
		minOn, minOff                                              time.Duration
		pad, series                                                string
		shared, attended                                           bool
		tub                                                        Tub
	}
	got := values{s.SetPoint, s.TooCold, s.Cutoff, s.Cutout, s.FloorBound, s.RoomColdest, s.RoomWarmest,
		s.Differential, s.RampPerHour, s.MinOn, s.MinOff, s.PadRelay, s.SeriesRelay, s.SeriesShared, s.AttendedOnly, s.Tub}
	c := func(nano int64) physic.Temperature { return physic.ZeroCelsius + physic.Temperature(nano) }
	want := values{c(29444444444), c(26666666667), c(31666666667), c(35e9), c(35e9), c(16e9), c(27e9),
		277777778, 2 * controller.Kelvin, time.Minute, time.Minute, "pad-north", "series-north", false, false,
		Tub{Length: 0.4, Width: 0.28, Depth: 0.06, Height: 0.16, Wall: 0.0025, Material: "polypropylene", Insulation: 0.02, Lid: true,
			Holes: 24, HoleSize: 0.006, PadPower: 20, PadArea: 0.08, PadInsulation: 0.02}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	if p := s.Probes[0]; p.Role != controller.RoleControl || p.Address&0xff != 0x28 || !p.Calibration.Done ||
		apply(p.Calibration, c(0)) != c(120e6) || p.Calibration.Overdue(time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)) ||
		!p.Calibration.Overdue(time.Date(2027, 3, 3, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("probe: %+v", p)
	}
	if cfg.Relays[1].Line != (Line{Kind: GPIOLine, Chip: "/dev/gpiochip0", Pin: 6, ActiveLow: true}) {
		t.Errorf("relay: %+v", cfg.Relays[1])
	}
	if cfg.Socket != "/var/lib/soakwarden/socket" || len(cfg.Checksum) != 64 {
		t.Errorf("socket %q, checksum %q", cfg.Socket, cfg.Checksum)
	}
}

func TestRelaysOnlyReadsBrokenFiles(t *testing.T) {
	whole := example(t, "tub.toml")
	want := 2
	for what, text := range map[string]string{
		"unquoted temperature": strings.Replace(whole, `set_point = "85F"`, `set_point = 85F`, 1),
		"unclosed text":        strings.Replace(whole, `kind = "tub"`, `kind = "tub`, 1),
		"nothing else right":   strings.Replace(whole, `species = "python"`, `species = "dragon"`, 1) + "\nnonsense = 1\n",
		"unclosed header":      strings.Replace(whole, "[[station]]", "[[station]", 1),
		"cut short":            whole[:strings.Index(whole, "[[output]]")+7],
		"a byte that is none":  strings.Replace(whole, "carpet", "carp\xffet", 1),
		"wrong units":          strings.ReplaceAll(whole, "mm\"", "\""),
	} {
		if cfg, _ := Parse("x", []byte(text)); cfg != nil {
			t.Errorf("%s: taken", what)
		}
		if got := RelaysOnly([]byte(text)); len(got) != want || got[0].Name != "pad-north" || !got[1].Line.ActiveLow || got[1].Line.Pin != 6 {
			t.Errorf("%s: got %+v", what, got)
		}
	}
	half := strings.Replace(whole, `pin = "GPIO5"`, `pin = "five"`, 1)
	if got := RelaysOnly([]byte(half)); len(got) != 1 || got[0].Name != "series-north" {
		t.Errorf("one relay with a mistake: got %+v", got)
	}
	if got := RelaysOnly([]byte("\xff\x00 no text")); got != nil {
		t.Errorf("no text: got %+v", got)
	}
}
