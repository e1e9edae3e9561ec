package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func hotLog(t *testing.T, minutes int, header, cell string) string {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "time,%s\n", header)
	for n := range minutes + 1 {
		fmt.Fprintf(&b, "2025-11-03T12:%02d:00Z,%s\n", n, cell)
	}
	path := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAssessKeepsItsJSON(t *testing.T) {
	out, errOut, status := answer("assess", hotLog(t, 30, "core [C],plank (°F)", "57,135"), "--schedule", "core-56-30min", "--json")
	var v struct {
		Schedule *string  `json:"schedule"`
		Result   *string  `json:"result"`
		Reason   *string  `json:"reason"`
		Longest  *float64 `json:"longest_together_s"`
		Probes   []struct {
			Name      *string  `json:"name"`
			Min       *float64 `json:"min_c"`
			Max       *float64 `json:"max_c"`
			Longest   *float64 `json:"longest_continuous_s"`
			Lethality *float64 `json:"lethality_min"`
		} `json:"probes"`
	}
	if err := json.Unmarshal([]byte(out), &v); err != nil || status != 0 || errOut != "" {
		t.Fatalf("status %d, %v, %q, %s", status, err, errOut, out)
	}
	if *v.Schedule != "core-56-30min" || *v.Result != "PASS" || *v.Reason == "" || *v.Longest != 1800 || len(v.Probes) != 2 {
		t.Error(out)
	}
	if p := v.Probes[0]; *p.Name != "core" || *p.Min != 57 || *p.Max != 57 || *p.Longest != 1800 || *p.Lethality < 30 {
		t.Error(out)
	}
}

func TestAssessEnds(t *testing.T) {
	good := hotLog(t, 30, "core [C]", "57")
	for args, want := range map[string]int{
		good + " --schedule core-56-30min":                        0,
		good + " --target 56.5C --hold 30m":                       0,
		good + " --target 56.51C --hold 30m":                      1,
		good + " --target 57C --hold 30m --uncertainty 0K":        0,
		good + " --target 57C --hold 31m --uncertainty 0K --json": 1,
		good + " --target 60C --hold 30m --freeze":                0,
		good + " --schedule freezer-2d":                           2,
		good + " --schedule core-56-30min --longest-gap 59s":      1,
		good:                             2,
		good + " --target 57 --hold 30m": 2,
		good + ".missing --schedule core-56-30min":                                     2,
		hotLog(t, 30, "core", "57") + " --schedule core-56-30min":                      2,
		hotLog(t, 30, "core", "57") + " --schedule core-56-30min --unit C":             0,
		hotLog(t, 30, "core [C],x", "57,1") + " --schedule core-56-30min":              2,
		hotLog(t, 30, "core [C],x", "57,1") + " --target 56C --hold 30m --column core": 0,
		hotLog(t, 30, "core [C]", "hot") + " --schedule core-56-30min":                 2,
	} {
		if out, errOut, got := answer(append([]string{"assess"}, strings.Fields(args)...)...); got != want || (got == 2) != (errOut != "") {
			t.Errorf("%s: status %d, want %d\n%s%s", args, got, want, out, errOut)
		}
	}
	if out, _, _ := answer("assess", good, "--schedule", "core-56-30min"); !strings.HasPrefix(out, "PASS: all 1 probes") && !strings.HasPrefix(out, "PASS: the probe at 56.0 °C") {
		t.Error(out)
	}
}
