package sizing

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

func TestHeatupAgainstPublishedSolutions(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s: got %g, want %g within %g", what, got, want, within)
		}
	}
	// Incropera and DeWitt, 6th ed., example 5.4 (p. 278): a wall of 40 mm that
	// is heated on one side and insulated on the other is half of an 80 mm slab.
	// The exact first root gives 43.02 and 45.36 °C (the book interpolates to
	// 42.9 and 45.3).
	h, err := AskHeatup(HeatupQuestion{Shape: "slab", Thickness: "80mm", Density: "7832", Conductivity: "63.9", HeatCapacity: "434",
		Start: "-20C", Medium: "60C", Film: "500", After: "480s"})
	if err != nil {
		t.Fatal(err)
	}
	if at := h.Curve[0]; at != (HeatupPoint{0, -20, -20}) {
		t.Errorf("the curve begins at %+v", at)
	}
	near("example 5.4, core", h.Core, 43.02, 0.1)
	near("example 5.4, surface", h.Surface, 45.36, 0.1)
	if h.Seconds != nil || h.Asked || h.At != 480 {
		t.Errorf("without a target: %+v", h)
	}

	// Cengel, example 4-4 (p. 237), brass plate of 2·20 mm, h 120, 7 min: the
	// exact first root gives 279.6 °C between 20 and 500 °C. The equation is
	// linear, so the same share of a step of 100 K.
	h, err = AskHeatup(HeatupQuestion{Shape: "slab", Thickness: "40mm", Density: "8530kg/m³", Conductivity: "110W/mK", HeatCapacity: "380 J/kgK",
		Start: "20C", Medium: "120C", Film: "120 W/m²K", After: "7m"})
	if err != nil {
		t.Fatal(err)
	}
	near("example 4-4, surface", h.Surface, 20+(279.6-20)/4.8, 0.1)

	// One-term solution for a long cylinder, Bi 1: ζ 1.2558, C 1.2071
	// (Incropera and DeWitt, Table 5.1). Core at a quarter of the step left:
	// Fo = ln(1.2071/0.25)/1.2558².
	h, err = AskHeatup(HeatupQuestion{Shape: "cylinder", Diameter: "80mm", Density: "600", Conductivity: "0.16", HeatCapacity: "1500",
		Start: "20C", Medium: "60C", Film: "4", Target: "50C"})
	if err != nil {
		t.Fatal(err)
	}
	fourier := math.Log(1.2071/0.25) / (1.2558 * 1.2558)
	near("cylinder, seconds", *h.Seconds, fourier*0.04*0.04*600*1500/0.16, 0.003*9000)

	// Wood Handbook (FPL-GTR-190), Table 20-4, no wet-bulb depression, 60 to
	// 157 °F, 133 °F at the core: 100 to 115 min for 4 by 4 in, 226 to 265 for
	// 6 by 6, by species. MacLean's series with an apparent diffusivity of
	// 0.145 mm²/s gives 113 and 254 min.
	for _, c := range []struct {
		side           string
		want, low, top float64
	}{{"4in", 113, 100, 115}, {"6in", 254, 226, 265}} {
		h, err = AskHeatup(HeatupQuestion{Shape: "bar", Width: c.side, Height: c.side, Density: "500", Conductivity: "0.116", HeatCapacity: "1600",
			Start: "60F", Medium: "157F", Film: "20000", Target: "133F"})
		if err != nil {
			t.Fatal(err)
		}
		near("bar of "+c.side+", minutes", *h.Seconds/60, c.want, 0.02*c.want)
		if m := *h.Seconds / 60; m < c.low || m > c.top {
			t.Errorf("bar of %s: %g min is outside the table", c.side, m)
		}
	}
}

func TestHeatupNeverAndDown(t *testing.T) {
	q := HeatupQuestion{Shape: "slab", Thickness: "20mm", Material: "oak", Moisture: "12%", Start: "18C", Medium: "55C", Target: "56C"}
	h, err := AskHeatup(q)
	if err != nil || h.Seconds != nil || !strings.Contains(h.Text(), "NEVER reaches 56.0 °C (132.8 °F): use a hotter medium") {
		t.Errorf("beyond the medium: %v\n%s", err, h.Text())
	}
	q.Medium, q.Target = "-20C", "-18C"
	h, err = AskHeatup(q)
	if err != nil || h.Seconds == nil || h.Core > -17.9 || h.Surface > h.Core {
		t.Errorf("freezing: %+v, %v", h, err)
	}
	q.Target = "-21C"
	if h, err = AskHeatup(q); err != nil || !strings.Contains(h.Text(), "use a colder medium") {
		t.Errorf("freezing, beyond the medium: %v\n%s", err, h.Text())
	}
	q.Material, q.Moisture, q.Medium, q.Target = "pvc", "", "70C", "56C"
	if h, err = AskHeatup(q); err != nil || !strings.Contains(h.Text(), "pvc stands 60.0 °C") {
		t.Errorf("over what the material stands: %v\n%s", err, h.Text())
	}
	out, err := json.Marshal(h)
	if err != nil || !strings.HasPrefix(string(out), `{"seconds_to_target":`) || strings.Contains(string(out), "null") {
		t.Errorf("JSON: %s", out)
	}
}

func TestExplicitNumbersOverrideTheMaterial(t *testing.T) {
	q := HeatupQuestion{Shape: "cylinder", Diameter: "60mm", Material: "cork bark", Start: "18C", Medium: "60C", Target: "56C"}
	cork, err := AskHeatup(q)
	if err != nil {
		t.Fatal(err)
	}
	q.HeatCapacity = "3000" // twice that of cork
	heavy, err := AskHeatup(q)
	if err != nil {
		t.Fatal(err)
	}
	if r := *heavy.Seconds / *cork.Seconds; math.Abs(r-2) > 0.01 {
		t.Errorf("twice the heat capacity takes %g times as long", r)
	}
}

func TestHeatupMistakes(t *testing.T) {
	good := HeatupQuestion{Shape: "slab", Thickness: "20mm", Material: "oak", Moisture: "12%", Start: "18C", Medium: "60C", Target: "56C"}
	for want, change := range map[string]func(*HeatupQuestion){
		"--shape is missing":                           func(q *HeatupQuestion) { q.Shape = "" },
		"--shape: \"ball\" is not known":               func(q *HeatupQuestion) { q.Shape = "ball" },
		"--thickness is missing, which a slab needs":   func(q *HeatupQuestion) { q.Thickness = "" },
		"--thickness: \"20\" has no unit":              func(q *HeatupQuestion) { q.Thickness = "20" },
		"--thickness: \"0mm\" is no size":              func(q *HeatupQuestion) { q.Thickness = "0mm" },
		"--diameter is missing":                        func(q *HeatupQuestion) { q.Shape, q.Thickness = "cylinder", "" },
		"--thickness does not belong to a cylinder":    func(q *HeatupQuestion) { q.Shape, q.Diameter = "cylinder", "8cm" },
		"--diameter belongs to a cylinder":             func(q *HeatupQuestion) { q.Diameter = "8cm" },
		"--width is missing, which a bar needs":        func(q *HeatupQuestion) { q.Shape = "bar" },
		"no material is named":                         func(q *HeatupQuestion) { q.Material = "cheese" },
		"--material is missing":                        func(q *HeatupQuestion) { q.Material, q.Density = "", "500" },
		"--moisture: \"12\" has no unit":               func(q *HeatupQuestion) { q.Moisture = "12" },
		"--density: \"heavy\" is no number":            func(q *HeatupQuestion) { q.Density = "heavy" },
		"--density: -1 is not over zero":               func(q *HeatupQuestion) { q.Density = "-1" },
		"--start is missing":                           func(q *HeatupQuestion) { q.Start = "" },
		"--medium: \"60\" has no unit: write \"60F\"":  func(q *HeatupQuestion) { q.Medium = "60" },
		"--target is missing":                          func(q *HeatupQuestion) { q.Target = "" },
		"--after: \"2\" has no unit":                   func(q *HeatupQuestion) { q.After = "2" },
		"--after: \"-2h\" is not after the start":      func(q *HeatupQuestion) { q.After = "-2h" },
		"--film: \"windy\" is no number":               func(q *HeatupQuestion) { q.Film = "windy" },
		"film is 0 W/m²K, write 0.5 to":                func(q *HeatupQuestion) { q.Film = "0" },
		"medium is 5000 °C, write":                     func(q *HeatupQuestion) { q.Medium = "5000C" },
		"--film: \"NaN\" is no number: write it in W/": func(q *HeatupQuestion) { q.Film = "NaN" },
	} {
		q := good
		change(&q)
		if _, err := AskHeatup(q); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no %q in %v", want, err)
		}
	}
	if _, err := AskHeatup(good); err != nil {
		t.Error(err)
	}
}
