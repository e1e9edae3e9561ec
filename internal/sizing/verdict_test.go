package sizing

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
)

var update = flag.Bool("update", false, "write the files that these tests compare with")

func example(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "configs", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// parsed reads an example with replacements made in it, in pairs.
func parsed(t *testing.T, name string, pairs ...string) *config.Config {
	t.Helper()
	text := example(t, name)
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("%s has no %q", name, pairs[i])
		}
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	cfg, problems := config.Parse(name, []byte(text))
	if cfg == nil {
		t.Fatal(config.Text(name, problems))
	}
	return cfg
}

func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		what    string
		pairs   []string
		verdict Verdict
		advice  string
	}{
		{"as it is", nil, Fits, "The cut-out at 35.0 °C (95.0 °F) stands between"},
		{"no cut-out", []string{`cutout = "35C"`, ``}, NeedsCutOut, "Fit an independent thermal cut-out with manual reset of at most 35 °C (95 °F)"},
		{"cold room", []string{`room_coldest = "16C"`, `room_coldest = "5C"`}, TooWeak, "W would be too strong for 6.7 L"},
		{"weak pad", []string{`pad = "20W"`, `pad = "12W"`}, TooWeak, "A pad of about 19 W would fit."},
		{"weak pad, no cut-out", []string{`pad = "20W"`, `pad = "12W"`, `cutout = "35C"`, ``}, TooWeak, "is too weak|Holding the set point"},
		{"far too strong", []string{`pad = "20W"`, `pad = "200W"`}, Dangerous, "too quick for anybody to act"},
		{"far too strong, no cut-out", []string{`pad = "20W"`, `pad = "200W"`, `cutout = "35C"`, ``}, Dangerous, "Fit an independent"},
		{"small and strong", []string{`pad = "20W"`, `pad = "60W", pad_length = "150mm", pad_width = "100mm"`}, Dangerous, "The floor over the pad gets to"},
		{"harmless", []string{`pad = "20W"`, `pad = "7W"`, `room_coldest = "16C"`, `room_coldest = "24C"`, `cutout = "35C"`, ``}, Fits, "no cut-out is needed for that"},
	} {
		cfg := parsed(t, "tub.toml", c.pairs...)
		s, err := SizeOf(&cfg.Stations[0])
		if err != nil {
			t.Fatal(err)
		}
		advice := strings.Join(s.Advice, " ")
		found := false
		for _, want := range strings.Split(c.advice, "|") {
			found = found || strings.Contains(advice, want)
		}
		if s.Verdict != c.verdict || !found {
			t.Errorf("%s: %s, want %s with %q\n%s", c.what, s.Verdict, c.verdict, c.advice, s.Text())
		}
	}
}

// A bound that needs the model is a mistake in the file, at its place, and keeps
// the controller from being built.
func TestBoundsThatNeedTheModel(t *testing.T) {
	for _, c := range []struct {
		what     string
		file     string
		pairs    []string
		severity config.Severity
		want     string
	}{
		{"no cut-out", "tub.toml", []string{`cutout = "35C"`, ``}, config.Error, "over the group's upper clinical value of 34.0 °C (93.2 °F): fit an independent thermal cut-out"},
		{"flux, unattended", "bench.toml", []string{"pad_length = \"280mm\"\n  pad_width = \"280mm\"", "pad_length = \"280mm\"\n  pad_width = \"140mm\""}, config.Error, "over 400 a floor probe is required"},
		{"flux, attended", "bench.toml", []string{"pad_length = \"280mm\"\n  pad_width = \"280mm\"", "pad_length = \"280mm\"\n  pad_width = \"140mm\"", `species = "corn snake"`, "species = \"corn snake\"\nattended_only = true"}, config.Advice, "over 200 a floor probe is advised"},
		{"too weak", "tub.toml", []string{`pad = "20W"`, `pad = "12W"`}, config.Warning, "is too weak"},
		{"floor", "tub.toml", []string{`pad = "20W"`, `pad = "60W", pad_length = "150mm", pad_width = "100mm"`}, config.Warning, "dangerous, so with an animal in it heats only while a person is present: The floor over the pad gets to"},
		{"material", "tub.toml", []string{`lid = true`, `lid = true, material = "cheese"`}, config.Error, `no material is named "cheese": write one of`},
		{"piece", "bench.toml", []string{`material = "slate"`, `material = "cheese"`}, config.Error, `piece slate: no material is named "cheese"`},
		{"limit", "bench.toml", []string{`material = "slate"`, `material = "pvc"`}, config.Warning, "is over what pvc stands, 60.0 °C"},
	} {
		cfg := parsed(t, c.file, c.pairs...)
		var found *config.Problem
		for _, p := range Check(cfg) {
			if p.Severity == c.severity && strings.Contains(p.Message, c.want) {
				found = &p
			}
		}
		if found == nil || found.Line < 10 || found.Column < 1 {
			t.Errorf("%s: no %s %q in %+v", c.what, c.severity, c.want, Check(cfg))
			continue
		}
		refused := false
		for i := range cfg.Stations {
			_, err := Settings(cfg, i)
			refused = refused || err != nil && strings.Contains(err.Error(), c.want)
		}
		if refused != (c.severity == config.Error) {
			t.Errorf("%s: settings refused: %v", c.what, refused)
		}
	}
}

// The controller takes what the examples are turned into.
func TestSettingsOfTheExamples(t *testing.T) {
	for _, name := range []string{"tub.toml", "bench.toml", "reference.toml"} {
		cfg := parsed(t, name)
		for i := range cfg.Stations {
			s, err := Settings(cfg, i)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := controller.New(s); err != nil {
				t.Errorf("%s, %s: %v", name, cfg.Stations[i].Name, err)
			}
		}
	}
	cfg := parsed(t, "tub.toml")
	s, err := Settings(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	l := s.Limits
	// P/C of 20 W on 6.72 L is 2.56 K/h; floor, walls and what goes down take
	// some of it.
	if k := float64(l.GainPerHour) / float64(controller.Kelvin); k < 2.0 || k > 2.56 {
		t.Errorf("gain %g K/h", k)
	}
	if l.Coast < 30*time.Second || l.Coast > 5*time.Minute || l.LossPerHour <= 0 || l.LossPerHour >= l.GainPerHour ||
		l.FloorRise <= 0 || l.LongestOn < 8*time.Hour || l.Flux != 250 || l.Depth != 60*physic.MilliMetre {
		t.Errorf("%+v", l)
	}
	if len(s.Probes) != 3 || !s.Probes[0].Calibrated || s.Probes[2].Role != controller.RoleFloor || !s.HasPad || !s.HasSeries || s.SeriesShared {
		t.Errorf("%+v", s)
	}
}

func TestJSONOfTheBenchIsTheGolden(t *testing.T) {
	sizes, err := SizeAll(parsed(t, "bench.toml"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := json.MarshalIndent(map[string]any{"stations": sizes}, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	text := string(got) + "\n"
	for _, s := range sizes {
		text += "\n" + s.Text()
	}
	path := filepath.Join("testdata", "bench.golden")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if text != string(want) {
		t.Errorf("run go test ./internal/sizing -run Golden -update and read the difference:\n%s", text)
	}
}

// A tub whose heat budget is dangerous is never heated unattended, whatever its
// configuration says.
func TestDangerousIsNeverLeftAlone(t *testing.T) {
	for _, c := range []struct {
		what, file string
		pairs      []string
		why        string
	}{
		{"as it is", "tub.toml", nil, ""},
		{"attended only", "tub.toml", []string{`species = "python"`, "species = \"python\"\nattended_only = true"}, "the configuration says attended_only"},
		{"dangerous", "tub.toml", []string{`pad = "20W"`, `pad = "200W", pad_length = "390mm", pad_width = "270mm"`}, "the heat budget is dangerous. "},
		{"dangerous, floor", "tub.toml", []string{`pad = "20W"`, `pad = "60W", pad_length = "150mm", pad_width = "100mm"`}, "The floor over the pad gets to"},
	} {
		cfg := parsed(t, c.file, c.pairs...)
		why, err := NeverAlone(&cfg.Stations[0])
		if err != nil || !strings.Contains(why, c.why) || (why == "") != (c.why == "") {
			t.Errorf("%s: %q, %v", c.what, why, err)
		}
		s, err := Settings(cfg, 0)
		if err != nil || s.AttendedOnly != (c.why != "") {
			t.Errorf("%s: attended only %v, %v", c.what, s.AttendedOnly, err)
		}
	}
	cfg := parsed(t, "bench.toml")
	if why, err := NeverAlone(&cfg.Stations[2]); why != "" || err != nil {
		t.Errorf("a chamber: %q, %v", why, err)
	}
}
