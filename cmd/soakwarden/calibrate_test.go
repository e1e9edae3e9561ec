package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soakwarden/internal/config"
	"soakwarden/sensors"
)

// csvOf writes invented readings of a probe that stands still.
func csvOf(t *testing.T, dir, name, header string, values ...float64) string {
	t.Helper()
	var text strings.Builder
	fmt.Fprintf(&text, "time,%s\n", header)
	at := time.Date(2026, 3, 1, 10, 0, 0, 0, time.UTC)
	for i := range 20 {
		fmt.Fprintf(&text, "%s,%v\n", at.Add(time.Duration(i)*time.Second).Format(time.RFC3339), values[i%len(values)])
	}
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(text.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func calibrated(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out, errOut bytes.Buffer
	if got := run(append([]string{"calibrate"}, args...), &out, &errOut); got != want {
		t.Fatalf("calibrate %s: exit %d, want %d\n%s%s", strings.Join(args, " "), got, want, out.String(), errOut.String())
	}
	return out.String() + errOut.String()
}

const probeROM = "28-0316a2795cff"

func TestCalibratePrintsLinesThatTheConfigurationTakes(t *testing.T) {
	dir := t.TempDir()
	ice := csvOf(t, dir, "ice.csv", probeROM+" [C]", 0.5, 0.5625)
	warm := csvOf(t, dir, "warm.csv", "probe (°F)", 104.9)
	out := calibrated(t, 0, "--probe", probeROM, "--at", "ice", "--readings", ice, "--at", "40C", "--readings", warm, "--date", "2026-03-01")
	_, lines, found := strings.Cut(out, "\noffset")
	if !found {
		t.Fatal(out)
	}
	text := benchWith("  offset" + strings.ReplaceAll(lines, "\n", "\n  "))
	cfg, problems := config.Parse("x.toml", []byte(text))
	for _, p := range problems {
		if p.Severity == config.Error {
			t.Errorf("line %d: %s", p.Line, p.Message)
		}
	}
	if cfg == nil {
		t.Fatal(text)
	}
	c := cfg.Stations[0].Probes[0].Calibration.Applied()
	if c.Points != 2 || c.Uncertainty <= 0 || c.Date.Format(time.DateOnly) != "2026-03-01" || c.Method != "ice point and reference at 40C" {
		t.Errorf("%+v", c)
	}
	// The probe reads half a kelvin high in ice: corrected it must read zero.
	if got := c.Apply(c.Corrections[0].At); got != sensors.IcePoint {
		t.Errorf("corrected to %s", got)
	}
}

// benchWith is a tub with one probe that carries the lines.
func benchWith(lines string) string {
	return `name = "x"
[journal]
path = "journal.db"
[[bus]]
name = "header"
kind = "kernel"
[[relay]]
name = "heat"
pin = "GPIO17"
on_when = "high"
[[relay]]
name = "series"
pin = "GPIO18"
on_when = "high"
[[station]]
name = "south"
kind = "tub"
species = "python"
attended_only = true
set_point = "85F"
differential = "0.5F"
too_cold = "80F"
cutoff = "89F"
pad_relay = "heat"
series_relay = "series"
room_coldest = "16C"
room_warmest = "27C"
cutout = "35C"
tub = { length = "400mm", width = "280mm", depth = "60mm", pad = "20W", lid = true }
  [[station.probe]]
  role = "control"
  bus = "header"
  rom = "` + probeROM + `"
` + lines + "\n"
}

func TestCalibrateJSON(t *testing.T) {
	file := csvOf(t, t.TempDir(), "a.csv", probeROM+" [C]", 29.5, 29.5625)
	out := calibrated(t, 0, "--json", "--probe", probeROM, "--at", "29.43C", "--readings", file)
	var r struct {
		Probe       string
		Points      []map[string]float64
		Uncertainty float64 `json:"uncertainty_k"`
		Budget      []struct{ Source string }
		TOML        string
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Probe != probeROM || len(r.Points) != 1 || len(r.Budget) != 6 || r.Uncertainty < 0.1 || r.Uncertainty > 0.4 || !strings.Contains(r.TOML, "offset = \"-0.101K\"") {
		t.Errorf("%s", out)
	}
}

func TestCalibrateSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	file := csvOf(t, dir, "a.csv", probeROM+" [C]", 0.0625)
	off := csvOf(t, dir, "off.csv", probeROM+" [C]", 4)
	for want, args := range map[string][]string{
		"malformed":           {"--probe", "x", "--at", "ice", "--readings", file},
		"or write ice":        {"--probe", probeROM, "--at", "cold", "--readings", file},
		"one for each --at":   {"--probe", probeROM, "--at", "ice"},
		"--from":              {"--probe", probeROM, "--at", "ice", "--readings", file, "--from", "26"},
		"--to":                {"--probe", probeROM, "--at", "ice", "--readings", file, "--to", "26"},
		"--drift":             {"--probe", probeROM, "--at", "ice", "--readings", file, "--drift", "1"},
		"--due":               {"--probe", probeROM, "--at", "ice", "--readings", file, "--due", "soon"},
		"reference-uncertain": {"--probe", probeROM, "--at", "ice", "--readings", file, "--reference-uncertainty", "1"},
		"no such file":        {"--probe", probeROM, "--at", "ice", "--readings", file + "x"},
		"line 1":              {"--probe", probeROM, "--at", "ice", "--readings", filepath.Join(dir, "unit.csv")},
		"one bath at a time":  {"--probe", probeROM, "--at", "ice", "--at", "40C", "-c", "x.toml"},
		"too few":             {"--probe", probeROM, "--at", "ice", "-c", "x.toml", "--count", "3"},
	} {
		if want == "line 1" {
			csvOf(t, dir, "unit.csv", probeROM, 1)
			want = "no unit"
		}
		if out := calibrated(t, 2, args...); !strings.Contains(out, want) {
			t.Errorf("%v: %s, want %q", args, out, want)
		}
	}
	if out := calibrated(t, 1, "--probe", probeROM, "--at", "ice", "--readings", off); !strings.Contains(out, "replace the probe") {
		t.Error(out)
	}
}

// Live, from a folder in the kernel's shape: ten readings, saved and fitted
// again from the file.
func TestCalibrateReadsLive(t *testing.T) {
	dir := t.TempDir()
	root := filepath.Join(dir, "devices")
	if err := os.MkdirAll(filepath.Join(root, probeROM), 0o755); err != nil {
		t.Fatal(err)
	}
	const text = "08 00 4b 46 7f ff 08 10 d9 : crc=d9 YES\n08 00 4b 46 7f ff 08 10 d9 t=500\n"
	if err := os.WriteFile(filepath.Join(root, probeROM, "w1_slave"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "bench.toml")
	whole := strings.Replace(benchWith(""), `kind = "kernel"`, "kind = \"kernel\"\npath = \""+root+"\"", 1)
	if err := os.WriteFile(file, []byte(whole), 0o644); err != nil {
		t.Fatal(err)
	}
	kept := filepath.Join(dir, "kept.csv")
	live := calibrated(t, 0, "--probe", probeROM, "--at", "ice", "-c", file, "--count", "10", "--every", "5ms", "--keep", kept, "--date", "2026-03-01")
	again := calibrated(t, 0, "--probe", probeROM, "--at", "ice", "--readings", kept, "--date", "2026-03-01")
	if live != again || !strings.Contains(live, "offset = \"-0.500K\"") || !strings.Contains(live, `--after "`+probeROM+`=-0.500K,ice point"`) {
		t.Errorf("live\n%s\nfrom the file\n%s", live, again)
	}
}
