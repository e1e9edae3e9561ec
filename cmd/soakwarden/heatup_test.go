package main

import (
	"encoding/json"
	"strings"
	"testing"
)

func TestHeatupKeepsItsJSON(t *testing.T) {
	args := strings.Fields("heatup --shape bar --width 100mm --height 50mm --material oak --moisture 12% --start 18C --medium 60C --film 25 --target 56C --json")
	out, errOut, status := answer(args...)
	var v struct {
		Seconds *float64 `json:"seconds_to_target"`
		Core    *float64 `json:"core_c"`
		Surface *float64 `json:"surface_c"`
		Curve   []struct {
			S       *float64 `json:"s"`
			Core    *float64 `json:"core_c"`
			Surface *float64 `json:"surface_c"`
		} `json:"curve"`
	}
	if err := json.Unmarshal([]byte(out), &v); err != nil || status != 0 || errOut != "" {
		t.Fatalf("status %d, %v, %q", status, err, errOut)
	}
	if v.Seconds == nil || v.Core == nil || v.Surface == nil || len(v.Curve) < 10 {
		t.Fatal(out)
	}
	last := v.Curve[len(v.Curve)-1]
	if *v.Seconds < 1800 || *v.Seconds > 6*3600 || *v.Core < 55.9 || *v.Core > 56.1 || *last.Core < 55.9 || *v.Curve[0].S != 0 || *v.Curve[0].Core != 18 {
		t.Error(out)
	}
}

func TestHeatupEnds(t *testing.T) {
	base := "heatup --shape slab --thickness 20mm --material slate --start 18C --medium 60C "
	for args, want := range map[string]int{
		base + "--target 56C":               0,
		base + "--target 60C":               1,
		base + "--target 61C --json":        1,
		base + "--after 1h":                 0,
		base + "--target 56":                2,
		base:                                2,
		base + "--target 56C --heat 3":      2,
		"heatup slab":                       2,
		"heatup --shape slab --target 56C":  2,
		base + "--target 56C --density 0":   2,
		base + "--target 56C --moisture 5%": 2,
	} {
		out, errOut, status := answer(strings.Fields(args)...)
		if status != want || (status == 2) == (errOut == "") || (status == 2) != (out == "") {
			t.Errorf("%s: status %d, want %d\n%s%s", args, status, want, out, errOut)
		}
	}
}
