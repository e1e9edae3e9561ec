package rig

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/sim"
)

// math.Cos is the outside here; the bench itself must not use it, because it is
// not the same on every processor.
func TestCosineOfAShareOfATurn(t *testing.T) {
	for i := 0; i <= 4000; i++ {
		share := float64(i) / 4000
		if got, want := cosTurn(share), math.Cos(2*math.Pi*share); math.Abs(got-want) > 1e-9 {
			t.Fatalf("cosine of %g turns: %.12f, wanted %.12f", share, got, want)
		}
	}
}

func TestRoomIsWarmestAtThreeInTheAfternoon(t *testing.T) {
	w := standWiring()
	w.Room = Room{Mean: 20, Swing: 3, From: 18}
	b, err := NewBench(w)
	if err != nil {
		t.Fatal(err)
	}
	at := func(hour float64) float64 { // of the first day's wall clock
		return b.roomAt(time.Duration((hour - 18) * float64(time.Hour)))
	}
	for hour, want := range map[float64]float64{
		18: 20 + 3*math.Cos(2*math.Pi*3/24), 21: 20, 27: 17, 33: 20, 39: 23, 39 + 240: 23, 27 + 24: 17,
	} {
		if math.Abs(at(hour)-want) > 1e-8 {
			t.Errorf("at %g o'clock %.6f °C, wanted %.6f", hour, at(hour), want)
		}
	}
	if b.Room() != at(18) {
		t.Error("the bench does not begin in its room")
	}
}

// A pad needs both of its contacts; a station without a series relay needs one.
func TestHeatNeedsEveryContact(t *testing.T) {
	for _, c := range []struct {
		pad, series gpio.Level
		heats       bool
	}{{gpio.Low, gpio.Low, false}, {gpio.High, gpio.Low, false}, {gpio.Low, gpio.High, false}, {gpio.High, gpio.High, true}} {
		s := newStand(t)
		_ = s.Pins()[padNorth].Out(c.pad)
		_ = s.Pins()[seriesNorth].Out(c.series)
		s.run(1)
		if s.Heats(0) != c.heats || (s.Truth(0).PadWatts > 0) != c.heats || s.Heats(1) {
			t.Errorf("pad %v, series %v: heats %v", c.pad, c.series, s.Heats(0))
		}
	}
	s := newStand(t)
	_ = s.Pins()[heater].Out(gpio.High)
	s.run(1)
	if !s.Heats(2) || s.FanRuns(2) || s.Chamber(2).Watts != 200 {
		t.Error("the cabinet's heater does not heat, or moves the fan")
	}
}

func TestNothingHeatsUntilSomebodySays(t *testing.T) {
	s := newStand(t)
	s.run(600)
	for i := range 3 {
		if s.Heats(i) {
			t.Errorf("station %d heats", i)
		}
	}
	if s.Truth(0).PadHeat != 0 || s.Chamber(2).Heat != 0 {
		t.Error("heat came from nowhere")
	}
}

// Probes read what is where they lie, to the code: half a code of rounding.
func TestProbesReadTheirPlaces(t *testing.T) {
	s := newStand(t)
	s.drive(gpio.High)
	s.run(300)
	for i := range 3 {
		for k := range s.stations[i].probes {
			if got, want := s.reads(i, k), s.Intended(i, k); math.Abs(got-want) > 1.0/32+1e-9 {
				t.Errorf("station %d, probe %d reads %g, its place is %g", i, k, got, want)
			}
		}
	}
	if s.Floor(0) <= s.Water(0) {
		t.Error("the floor over a heated pad is not the warmer")
	}
	if s.Floor(2) != s.Room() || s.Water(2) != s.Room() || s.Truth(2) != (sim.Truth{}) || s.Chamber(0).Air != 0 {
		t.Error("a chamber passes for a tub, or a tub for a chamber")
	}
}

func TestHandsOnATub(t *testing.T) {
	s := newStand(t)
	s.OpenLid(0, true)
	s.ChangeWater(0, 33)
	s.PutAnimal(1, 1.2, 29)
	s.run(1)
	if !s.LidOff(0) || s.LidOff(1) || math.Abs(s.Water(0)-33) > 0.5 || s.Truth(1).Animal == s.Truth(1).Water {
		t.Errorf("lid %v, water %.2f, animal %.2f", s.LidOff(0), s.Water(0), s.Truth(1).Animal)
	}
	s.OpenLid(0, false)
	s.TakeAnimal(1)
	s.run(1)
	if s.LidOff(0) || s.Truth(1).Animal != s.Truth(1).Water {
		t.Error("the lid is still off, or the animal still in")
	}
	// On a chamber none of these has anything to do.
	s.ChangeWater(2, 90)
	s.PutAnimal(2, 1, 29)
	s.TakeAnimal(2)
	s.run(1)
}

// digest is everything that can be seen of two hours of a bench.
func digest(t *testing.T, seed uint64) [32]byte {
	w := standWiring(Fault{Kind: ProbeNoisy, Target: "north/control", Amount: 1, At: time.Minute}, Fault{Kind: TubLeaking, Target: "south", Amount: 1})
	w.Seed, w.Nuisances = seed, Busy
	for i := range w.Stations {
		for k := range w.Stations[i].Probes {
			p := &w.Stations[i].Probes[k].Spec
			p.Noise, p.Local, p.LocalTime, p.TimeConstant = 0.03, 0.02, 200*time.Second, 12*time.Second
		}
	}
	b, err := NewBench(w)
	if err != nil {
		t.Fatal(err)
	}
	s := &stand{b, t}
	s.drive(gpio.High)
	var all []byte
	for range 7200 {
		s.run(1)
		for i := range 3 {
			for k := range s.stations[i].probes {
				all = append(all, s.stations[i].probes[k].pad[:]...)
			}
			all = binary.LittleEndian.AppendUint64(all, math.Float64bits(s.Water(i)))
		}
		all = binary.LittleEndian.AppendUint64(all, math.Float64bits(s.Room()))
	}
	all = binary.LittleEndian.AppendUint64(all, s.Noise(1).Uint64())
	return sha256.Sum256(all)
}

func TestSameSeedSameBytes(t *testing.T) {
	one, again, other := digest(t, 3), digest(t, 3), digest(t, 4)
	if one != again {
		t.Error("the same seed gave other bytes")
	}
	if one == other {
		t.Error("another seed gave the same bytes")
	}
}

// A crossed room probe stays in its room: only what hangs in a tub is crossed.
func TestCrossedProbesLieInTheOtherTub(t *testing.T) {
	s := newStand(t, Fault{Kind: ProbesSwapped, Target: "north,south"})
	s.run(30)
	for k, role := range []controller.Role{controller.RoleControl, controller.RoleGuard, controller.RoleFloor} {
		if math.Abs(s.reads(0, k)-s.Intended(1, k)) > 1.0/32+1e-9 || math.Abs(s.reads(1, k)-s.Intended(0, k)) > 1.0/32+1e-9 {
			t.Errorf("%s: north reads %g and south %g", RoleName(role), s.reads(0, k), s.reads(1, k))
		}
	}
	if s.reads(0, 3) != 20 {
		t.Errorf("the room probe reads %g", s.reads(0, 3))
	}
}
