package rig

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/devices/v3/ds18b20"

	"soakwarden/controller"
	"soakwarden/sim"
)

// The relays of the bench of these tests, by their index.
const (
	padNorth = iota
	seriesNorth
	padSouth
	seriesSouth
	heater
	fan
)

// standWiring is a bench with two tubs and a cabinet, without nuisances, and
// with probes that err in nothing and lag in nothing.
func standWiring(faults ...Fault) Wiring {
	probes := func(from uint64) []ProbeWiring {
		spec := func(n uint64) ThermometerSpec {
			return ThermometerSpec{Address: addressOf(familyB20, from+n)}
		}
		return []ProbeWiring{
			{Role: controller.RoleControl, Spec: spec(1), Place: sim.Place{Kind: sim.InWater, Height: 0.02}},
			{Role: controller.RoleGuard, Spec: spec(2), Place: sim.Place{Kind: sim.InWater, Height: 0.04}},
			{Role: controller.RoleFloor, Spec: spec(3), Place: sim.Place{Kind: sim.OnFloor}},
			{Role: controller.RoleRoom, Spec: spec(4)},
		}
	}
	tub := sim.TubSpec{Length: 0.4, Width: 0.28, Depth: 0.06, PadPower: 20, Lid: true}
	chamber := sim.ChamberSpec{
		Length: 1, Width: 0.5, Height: 0.5, Power: 200,
		Pieces: []sim.PieceSpec{{Name: "slate", Thickness: 0.02, Material: "brick"}},
	}
	other := tub
	return Wiring{
		Seed: 7, Room: Room{Mean: 20}, Faults: faults,
		Relays: []string{"pad-north", "series-north", "pad-south", "series-south", "heater", "fan"},
		Buses:  []string{"tubs", "cabinet"},
		Stations: []StationWiring{
			{Name: "north", Tub: &tub, Start: sim.Start{Water: 29, Room: 20}, Pad: padNorth, Series: seriesNorth, Fan: NoRelay, Probes: probes(0x100)},
			{Name: "south", Tub: &other, Start: sim.Start{Water: 25, Room: 20}, Pad: padSouth, Series: seriesSouth, Fan: NoRelay, Probes: probes(0x200)},
			{Name: "cabinet", Chamber: &chamber, Pad: heater, Series: NoRelay, Fan: fan, Probes: []ProbeWiring{
				{Role: controller.RoleCore, Bus: 1, Spec: ThermometerSpec{Address: addressOf(familyB20, 0x301)}, Inner: sim.ChamberPlace{Kind: sim.PieceCore}},
				{Role: controller.RoleAir, Bus: 1, Spec: ThermometerSpec{Address: addressOf(familyB20, 0x302)}, Inner: sim.ChamberPlace{Kind: sim.ChamberAir}},
			}},
		},
	}
}

// stand is a bench and what the tests do to it.
type stand struct {
	*Bench
	t testing.TB
}

func newStand(t testing.TB, faults ...Fault) *stand {
	t.Helper()
	b, err := NewBench(standWiring(faults...))
	if err != nil {
		t.Fatal(err)
	}
	s := &stand{b, t}
	s.convert()
	return s
}

// convert starts a conversion on each bus. A bus that does not answer keeps
// what its probes have; the tests of the buses look at the errors.
func (s *stand) convert() {
	for _, bus := range s.Buses() {
		_ = ds18b20.StartAll(bus)
		bus.Wait(750 * time.Millisecond)
	}
}

// run lets seconds pass, each with a conversion.
func (s *stand) run(seconds int) {
	for range seconds {
		s.Step()
		s.convert()
	}
}

// drive writes every relay. A line that takes no value keeps its level.
func (s *stand) drive(l gpio.Level) {
	for _, p := range s.Pins() {
		_ = p.Out(l)
	}
}

// reads is the last code of a probe in °C.
func (s *stand) reads(station, probe int) float64 {
	pad := &s.stations[station].probes[probe].pad
	return float64(int16(uint16(pad[1])<<8|uint16(pad[0]))) / 16
}

// effectAt is the first second of an effect; −1 before any.
func (s *stand) effectAt() time.Duration {
	if at, ok := s.FirstEffect(); ok {
		return at
	}
	return -1
}
