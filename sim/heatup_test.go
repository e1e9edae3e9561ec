package sim

import (
	"math"
	"strings"
	"testing"

	"soakwarden/sim/physics"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.8g, want %.8g ± %.2g", what, got, want, tolerance)
	}
}

func heatup(t *testing.T, h HeatupSpec) HeatupResult {
	t.Helper()
	r, err := Heatup(h)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Source: Incropera and DeWitt 6e, example 5.4 (p. 278), a steel wall of 40 mm
// insulated behind (half of one of 80 mm): after 480 s 42.9 and 45.3 °C, 7.4 kW/m²;
// exact roots give 43.02, 45.36 °C, 7.32 kW/m².
func TestSteelWall(t *testing.T) {
	steel := PieceSpec{Shape: Slab, Thickness: 0.08, Density: 7832, Conductivity: 63.9, HeatCapacity: 434}
	r := heatup(t, HeatupSpec{Piece: steel, Start: -20, Medium: 60, Film: 500, Target: 55, After: 480})
	near(t, "middle", r.Core, 43.02, 0.05)
	near(t, "surface", r.Surface, 45.36, 0.05)
	near(t, "flux, kW/m²", 0.5*(60-r.Surface), 7.32, 0.03)
	near(t, "book's middle", r.Core, 42.9, 0.2)
	near(t, "book's surface", r.Surface, 45.3, 0.2)
	// Heat into a pipe of 1 m diameter, a metre long: 2.725e7 J.
	b := newBody(PieceSpec{Shape: Slab, Thickness: 0.08, Area: math.Pi / 2, Density: 7832, Conductivity: 63.9, HeatCapacity: 434}, -20)
	for range 480 {
		b.run(1, 60, 500)
	}
	near(t, "heat of one side, J", b.gained(), 2.725e7, 0.02e7)
}

// Source: Cengel, example 4-4 (p. 237): brass plates of 4 cm, 20 °C into 500 °C
// for 7 min: exact one-term 279.6 °C at the surface (the book's charts: 282).
func TestBrassPlate(t *testing.T) {
	brass := PieceSpec{Shape: Slab, Thickness: 0.04, Material: "brass"}
	r := heatup(t, HeatupSpec{Piece: brass, Start: 20, Medium: 500, Film: 120, Target: 400, After: 420})
	near(t, "surface", r.Surface, 279.6, 0.4)
	near(t, "surface, book", r.Surface, 282, 3)
}

// Sources: Incropera and DeWitt 6e, example 5.1 (p. 261): a bead of 0.706 mm in
// 200 °C gas is at 199 °C after 5.2 s (5.165 exact); Cengel, example 4-1 (p. 222):
// one of 1 mm has gone 99 % of the way after 10 s (9.94). Small bodies are at one
// temperature, so a slab with the bead's volume over surface, a sixth of its
// diameter, does the same.
func TestLumpedBeads(t *testing.T) {
	bead := PieceSpec{Shape: Slab, Thickness: 7.06e-4 / 3, Density: 8500, Conductivity: 20, HeatCapacity: 400}
	r := heatup(t, HeatupSpec{Piece: bead, Start: 25, Medium: 200, Film: 400, Target: 199})
	near(t, "to 199 °C", r.Seconds, 5.165, 0.02)
	near(t, "book", r.Seconds, 5.2, 0.06)
	cengel := PieceSpec{Shape: Slab, Thickness: 0.001 / 3, Density: 8500, Conductivity: 35, HeatCapacity: 320}
	r = heatup(t, HeatupSpec{Piece: cengel, Start: 0, Medium: 100, Film: 210, Target: 99})
	near(t, "to 99 %", r.Seconds, 9.94, 0.04)
}

// Source: the series in J0 of MacLean for a round section (Wood Handbook
// FPL-GTR-190, chapter 20), zeros and J1 as printed there; the surface kept at
// one temperature.
func TestRoundSectionAgainstTheSeries(t *testing.T) {
	const radius, diffusivity = 0.05, 1.6e-7
	zeros := []float64{2.404826, 5.520078, 8.653728, 11.791534, 14.930918}
	j1 := []float64{0.5191, -0.3403, 0.2714, -0.2325, 0.2065}
	series := func(s float64) float64 {
		sum := 0.0
		for i, z := range zeros {
			sum += 2 / (z * j1[i]) * math.Exp(-z*z*diffusivity*s/(radius*radius))
		}
		return 70 + (20-70)*sum
	}
	log := PieceSpec{Shape: Cylinder, Diameter: 2 * radius, Density: 500, HeatCapacity: 2000, Conductivity: diffusivity * 500 * 2000}
	for _, s := range []float64{2400, 4800, 9600, 14400} {
		r := heatup(t, HeatupSpec{Piece: log, Start: 20, Medium: 70, Film: 40000, Target: 69.9, After: s})
		near(t, "middle", r.Core, series(s), 0.1)
	}
}

// Source: MacLean's double series for a rectangle (Wood Handbook FPL-GTR-190,
// chapter 20), the surface kept at one temperature.
func TestRectangleAgainstTheSeries(t *testing.T) {
	const diffusivity = 1.45e-7
	for _, size := range [][2]float64{{1, 6}, {1.5, 6}, {2, 6}, {3, 3}, {4, 4}, {6, 6}} {
		a, b := size[0]*0.0254, size[1]*0.0254
		middle := func(s float64) float64 {
			sum := 0.0
			for m := 1; m < 60; m += 2 {
				for n := 1; n < 60; n += 2 {
					sign := float64(1 - 2*((m/2+n/2)%2))
					sum += sign / float64(m*n) * math.Exp(-math.Pi*math.Pi*diffusivity*s*(float64(m*m)/(a*a)+float64(n*n)/(b*b)))
				}
			}
			return 69.44 + (15.56-69.44)*16/(math.Pi*math.Pi)*sum
		}
		low, high := 0.0, 1e6
		for range 60 {
			if mid := (low + high) / 2; middle(mid) < 56.11 {
				low = mid
			} else {
				high = mid
			}
		}
		bar := PieceSpec{Shape: Bar, Width: a, Height: b, Density: 500, HeatCapacity: 2000, Conductivity: diffusivity * 500 * 2000}
		r := heatup(t, HeatupSpec{Piece: bar, Start: 15.56, Medium: 69.44, Film: 40000, Target: 56.11})
		near(t, "minutes over the series", r.Seconds/low, 1, 0.006)
	}
}

// Source: the long-time limit of a slab: its middle goes to the medium as
// exp(−ζ²αt/L²), ζ from ζ·tan ζ = Bi (Incropera and DeWitt, section 5.5).
func TestSlabLongTimeLimit(t *testing.T) {
	slab := PieceSpec{Shape: Slab, Thickness: 0.04, Density: 600, Conductivity: 0.14, HeatCapacity: 1700}
	zeta, c, err := physics.OneTerm(physics.Wall, 10*0.02/0.14)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []float64{4000, 8000, 12000} {
		r := heatup(t, HeatupSpec{Piece: slab, Start: 20, Medium: 60, Film: 10, Target: 59.9, After: s})
		want := 60 - 40*c*math.Exp(-zeta*zeta*0.14/(600*1700)*s/(0.02*0.02))
		near(t, "middle", r.Core, want, 0.02)
	}
}

// Source: Wood Handbook FPL-GTR-190, Table 20-4: minutes to 133 °F at the core
// of green wood, from 60 °F in steam of 157 °F with no wet-bulb depression. Green
// moisture from its Table 4-1, from memory. Film: saturated air condensing on
// the wood, over a dry film of 20 W/m²K (assumed).
func TestHeatupAgainstTable20_4(t *testing.T) {
	fahrenheit := func(f float64) float64 { return (f - 32) / 1.8 }
	species := []PieceSpec{
		{Material: "red maple", Moisture: 0.70}, {Material: "maple", Moisture: 0.68}, {Material: "oak", Moisture: 0.75},
		{Material: "basswood", Moisture: 1.07}, {Material: "aspen", Moisture: 1.04},
	}
	film := physics.MoistFilm(20, fahrenheit(150))
	for _, row := range []struct {
		width, height float64 // inches
		minutes       [5]float64
	}{
		{1, 6, [5]float64{14, 13, 14, 12, 13}}, {1.5, 6, [5]float64{29, 28, 26, 26, 29}}, {2, 6, [5]float64{50, 48, 49, 46, 50}},
		{3, 3, [5]float64{59, 58, 57, 51, 61}}, {4, 4, [5]float64{115, 107, 109, 100, 113}}, {6, 6, [5]float64{265, 255, 252, 226, 262}},
	} {
		low, high := row.minutes[0], row.minutes[0]
		for _, m := range row.minutes {
			low, high = min(low, m), max(high, m)
		}
		for i, p := range species {
			p.Shape, p.Width, p.Height = Bar, row.width*0.0254, row.height*0.0254
			h := HeatupSpec{Piece: p, Start: fahrenheit(60), Medium: fahrenheit(157), Film: film, Target: fahrenheit(133)}
			steam := heatup(t, h).Seconds / 60
			t.Logf("%g×%g %s: %.1f min, table %g", row.width, row.height, p.Material, steam, row.minutes[i])
			if steam < 0.8*low || steam > 1.2*high {
				t.Errorf("%g×%g %s takes %.1f min, table %g to %g", row.width, row.height, p.Material, steam, low, high)
			}
			h.Film = 20
			if dry := heatup(t, h).Seconds / 60; dry <= steam {
				t.Errorf("%g×%g %s: %.1f min in dry air, %.1f in steam", row.width, row.height, p.Material, dry, steam)
			}
		}
	}
}

// Sources: Naylor and Boase 2010: 2.5 kg of loose dry laundry takes about 8 h
// to −17 °C; Bergh and others: upholstered furniture about 36 h at −18 to −20 °C.
// Assumed: the laundry lies as a bundle of 0.3 × 0.3 m at 80 kg/m³ in a freezer of
// −20 °C without a fan (6 W/m²K); the seat is 0.5 m of foam and fibre with
// air on both sides, to 1 K of −20 °C.
func TestFreezingOfTextiles(t *testing.T) {
	laundry := PieceSpec{Shape: Bar, Width: 0.30, Height: 0.30, Material: "laundry"}
	r := heatup(t, HeatupSpec{Piece: laundry, Start: 20, Medium: -20, Film: 6, Target: -17})
	near(t, "laundry, h", r.Seconds/3600, 8, 2.5)
	seat := PieceSpec{Shape: Slab, Thickness: 0.50, Material: "upholstery"}
	r = heatup(t, HeatupSpec{Piece: seat, Start: 20, Medium: -20, Film: 6, Target: -19})
	near(t, "upholstery, h", r.Seconds/3600, 36, 14)
}

// A target beyond the medium is an answer: never.
func TestHeatupNever(t *testing.T) {
	board := PieceSpec{Shape: Slab, Thickness: 0.02, Material: "pine", Moisture: 0.12}
	r := heatup(t, HeatupSpec{Piece: board, Start: 20, Medium: 50, Film: 15, Target: 56})
	if r.Reached || r.Seconds != 0 {
		t.Errorf("56 °C is reached in air of 50 °C after %g s", r.Seconds)
	}
	near(t, "where it ends", r.Core, 50, 0.05)
	if r = heatup(t, HeatupSpec{Piece: board, Start: 20, Medium: 60, Film: 15, Target: 15}); !r.Reached || r.Seconds != 0 {
		t.Error("a target that the start is past is not reached at once")
	}
	if r = heatup(t, HeatupSpec{Piece: board, Start: 20, Medium: 60, Film: 15, Target: 56, After: 60}); !r.Reached || r.At != 60 || r.Core > 56 {
		t.Errorf("asked for 60 s: %+v", r)
	}
}

func TestHeatupSaysWhatIsWrong(t *testing.T) {
	good := HeatupSpec{Piece: PieceSpec{Shape: Slab, Thickness: 0.02, Material: "pine"}, Start: 20, Medium: 60, Film: 15, Target: 56}
	for want, spoil := range map[string]func(*HeatupSpec){
		"film is 0":            func(h *HeatupSpec) { h.Film = 0 },
		"start is NaN":         func(h *HeatupSpec) { h.Start = math.NaN() },
		"thickness is -1":      func(h *HeatupSpec) { h.Piece.Thickness = -1 },
		"no material is named": func(h *HeatupSpec) { h.Piece.Material = "balsa-ish" },
		"has no moisture":      func(h *HeatupSpec) { h.Piece.Material, h.Piece.Moisture = "slate", 0.1 },
		"moisture is 12":       func(h *HeatupSpec) { h.Piece.Moisture = 12 },
		"diameter is 0":        func(h *HeatupSpec) { h.Piece.Shape = Cylinder },
		"height is 0":          func(h *HeatupSpec) { h.Piece.Shape, h.Piece.Width = Bar, 0.1 },
		"dry it to 28 %": func(h *HeatupSpec) {
			h.Piece.Moisture, h.Medium, h.Target = 0.6, -20, -18
		},
		"write slab, cylinder or": func(h *HeatupSpec) { h.Piece.Shape = 7 },
	} {
		h := good
		spoil(&h)
		if _, err := Heatup(h); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}
