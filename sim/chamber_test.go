package sim

import (
	"math"
	"strings"
	"testing"
)

// chamberSpec is a warm cabinet with a branch, a slate and a hide. Invented.
var chamberSpec = ChamberSpec{
	Length: 1.0, Width: 0.6, Height: 0.6, Power: 300,
	Pieces: []PieceSpec{
		{Name: "branch", Shape: Cylinder, Diameter: 0.08, Material: "cork bark"},
		{Name: "slate", Shape: Slab, Thickness: 0.02, Material: "slate"},
		{Name: "hide", Shape: Bar, Width: 0.10, Height: 0.06, Material: "pine", Moisture: 0.12},
	},
}

func newTestChamber(t *testing.T, s ChamberSpec, room float64) *Chamber {
	t.Helper()
	c, err := NewChamber(s, room)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Heat in, heat lost and heat stored are summed apart and close to 1e-9. No
// outside source: conservation.
func TestChamberBalances(t *testing.T) {
	c := newTestChamber(t, chamberSpec, 21)
	for s := range 20000 {
		c.Step(ChamberDrive{Heat: float64(1 - s/4000%2), Fan: s%7000 < 5000, Room: 21 + float64(s)*1e-4})
	}
	truth := c.Truth()
	if off := math.Abs(truth.Stored - truth.Heat + truth.Lost); off > 1e-9*(truth.Heat+truth.Lost) {
		t.Errorf("off by %g J of %g J", off, truth.Heat)
	}
	for i, p := range truth.Pieces {
		if p.Core < 21 || p.Core > 150 {
			t.Errorf("piece %d: %+v", i, p)
		}
	}
}

// Closed form: in the end a chamber gives off its heater's power, and a core
// that is heated by the air stands at the air's temperature.
func TestChamberSettles(t *testing.T) {
	s := chamberSpec
	s.Power = 60
	s.Pieces = s.Pieces[1:2]
	c := newTestChamber(t, s, 20)
	for range 40 * 3600 {
		c.Step(ChamberDrive{Heat: 1, Fan: true, Room: 20})
	}
	before := c.Truth()
	for range 3600 {
		c.Step(ChamberDrive{Heat: 1, Fan: true, Room: 20})
	}
	after := c.Truth()
	near(t, "given off, W", (after.Lost-before.Lost)/3600, 60, 0.05)
	near(t, "core", after.Pieces[0].Core, after.Air, 0.01)
	// The walls' resistances by hand: film, board, insulation, and the leak.
	face := 2 * (1.0*0.6 + 1.0*0.6 + 0.6*0.6)
	u := face/(1/20.0+0.016*3/4/0.14+0.5) + 1200*0.36*0.3/3600
	// The outer half's node stands in its middle, a quarter of the board from the insulation.
	near(t, "air over room, K", after.Air-20, 60/u, 0.06*60/u)
}

// A piece in a chamber whose air stands still in temperature does what Heatup
// says of it.
func TestChamberAgreesWithHeatup(t *testing.T) {
	hide := PieceSpec{Name: "hide", Shape: Bar, Width: 0.10, Height: 0.06, Length: 0.1, Material: "pine", Moisture: 0.12}
	s := ChamberSpec{Length: 2, Width: 2, Height: 2, Insulation: 5, Power: 3000, Leak: 20, Pieces: []PieceSpec{hide}}
	c := newTestChamber(t, s, 20)
	// A room of 60 °C with much leak, and the walls' own start, bring the air close
	// to 60; the air's curve is then handed to a body by itself.
	alone := newBody(hide.WithDefaults(), 20)
	for range 5 * 3600 {
		air := c.At(ChamberPlace{Kind: ChamberAir})
		c.Step(ChamberDrive{Fan: true, Room: 60})
		alone.run(1, (air+c.At(ChamberPlace{Kind: ChamberAir}))/2, 20)
	}
	near(t, "core", c.Truth().Pieces[0].Core, alone.core(), 0.002)
	if c.Truth().Pieces[0].Core < 30 {
		t.Errorf("the core is at %g °C only", c.Truth().Pieces[0].Core)
	}
}

// A fan makes a load follow faster; still air leaves it behind.
func TestFanMatters(t *testing.T) {
	core := func(fan bool) float64 {
		c := newTestChamber(t, chamberSpec, 20)
		for range 3 * 3600 {
			c.Step(ChamberDrive{Heat: 1, Fan: fan, Room: 20})
		}
		return c.Truth().Pieces[2].Core / c.Truth().Air
	}
	if with, without := core(true), core(false); with <= without {
		t.Errorf("core over air is %g with a fan, %g without", with, without)
	}
}

// A freezer keeps its own temperature, and takes hours to the core of a bundle.
func TestFreezer(t *testing.T) {
	s := ChamberSpec{
		Length: 0.5, Width: 0.5, Height: 0.6, Power: -150, Wall: "polystyrene", WallThick: 0.002, Insulation: 2, Leak: 0.05,
		Pieces: []PieceSpec{{Name: "laundry", Shape: Bar, Width: 0.3, Height: 0.3, Length: 0.35, Material: "laundry"}},
	}
	c := newTestChamber(t, s, 20)
	reached := 0
	for i := range 16 * 3600 {
		c.Step(ChamberDrive{Heat: 1, Room: 20})
		if reached == 0 && c.Truth().Pieces[0].Core <= -17 {
			reached = i
		}
	}
	near(t, "air", c.Truth().Air, -20, 3)
	// Naylor and Boase 2010: about 8 h for 2.5 kg of loose laundry; bundle assumed.
	near(t, "hours to −17 °C", float64(reached)/3600, 9.5, 3)
	if c.Truth().Heat >= 0 {
		t.Error("the coil took no heat away")
	}
}

func TestPlacesInAChamber(t *testing.T) {
	c := newTestChamber(t, chamberSpec, 20)
	for range 3600 {
		c.Step(ChamberDrive{Heat: 1, Fan: true, Room: 20})
	}
	truth := c.Truth()
	at := func(kind ChamberPlaceKind, piece int, depth float64) float64 {
		return c.At(ChamberPlace{Kind: kind, Piece: piece, Depth: depth})
	}
	near(t, "room", at(OutsideChamber, 0, 0), 20, 0)
	near(t, "air", at(ChamberAir, 0, 0), truth.Air, 0)
	near(t, "wall", at(ChamberWall, 0, 0), truth.Wall, 0)
	near(t, "coil", at(ChamberCoil, 0, 0), truth.Coil, 0)
	near(t, "no such piece", at(PieceCore, 9, 0), truth.Air, 0)
	for i, half := range []float64{0.04, 0.01, 0.05} {
		near(t, "core", at(PieceCore, i, 0), truth.Pieces[i].Core, 0)
		near(t, "surface", at(OnPiece, i, 0), truth.Pieces[i].Surface, 0)
		near(t, "depth of nothing", at(InPiece, i, 0), truth.Pieces[i].Surface, 1e-9)
		near(t, "depth of the middle", at(InPiece, i, half), truth.Pieces[i].Core, 1e-9)
		last := truth.Pieces[i].Surface
		for share := 0.05; share <= 1; share += 0.05 {
			v := at(InPiece, i, share*half)
			if v > last+1e-9 {
				t.Errorf("piece %d: %g °C at %.2f of its half, %g further out", i, v, share, last)
			}
			last = v
		}
	}
}

func TestChamberSaysWhatIsWrong(t *testing.T) {
	for want, spoil := range map[string]func(*ChamberSpec){
		"length is 0":          func(s *ChamberSpec) { s.Length = 0 },
		"power is NaN":         func(s *ChamberSpec) { s.Power = math.NaN() },
		"no material is named": func(s *ChamberSpec) { s.Wall = "unknown" },
		"dry it to 28 %": func(s *ChamberSpec) {
			s.Power, s.Pieces = -100, []PieceSpec{{Name: "log", Shape: Cylinder, Diameter: 0.1, Material: "oak", Moisture: 0.8}}
		},
		"piece 1: shelf": func(s *ChamberSpec) { s.Pieces = []PieceSpec{{Name: "shelf", Material: "glass"}} },
	} {
		s := chamberSpec
		spoil(&s)
		if _, err := NewChamber(s, 20); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	if _, err := NewChamber(chamberSpec, 200); err == nil {
		t.Error("a room of 200 °C was taken")
	}
}
