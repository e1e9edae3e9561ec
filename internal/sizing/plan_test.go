package sizing

import (
	"math"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

func chamberOf(t *testing.T, name string) *config.Station {
	t.Helper()
	cfg, problems, err := config.Load("../../testdata/treatments/" + name + ".toml")
	if err != nil || cfg == nil {
		t.Fatal(err, problems)
	}
	return &cfg.Stations[0]
}

func planOf(t *testing.T, st *config.Station, schedule string) *Plan {
	t.Helper()
	s, ok := treatment.Find(schedule)
	if !ok {
		t.Fatalf("no schedule %s", schedule)
	}
	p, err := PlanTreatment(st, s, 19)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPlanOfACabinet(t *testing.T) {
	st := chamberOf(t, "cabinet")
	p := planOf(t, st, "core-56-30min")
	if !p.Fits || p.Slowest != "plank" || len(p.Advice) != 0 {
		t.Fatalf("%+v", p)
	}
	// The air is there long before the core of the plank, the branch between.
	plank, branch, slate := *p.Pieces[2].There, *p.Pieces[0].There, *p.Pieces[1].There
	if *p.Air > slate || slate > branch || branch > plank || plank-*p.Air < 3600 {
		t.Errorf("air %g, slate %g, branch %g, plank %g", *p.Air, slate, branch, plank)
	}
	// A probe counts later than its core is there: by its uncertainty.
	if *p.Probes[1].There <= plank || *p.There != *p.Probes[1].There || *p.Total != *p.There+1800 {
		t.Errorf("%g %g %g", *p.Probes[1].There, *p.There, *p.Total)
	}
	// The core never outruns what a fixed hot surface would do: the first term
	// of the series for a long bar, a × b = 180 × 60 mm with α of oak at 12 %
	// and 320 K from the Wood Handbook's equations (k 0.161, ρ 650, cp 1789:
	// 0.138 mm²/s), from 19 °C to 56 °C with the surface at 59.5 °C at once.
	alpha, a, b := 0.138e-6, 0.18, 0.06
	share := (59.5 - 56.0) / (59.5 - 19.0)
	least := math.Log(16/math.Pi/math.Pi/share) / (math.Pi * math.Pi * alpha * (1/a/a + 1/b/b))
	if plank < least {
		t.Errorf("the plank takes %g s, with a hot surface at once %g s", plank, least)
	}
	if p.Probes[1].LagK < 10 || p.Probes[0].LagK > 0.5 || p.Probes[1].SteepestK <= 0 {
		t.Errorf("%+v", p.Probes)
	}
	// 8.4 kg: branch 0.6 kg, slate 2.9 kg, plank 4.9 kg by sizes and densities.
	if math.Abs(p.Load-8.4) > 0.2 {
		t.Errorf("load %g kg", p.Load)
	}
	if text := p.Text(); !strings.Contains(text, "cabinet, core-56-30min: FITS") || !strings.Contains(text, "slowest: plank") {
		t.Error(text)
	}
	if p.Target().Celsius() != p.AirC {
		t.Errorf("%s", p.Target())
	}
}

func TestPlanOfAFreezer(t *testing.T) {
	p := planOf(t, chamberOf(t, "freezer"), "freeze-18-14d")
	if !p.Fits || p.Slowest != "bedding" || *p.There < 34*3600 || *p.There > 38*3600 || *p.Total-*p.There != 14*86400 {
		t.Errorf("%+v", p)
	}
	// 2.5 kg of loose dry laundry need about 8 h to −17 °C in a household
	// freezer (Naylor and Boase 2010, J Econ Entomol 103(1):136–139): a slab of
	// 200 mm and 0.156 m² has that mass.
	st := chamberOf(t, "freezer")
	st.Pieces = st.Pieces[:1]
	st.Pieces[0].Thickness, st.Pieces[0].Area = 0.2, 0.156
	st.Probes[1].Depth, st.Probes[2].Depth, st.Probes[2].Piece = 0.1, 0.1, "bedding"
	s := treatment.Schedule{Name: "laundry", Freeze: true, Target: st.SetPoint + 6*1e9, Hold: 14 * 24 * time.Hour}
	q, err := PlanTreatment(st, s, 19)
	if err != nil {
		t.Fatal(err)
	}
	if !q.Fits || math.Abs(q.Load-2.5) > 0.05 || *q.There < 5*3600 || *q.There > 11*3600 {
		t.Errorf("laundry of %g kg: there after %v s; %v", q.Load, q.There, q.Reasons)
	}
}

// What does not fit is refused with the reason, and what is not covered is told.
func TestPlansThatDoNotFit(t *testing.T) {
	for name, c := range map[string]struct {
		schedule string
		change   func(*config.Station)
		reason   string
	}{
		"a freezer's schedule":  {"freeze-18-14d", func(*config.Station) {}, "cabinet does the other: freeze-18-14d is a schedule for a freezer"},
		"a material too weak":   {"core-56-30min", func(st *config.Station) { st.Pieces[1].Material = "pur foam" }, "it does not fit: target plus uncertainty and the swing of the air ask for 58.0 °C (136.4 °F), and the least that load and chamber stand is 43.0 °C (109.4 °F) (slate, pur foam)"},
		"a limit too low":       {"core-56-30min", func(st *config.Station) { st.Limit = st.SetPoint - 3*1e9 }, "(the chamber)"},
		"a set point too low":   {"core-56-30min", func(st *config.Station) { st.SetPoint -= 3 * 1e9 }, "set_point 57.0 °C (134.6 °F) of cabinet is too low"},
		"a heater too weak":     {"core-56-30min", func(st *config.Station) { st.Chamber.HeaterPower = 20 }, "the heater does not bring every core to the target within 7 days"},
		"one core probe":        {"core-56-30min", func(st *config.Station) { st.Probes = st.Probes[:2] }, "core probes are too few (1): put at least 2 into cores, in the slowest pieces: plank, branch"},
		"the slowest unprobed":  {"core-56-30min", func(st *config.Station) { st.Probes[1].Piece = "slate"; st.Probes[1].Depth = 0.01 }, "the slowest piece, plank, has no core probe"},
		"a probe too shallow":   {"core-56-30min", func(st *config.Station) { st.Probes[1].Depth = 0.01 }, "the core probe of plank, 10 mm deep, does not reach its core"},
		"nothing to treat":      {"core-56-30min", func(st *config.Station) { st.Pieces = nil }, "cabinet has no pieces"},
		"uncertainty too great": {"core-56-30min", func(st *config.Station) { st.Probes[2].Calibration.Uncertainty = 4 * controller.Kelvin }, "or calibrate the probes better"},
	} {
		st := chamberOf(t, "cabinet")
		c.change(st)
		p := planOf(t, st, c.schedule)
		if p.Fits || !strings.Contains(strings.Join(p.Reasons, "; "), c.reason) {
			t.Errorf("%s: fits %v, %q", name, p.Fits, p.Reasons)
		}
		if !strings.Contains(p.Text(), "DOES NOT FIT") {
			t.Errorf("%s: %s", name, p.Text())
		}
	}
	warm := chamberOf(t, "freezer")
	warm.SetPoint += 6 * 1e9
	if p := planOf(t, warm, "freeze-18-14d"); p.Fits || !strings.Contains(p.Reasons[0], "write set_point = \"-20C\"") {
		t.Errorf("%q", p.Reasons)
	}
	if _, err := PlanTreatment(&config.Station{Name: "north", Kind: controller.Tub}, treatment.Schedule{}, 19); err == nil {
		t.Error("a tub was planned")
	}
	hot := treatment.Schedule{Name: "hot", Target: config.HighestTarget, Hold: time.Hour}
	if p, err := PlanTreatment(chamberOf(t, "cabinet"), hot, 19); err != nil || p.Fits || !strings.Contains(p.Reasons[0], "no chamber may be set over 65.0 °C (149.0 °F)") {
		t.Errorf("a set point that no configuration may have was asked for: %v", err)
	}
	bad := treatment.Schedule{Name: "short", Target: chamberOf(t, "cabinet").SetPoint, Hold: time.Minute}
	if p, err := PlanTreatment(chamberOf(t, "cabinet"), bad, 19); err != nil || p.Fits {
		t.Errorf("a minute was planned: %v", err)
	}
}

func TestCoverOfPieces(t *testing.T) {
	st := chamberOf(t, "cabinet")
	st.Probes[3].Piece = "plank" // the slate is left to the others
	st.Probes[3].Depth = 0.03
	p := planOf(t, st, "core-56-30min")
	if !p.Fits || p.Pieces[1].CoveredBy == "" || p.Pieces[1].Probes != 0 {
		t.Errorf("%+v", p.Pieces)
	}
	// A second plank beside the first is not covered by it: it is no quicker.
	st = chamberOf(t, "cabinet")
	twin := st.Pieces[2]
	twin.Name = "twin"
	st.Pieces = append(st.Pieces, twin)
	p = planOf(t, st, "core-56-30min")
	if len(p.Advice) != 1 || !strings.HasPrefix(p.Advice[0], "twin is NOT covered") {
		t.Errorf("%q", p.Advice)
	}
	st = chamberOf(t, "cabinet")
	st.Pieces[1].Material = "glass"
	p = planOf(t, st, "core-56-30min")
	if len(p.Advice) != 1 || !strings.Contains(p.Advice[0], "slate is glass") {
		t.Errorf("%q", p.Advice)
	}
}

func TestPlacesOfProbes(t *testing.T) {
	st := chamberOf(t, "cabinet")
	st.Probes[2].Depth = -1
	st.Probes[3].Role = controller.RoleSurface
	want := []sim.ChamberPlace{
		{Kind: sim.ChamberAir}, {Kind: sim.InPiece, Piece: 2, Depth: 0.03}, {Kind: sim.PieceCore}, {Kind: sim.OnPiece, Piece: 1},
	}
	for k := range st.Probes {
		if got := Inner(st, &st.Probes[k]); got != want[k] {
			t.Errorf("probe %d: %+v", k, got)
		}
	}
}
