package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSizeKeepsItsJSON(t *testing.T) {
	out, errOut, status := answer("size", filepath.Join("..", "..", "configs", "bench.toml"), "--json")
	var v struct{ Stations []map[string]any }
	if err := json.Unmarshal([]byte(out), &v); err != nil || status != 0 || errOut != "" || len(v.Stations) != 3 {
		t.Fatalf("status %d, %v, %q", status, err, errOut)
	}
	for _, s := range v.Stations {
		for _, key := range []string{"name", "verdict", "warm_up_s", "hold_power_w", "stuck_on_c", "stuck_on_cutoff_s", "coast_k",
			"power_cut_too_cold_s", "evaporation_l_per_day", "floor_c"} {
			if _, ok := s[key]; !ok {
				t.Errorf("%v has no %s", s["name"], key)
			}
		}
	}
	if v.Stations[0]["verdict"] != "fits" || v.Stations[2]["floor_c"] != nil {
		t.Errorf("%v", v.Stations)
	}
}

func TestSizeOfADangerousPadIsBadNews(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	path := fileWith(t, strings.Replace(string(text), `pad = "20W"`, `pad = "200W"`, 1))
	out, _, status := answer("size", path)
	if status != 1 || !strings.Contains(out, "north (tub): DANGEROUS") {
		t.Errorf("status %d\n%s", status, out)
	}
	out, errOut, status := answer("size", fileWith(t, mistaken))
	if status != 2 || out != "" || !strings.Contains(errOut, "12 mistakes") {
		t.Errorf("status %d\n%s\n%s", status, out, errOut)
	}

	// A bench without its second probe may not run, but it has a heat budget.
	single := string(text)
	single = single[:strings.Index(single, "  # At the lowest level")]
	out, errOut, status = answer("size", fileWith(t, single))
	if status != 0 || !strings.Contains(out, "north (tub): FITS") || !strings.Contains(errOut, "one in-water probe cannot leave") {
		t.Errorf("status %d\n%s\n%s", status, out, errOut)
	}
}
