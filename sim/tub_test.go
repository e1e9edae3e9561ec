package sim

import (
	"math"
	"strings"
	"testing"

	"soakwarden/sim/num"
	"soakwarden/sim/physics"
)

func newTestTub(t testing.TB, spec TubSpec, water, room float64) *Tub {
	t.Helper()
	tub, err := NewTub(spec, Start{Water: water, Room: room})
	if err != nil {
		t.Fatal(err)
	}
	return tub
}

// closed fails the test when energy or water of the tub do not balance to 1e-9 of
// what went through.
func closed(t *testing.T, tub *Tub) {
	t.Helper()
	b := tub.Balance()
	if off := math.Abs(b.Energy()); off > 1e-9*b.EnergyThrough()+1e-6 {
		t.Errorf("energy is off by %g J of %g J", off, b.EnergyThrough())
	}
	through := b.WaterIn + b.WaterOut + b.WaterAtStart + math.Abs(b.Evaporated)
	if off := math.Abs(b.Mass()); off > 1e-9*through {
		t.Errorf("water is off by %g kg of %g kg", off, through)
	}
}

// drawSpec draws a tub of the envelope: 10 to 150 mm deep, some without lid,
// insulation or animal.
func drawSpec(n *num.Noise) TubSpec {
	s := TubSpec{
		Length: n.Between(0.25, 0.9), Width: n.Between(0.2, 0.5), Depth: n.Between(0.010, 0.150), Lid: n.Below(4) > 0,
		PadPower: n.Between(5, 80), Humidity: n.Between(0.2, 0.95),
	}
	if n.Below(3) == 0 {
		s.Insulation = n.Between(0.05, 1)
	}
	if n.Below(2) == 0 {
		s.Animal = n.Between(0.1, 4)
	}
	return s
}

// Whatever happens to a tub, it stays a tub: numbers, temperatures between the
// coldest and what the heat can reach, balances closed to 1e-9. No outside
// source: conservation.
func TestAnythingMayHappen(t *testing.T) {
	n := num.NewNoise(42, 1)
	for range 60 {
		tub := newTestTub(t, drawSpec(n), n.Between(10, 40), n.Between(5, 35))
		d := Drive{Room: n.Between(5, 35)}
		for range 120 {
			switch n.Below(14) {
			case 0:
				tub.ChangeWater(n.Between(5, 45), n.Between(0, 0.15))
			case 1:
				tub.Drain(n.Between(-0.01, 0.05))
			case 2:
				tub.Pour(n.Between(-1, 60), n.Between(5, 60))
			case 3:
				tub.PutAnimal(n.Between(-0.5, 5), n.Between(-0.5, 1.5), n.Between(10, 35))
			case 4:
				tub.TakeAnimal()
			case 5:
				tub.MoveAnimal(n.Between(-0.2, 1.2))
			}
			d.Pad = float64(n.Below(2)) * n.Between(0.2, 1.5)
			d.LidOff, d.Stir, d.Leak = n.Below(3) == 0, float64(n.Below(2))*n.Uniform(), float64(n.Below(5)/4)*n.Between(0, 40)
			d.Draught, d.Sun, d.Film = float64(n.Below(2))*n.Uniform(), float64(n.Below(2))*n.Between(0, 20), n.Between(0, 1.5)
			d.Room = min(max(d.Room+n.Between(-3, 3), 0), 40)
			for range 1 + n.Below(600) {
				tub.Step(d)
			}
			truth := tub.Truth()
			for _, v := range []float64{truth.Water, truth.Lower, truth.Upper, truth.Floor, truth.Contact, truth.Pad, truth.Air, truth.Wall, truth.Lid, truth.Animal} {
				if !(v > -5 && v < 400) {
					t.Fatalf("a temperature is %g: %+v", v, truth)
				}
			}
			if truth.Depth < -1e-12 || truth.Volume < -1e-9 || truth.Depth > tub.spec.Height*1.03 {
				t.Fatalf("depth %g m, volume %g L", truth.Depth, truth.Volume)
			}
		}
		closed(t, tub)
	}
}

// An empty tub under heat is dry and settles; it is filled again and holds.
func TestEmptyTubAndThinFilm(t *testing.T) {
	for _, depth := range []float64{0, 0.010} {
		tub := newTestTub(t, TubSpec{Length: 0.5, Width: 0.3, Depth: depth, PadPower: 30, Lid: true}, 29, 20)
		tub.Drain(0.0003)
		for range 48 * 3600 {
			tub.Step(Drive{Pad: 1, Room: 20, LidOff: true})
		}
		truth := tub.Truth()
		if truth.Depth > 1e-6 {
			t.Errorf("0.3 mm of water are not gone after two days of heat: %g m", truth.Depth)
		}
		if truth.Floor < 25 || truth.Floor > 90 || tub.At(Place{Kind: InWater, Height: 0.005}) != truth.Air {
			t.Errorf("dry tub: %+v", truth)
		}
		closed(t, tub)
		tub.ChangeWater(27, 0.05)
		for range 600 {
			tub.Step(Drive{Room: 20})
		}
		near(t, "depth again", tub.Truth().Depth, 0.05, 0.0002)
		closed(t, tub)
	}
}

// Closed form: a tub that loses almost nothing warms by P·t over its heat
// capacity. Room and water start equal and the air is saturated, so that losses
// begin at nothing.
func TestAdiabaticHeating(t *testing.T) {
	spec := TubSpec{Length: 0.5, Width: 0.4, Depth: 0.15, PadPower: 150, Lid: true, Humidity: 1, Insulation: 5, PadBelow: 10}
	tub := newTestTub(t, spec, 25, 25)
	d := Drive{Pad: 1, Room: 25, Stir: 1}
	for range 300 {
		tub.Step(d)
	}
	from := tub.Water()
	for range 900 {
		tub.Step(d)
	}
	b := tub.Balance()
	water := 0.5 * 0.4 * 0.15 * 997.0
	capacity := water*4180 + tub.geo.fixed[lower] + tub.geo.fixed[upper] + tub.cap[floor] + tub.cap[patch] + tub.cap[pad]
	near(t, "rise, K", tub.Water()-from, 900*150/capacity, 0.03*900*150/capacity)
	if b.Lost > 0.02*b.PadHeat {
		t.Errorf("%g J of %g J are lost, so the limit says nothing", b.Lost, b.PadHeat)
	}
	closed(t, tub)
}

// Closed form: deviations so small that no film is free die away as exp(−λt), λ
// the smallest root of the network, found by inverse iteration and not by stepping.
func TestLumpedCooling(t *testing.T) {
	spec := TubSpec{Length: 0.4, Width: 0.28, Depth: 0.06, PadPower: 20, Lid: true, Humidity: 1, Insulation: 0.2}
	tub := newTestTub(t, spec, 20.00001, 20)
	d := Drive{Room: 20, Stir: 1}
	for range 7200 {
		tub.Step(d)
	}
	from := tub.Water() - 20
	for range 7200 {
		tub.Step(d)
	}
	rate := -math.Log((tub.Water()-20)/from) / 7200

	tub.assemble(&tub.t, 20)
	var a [nodes]state
	for i := range a {
		for j := range a {
			a[i][j] = -tub.net.at[i][j]
		}
	}
	invert(&a)
	x, largest := state{1, 1, 1, 1, 1, 1, 1, 1, 1}, 0.0
	for range 200 {
		var y state
		for i := range y {
			for j := range y {
				y[i] += a[i][j] * tub.cap[j] * x[j]
			}
		}
		largest = y[lower]
		for i := range y {
			x[i] = y[i] / largest
		}
	}
	near(t, "rate × time constant", rate*largest, 1, 0.01)
}

// Stuck on: what a tub comes to when the pad never goes off is where it gives off
// what the pad gives it, whether one steps there or solves for it.
func TestStuckOnEquilibrium(t *testing.T) {
	spec := TubSpec{Length: 0.3, Width: 0.2, Depth: 0.03, PadPower: 12, Lid: true}
	d := Drive{Pad: 1, Room: 24}
	truth, litres, err := Steady(spec, d)
	if err != nil {
		t.Fatal(err)
	}
	tub := newTestTub(t, spec, 30, 24)
	for range 3 * 24 {
		for range 3600 {
			tub.Step(d)
		}
		tub.topUp()
	}
	near(t, "water", tub.Water(), truth.Water, 0.01)
	near(t, "floor", tub.Truth().Floor, truth.Floor, 0.01)
	before := tub.Balance()
	for range 3600 {
		tub.Step(d)
	}
	after := tub.Balance()
	near(t, "given off, W", (after.Lost-before.Lost)/3600, 12, 0.02)
	near(t, "evaporated, L a day", (after.Evaporated-before.Evaporated)*24, litres, 0.01*litres)
	// And the power that holds that temperature is the pad's.
	watts, _, err := HoldPower(spec, truth.Water, Drive{Room: 24})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "power to hold it", watts, 12, 1e-4)
}

// Evaporation from an open tub is the flux of physics.Evaporation over its
// surface (ASHRAE form, 74 % over still water: Smith, Löf and Jones 1998).
func TestOpenTubEvaporates(t *testing.T) {
	tub := newTestTub(t, TubSpec{Length: 0.5, Width: 0.4, Depth: 0.10, PadPower: 60, Humidity: 0.5}, 29, 24)
	for range 600 {
		tub.Step(Drive{Room: 24})
	}
	before, upperBefore := tub.Truth(), tub.t[upper]
	for range 600 {
		tub.Step(Drive{Room: 24})
	}
	mean := (upperBefore + tub.t[upper]) / 2
	want := physics.Evaporation(0) * 0.2 * (physics.SaturationPressure(mean) - 0.5*physics.SaturationPressure(24)) / physics.LatentHeat(mean) * 600
	near(t, "kg in ten minutes", (tub.Truth().Evaporated-before.Evaporated)/want, 1, 0.002)
	if fall := before.Depth - tub.Truth().Depth; fall < 0.8*want/0.2/1000 {
		t.Errorf("the level fell by %g m while %g kg evaporated", fall, want)
	}
	// The lid keeps most of it.
	covered := newTestTub(t, TubSpec{Length: 0.5, Width: 0.4, Depth: 0.10, PadPower: 60, Humidity: 0.5, Lid: true}, 29, 24)
	for range 1200 {
		covered.Step(Drive{Room: 24})
	}
	if share := covered.Truth().Evaporated / tub.Truth().Evaporated; share < 0.01 || share > 0.4 {
		t.Errorf("the lid lets %.3f of the vapour through", share)
	}
}

func TestPlacesAndWater(t *testing.T) {
	tub := newTestTub(t, TubSpec{Length: 0.4, Width: 0.3, Depth: 0.06, PadPower: 25, Lid: true, Animal: 2}, 30, 18)
	for range 900 {
		tub.Step(Drive{Pad: 1, Room: 18})
	}
	truth := tub.Truth()
	for _, c := range []struct {
		place Place
		want  float64
	}{
		{Place{}, 18}, {Place{Kind: OnFloor}, truth.Floor}, {Place{Kind: UnderPet}, truth.Contact}, {Place{Kind: OnPad}, truth.Pad},
		{Place{Kind: UnderLid}, truth.Air}, {Place{Kind: OnWall}, truth.Wall}, {Place{Kind: InWater, Height: 0.08}, truth.Air},
		{Place{Kind: InWater, Height: 0.001}, truth.Lower}, {Place{Kind: InWater, Height: truth.Depth / 2}, truth.Water},
		{Place{Kind: InWater, Height: truth.Depth * 0.99}, truth.Upper}, {Place{Kind: InWater, Height: math.NaN()}, truth.Air},
	} {
		near(t, "place", tub.At(c.place), c.want, 1e-9)
	}
	if truth.Contact <= truth.Floor {
		t.Errorf("under the animal it is %g °C, on the open floor %g", truth.Contact, truth.Floor)
	}
	tub.TakeAnimal()
	near(t, "contact without an animal", tub.Truth().Contact, tub.Truth().Floor, 0)
	litres := tub.Truth().Volume
	near(t, "drained, L", tub.Drain(0.03), litres/2, 0.1)
	for range 3600 {
		tub.Step(Drive{Room: 18, Leak: 1})
	}
	near(t, "leaked, kg", tub.Truth().Leaked, 1, 0.001)
	tub.Pour(100, 30)
	if tub.Truth().Overflowed < 50 {
		t.Errorf("only %g kg ran over", tub.Truth().Overflowed)
	}
	closed(t, tub)
}

func TestTubSaysWhatIsWrong(t *testing.T) {
	good := TubSpec{Length: 0.4, Width: 0.3, Depth: 0.06, PadPower: 20}
	for want, spoil := range map[string]func(*TubSpec){
		"length is 0":          func(s *TubSpec) { s.Length = 0 },
		"width is NaN":         func(s *TubSpec) { s.Width = math.NaN() },
		"depth is 0.2":         func(s *TubSpec) { s.Depth = 0.2 },
		"dry tub":              func(s *TubSpec) { s.Depth = 0.005 },
		"less than the water":  func(s *TubSpec) { s.Height = 0.05 },
		"more than the floor":  func(s *TubSpec) { s.PadArea = 1 },
		"under 2 %":            func(s *TubSpec) { s.PadArea = 1e-4 },
		"pad power is -1":      func(s *TubSpec) { s.PadPower = -1 },
		"no material is named": func(s *TubSpec) { s.Material = "unknown" },
		"holes in the lid":     func(s *TubSpec) { s.Holes = -1 },
	} {
		s := good
		spoil(&s)
		if _, err := NewTub(s, Start{Water: 29, Room: 20}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	for _, start := range []Start{{Water: 0, Room: 20}, {Water: 120, Room: 20}, {Water: 29, Room: 99}, {Water: math.NaN(), Room: 20}} {
		if _, err := NewTub(good, start); err == nil {
			t.Errorf("start %+v was taken", start)
		}
	}
}

// A second under what acted in the last one is a Step of it, to the bit, and a
// place's source and the column are that place.
func TestAgainIsAStep(t *testing.T) {
	n := num.NewNoise(5, 5)
	for range 20 {
		spec := drawSpec(n)
		one, other := newTestTub(t, spec, 29, 20), newTestTub(t, spec, 29, 20)
		d := Drive{Room: 20, Film: 1}
		for s := range 3000 {
			again := s > 0
			if s%300 == 0 {
				d = Drive{Room: d.Room, LidOff: n.Below(3) == 0, Sun: float64(n.Below(2)) * 8, Draught: float64(n.Below(2)) / 5, Leak: float64(n.Below(2)), Film: 1}
				again = false
			}
			if s%7 == 0 {
				d.Pad, d.Room = n.Between(-0.5, 1.5), d.Room+n.Gauss()/4
			}
			one.Step(d)
			if again {
				other.Again(d.Pad, d.Room)
			} else {
				other.Step(d)
			}
			if one.t != other.t || one.account != other.account || one.refreshN != other.refreshN {
				t.Fatalf("after %d s: %v, want %v", s, other.t, one.t)
			}
		}
		column := one.Column()
		for k := RoomAir; k <= OnWall; k++ {
			p := Place{Kind: k, Height: n.Between(0, 0.2)}
			if from := one.Source(k); from != nil && *from != one.At(p) {
				t.Errorf("place %d reads %v, its source %v", k, one.At(p), *from)
			}
			if k == InWater && column.At(p.Height) != one.At(p) {
				t.Errorf("the column at %v m has %v, the tub %v", p.Height, column.At(p.Height), one.At(p))
			}
		}
	}
}
