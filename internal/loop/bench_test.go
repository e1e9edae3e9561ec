package loop_test

import (
	"fmt"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

// still is a bus whose cycle a test writes.
type still struct{ cycle *sensors.Cycle }

func (s *still) Latest() *sensors.Cycle { return s.cycle }

// bench is a loop with n tubs of two in-water probes, a floor probe and a room
// probe, two relays each, and everything on one bus.
type bench struct {
	loop *loop.Loop
	pins []*rig.Pin
	bus  *still
	now  time.Duration
	plan loop.Plan
}

func tubSettings() controller.Settings {
	const k = controller.Kelvin
	at := func(milli int64) physic.Temperature {
		return physic.ZeroCelsius + physic.Temperature(milli)*physic.MilliKelvin
	}
	s := controller.Settings{
		Kind: controller.Tub, SetPoint: at(29400), Differential: 280 * controller.MilliKelvin,
		TooCold: at(26700), Cutoff: at(31700), FloorBound: at(35000), RoomWarmest: at(27000),
		MinOn: time.Minute, MinOff: time.Minute, RampPerHour: 2 * k, HasPad: true, HasSeries: true,
		Limits: controller.Limits{
			GainPerHour: 2200 * controller.MilliKelvin, LossPerHour: 800 * controller.MilliKelvin,
			Coast: 2 * time.Minute, LongestOn: 12 * time.Hour, FloorRise: 1500 * controller.MilliKelvin, Flux: 250,
		},
	}
	for _, role := range []controller.Role{controller.RoleControl, controller.RoleGuard, controller.RoleFloor, controller.RoleRoom} {
		s.Probes = append(s.Probes, controller.ProbeSettings{Role: role, Uncertainty: 300 * controller.MilliKelvin, Calibrated: true})
	}
	return s
}

func newBench(tb testing.TB, n int, change func(*loop.Plan)) *bench {
	tb.Helper()
	b := &bench{bus: &still{cycle: &sensors.Cycle{}}}
	b.plan = loop.Plan{Name: "test", Version: "test", Buses: []loop.BusPlan{{Name: "bus", Bus: b.bus}}}
	for i := range n {
		name := fmt.Sprintf("tub-%d", i)
		for _, what := range []string{"pad", "series"} {
			pin := rig.NewPin(what + "-" + name)
			b.pins = append(b.pins, pin)
			b.plan.Relays = append(b.plan.Relays, loop.RelayPlan{Name: pin.Name(), Pin: pin})
		}
		s := loop.StationPlan{
			Name: name, Settings: tubSettings(), Pad: 2 * i, Series: 2*i + 1, Fan: loop.NoRelay, Buzzer: loop.NoRelay,
		}
		for range s.Settings.Probes {
			a := onewire.Address(len(b.bus.cycle.Samples) + 1)
			b.bus.cycle.Samples = append(b.bus.cycle.Samples, sensors.Sample{Address: a})
			s.Probes = append(s.Probes, loop.ProbePlan{Bus: 0, Address: a})
		}
		b.plan.Stations = append(b.plan.Stations, s)
	}
	if change != nil {
		change(&b.plan)
	}
	l, err := loop.New(b.plan)
	if err != nil {
		tb.Fatal(err)
	}
	b.loop = l
	return b
}

// reads gives every probe that temperature, measured now.
func (b *bench) reads(milli int64) {
	for i := range b.bus.cycle.Samples {
		b.bus.cycle.Samples[i].Reading = controller.Reading{
			Value: physic.ZeroCelsius + physic.Temperature(milli)*physic.MilliKelvin,
			At:    b.now, Code: int16(milli * 16 / 1000), Quality: controller.Good,
		}
	}
}

var wall = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

func (b *bench) tick() *loop.Result {
	b.now += time.Second
	return b.loop.Tick(b.now, wall.Add(b.now), true, &loop.Health{StoreProven: true})
}

// run ticks until the condition holds, at most for the time given.
func (b *bench) run(most time.Duration, milli int64, until func() bool) bool {
	for end := b.now + most; b.now < end; {
		b.reads(milli)
		b.tick()
		if until() {
			return true
		}
	}
	return false
}

// BenchmarkTick64Stations is the whole tick of 64 stations with 256 probes.
func BenchmarkTick64Stations(b *testing.B) {
	bench := newBench(b, 64, nil)
	bench.run(20*time.Minute, 25000, func() bool { return false })
	b.ReportAllocs()
	for b.Loop() {
		bench.reads(25000)
		bench.tick()
	}
}

// BenchmarkSnapshot64Stations is what page and metrics are made from.
func BenchmarkSnapshot64Stations(b *testing.B) {
	bench := newBench(b, 64, nil)
	bench.reads(25000)
	bench.tick()
	b.ReportAllocs()
	for b.Loop() {
		if s := bench.loop.Snapshot(); len(s.Stations) != 64 {
			b.Fatal("not every station is in the snapshot")
		}
	}
}
