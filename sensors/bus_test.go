package sensors_test

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

var roms = []string{"28-0316a2795cff", "28-000001318252", "22-00000a0b0c0d", "10-000802b4ba0e", "3b-0000001a2b3c", "42-0000005e6f70"}

func address(t testing.TB, rom string) onewire.Address {
	t.Helper()
	a, err := sensors.ParseROM(rom)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// bench is a simulated bus with probes at rest at celsius, and the Bus over it.
type bench struct {
	line   *rig.OneWire
	probes []*rig.Thermometer
	bus    *sensors.Bus
	now    time.Duration
}

func newBench(t testing.TB, celsius float64, specs ...rig.ThermometerSpec) *bench {
	t.Helper()
	b := &bench{line: rig.NewOneWire("test", 1)}
	var probes []sensors.Probe
	for _, s := range specs {
		p, err := rig.NewThermometer(s, 1)
		if err != nil {
			t.Fatal(err)
		}
		p.Feel(celsius, time.Second)
		b.line.Attach(p)
		b.probes = append(b.probes, p)
		probes = append(probes, sensors.Probe{Address: s.Address})
	}
	bus, err := sensors.NewBus(sensors.Options{
		Name: "test", Source: sensors.NewOneWire(b.line), Probes: probes, Wait: b.line.Wait,
	})
	if err != nil {
		t.Fatal(err)
	}
	b.bus = bus
	return b
}

func plain(t testing.TB, n int) (specs []rig.ThermometerSpec) {
	for _, rom := range roms[:n] {
		specs = append(specs, rig.ThermometerSpec{Address: address(t, rom)})
	}
	return specs
}

// cycle runs the next cycle, a second after the last.
func (b *bench) cycle() *sensors.Cycle {
	b.now += time.Second
	b.line.At(b.now)
	return b.bus.RunCycle(b.now)
}

func celsius(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Kelvin)
}

func TestNothingIsKnownBeforeTheFirstCycle(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 3)...)
	c := b.bus.Latest()
	if c == nil || c.Seq != 0 || len(c.Samples) != 3 {
		t.Fatalf("%+v", c)
	}
	for _, s := range c.Samples {
		if s.Reading != (controller.Reading{}) {
			t.Errorf("%+v", s.Reading)
		}
	}
}

func TestCycleReadsEveryFamily(t *testing.T) {
	b := newBench(t, 29.5, plain(t, len(roms))...)
	for i, s := range b.cycle().Samples {
		if s.Reading.Quality != controller.Suspect {
			t.Errorf("%s: first reading is %d, want suspect", roms[i], s.Reading.Quality)
		}
	}
	c := b.cycle()
	if c != b.bus.Latest() || c.Seq != 2 || c.Fault != sensors.NoFault || c.Started != 2*time.Second || c.Length() != 750*time.Millisecond {
		t.Fatalf("%+v", c)
	}
	for i, s := range c.Samples {
		r := s.Reading
		if r.Quality != controller.Good || r.Flaw != controller.NoFlaw || r.Code != 472 || celsius(r.Value) != 29.5 ||
			r.At != c.Started || s.Address != b.probes[i].Address() || s.Errors != 0 {
			t.Errorf("%s: %+v", roms[i], s)
		}
	}
}

// What was not read in this cycle does not exist in it: no value, no code.
func TestFaultsAreNamedAndLeaveNoValue(t *testing.T) {
	for _, c := range []struct {
		name  string
		fault func(*bench)
		want  controller.Flaw
		bus   sensors.Fault
		one   bool // only the first probe
	}{
		{"a probe vanishes", func(b *bench) { b.probes[0].Vanishes(true) }, controller.Absent, sensors.NoFault, true},
		{"all vanish", func(b *bench) {
			for _, p := range b.probes {
				p.Vanishes(true)
			}
		}, controller.Absent, sensors.BusEmpty, false},
		{"power lost in each conversion", func(b *bench) { b.probes[0].GivesPowerOnValue(true) }, controller.PowerOnValue, sensors.NoFault, true},
		{"starved", func(b *bench) { b.probes[0].Starves(true) }, controller.LowPower, sensors.NoFault, true},
		{"shorted, read as zeros", func(b *bench) { b.line.ShortsToGround(true) }, controller.Shorted, sensors.BusShorted, false},
		{"shorted, reported", func(b *bench) { b.line.ReportsShort(true); b.line.ShortsToGround(true) }, controller.Shorted, sensors.BusShorted, false},
		{"hung", func(b *bench) { b.line.Hangs(true) }, controller.Stale, sensors.BusHung, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, 29.5, plain(t, 3)...)
			b.cycle()
			b.cycle()
			c.fault(b)
			got := b.cycle()
			if got.Fault != c.bus || (got.Fault != sensors.NoFault) != (got.Fault.String() != "") {
				t.Errorf("bus fault %q, want %q", got.Fault, c.bus)
			}
			for i, s := range got.Samples {
				if c.one && i > 0 {
					if s.Reading.Quality != controller.Good {
						t.Errorf("probe %d: %+v", i, s.Reading)
					}
					continue
				}
				want := controller.Reading{At: got.Started, Quality: controller.Bad, Flaw: c.want}
				if s.Reading != want || s.Errors != 1 || b.bus.Counts(i).Flaws[c.want] != 1 {
					t.Errorf("probe %d: %+v, %d errors, want %+v", i, s.Reading, s.Errors, want)
				}
			}
		})
	}
}

func TestEverythingRecoversByItself(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 2)...)
	b.cycle()
	b.line.Hangs(true)
	b.cycle()
	b.line.Hangs(false)
	b.line.ShortsToGround(true)
	b.cycle()
	b.line.ShortsToGround(false)
	b.cycle()
	c := b.cycle()
	for _, s := range c.Samples {
		if s.Reading.Quality != controller.Good || s.Errors != 2 {
			t.Errorf("%+v", s)
		}
	}
	b.probes[0].Vanishes(true)
	for range 20 {
		b.cycle()
	}
	b.probes[0].Vanishes(false) // back after 20 s, its memory at the power-on value until it converts
	if q := b.cycle().Samples[0].Reading.Quality; q != controller.Suspect {
		t.Errorf("first reading after an absence is %d, want suspect", q)
	}
	if q := b.cycle().Samples[0].Reading.Quality; q != controller.Good {
		t.Errorf("second reading after an absence is %d, want good", q)
	}
}

func TestFrozenProbeRepeatsItsCode(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 1)...)
	b.cycle()
	b.cycle()
	b.probes[0].Freezes(true)
	b.probes[0].Feel(31, time.Second)
	if r := b.cycle().Samples[0].Reading; r.Code != 472 || r.Quality != controller.Good {
		t.Errorf("%+v", r)
	}
	b.probes[0].Freezes(false)
	b.cycle()
	if r := b.cycle().Samples[0].Reading; r.Code != 31*16 {
		t.Errorf("%+v", r)
	}
}

func TestCalibrationIsApplied(t *testing.T) {
	b := newBench(t, 29.5, rig.ThermometerSpec{Address: address(t, roms[0]), Offset: 0.5})
	bus, err := sensors.NewBus(sensors.Options{
		Source: sensors.NewOneWire(b.line), Wait: b.line.Wait,
		Probes: []sensors.Probe{{
			Address:     address(t, roms[0]),
			Calibration: sensors.Offset(-500*controller.MilliKelvin, 200*controller.MilliKelvin),
		}},
	})
	if err != nil {
		t.Fatal(err)
	}
	r := bus.RunCycle(time.Second).Samples[0].Reading
	if celsius(r.Value) != 29.5 || r.Code != 480 {
		t.Errorf("value %v, code %d: the code must stay uncorrected", r.Value, r.Code)
	}
}

// A coarser resolution shortens the wait from the second cycle on, and a probe
// that falls back to 12 bits after a loss of power lengthens it again.
func TestWaitFollowsTheResolution(t *testing.T) {
	spec := rig.ThermometerSpec{Address: address(t, roms[0])}
	b := newBench(t, 29.5, spec)
	b.cycle()
	source := sensors.NewOneWire(b.line)
	if err := source.SetResolution(spec.Address, 10); err != nil {
		t.Fatal(err)
	}
	b.cycle()
	c := b.cycle()
	if c.Length() != 187500*time.Microsecond || c.Samples[0].Bits != 10 || c.Samples[0].Reading.Quality != controller.Good {
		t.Errorf("%v at %d bits: %+v", c.Length(), c.Samples[0].Bits, c.Samples[0].Reading)
	}
	b.line.LosesPower() // the EEPROM was never written
	if f := b.cycle().Samples[0].Reading.Flaw; f != controller.Shorted {
		// It is busy for 750 ms and was given 187: it holds the line low.
		t.Errorf("flaw %d", f)
	}
	b.cycle()
	if c = b.cycle(); c.Length() != 750*time.Millisecond || c.Samples[0].Bits != 12 {
		t.Errorf("%v at %d bits", c.Length(), c.Samples[0].Bits)
	}
}

func TestSetResolutionRefuses(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 4)...)
	source := sensors.NewOneWire(b.line)
	for _, c := range []struct {
		rom  string
		bits uint8
	}{{roms[0], 8}, {roms[0], 13}, {roms[3], 12}, {"28-0000000000aa", 12}} {
		if err := source.SetResolution(address(t, c.rom), c.bits); err == nil {
			t.Errorf("%s took %d bits", c.rom, c.bits)
		}
	}
	if err := source.SetResolution(address(t, roms[0]), 12); err != nil {
		t.Error(err)
	}
	b.line.Hangs(true)
	if err := source.SetResolution(address(t, roms[0]), 12); err == nil {
		t.Error("a hung bus took a resolution")
	}
	if source.String() != "simulated bus test" {
		t.Error(source.String())
	}
}

func TestNewBusRefuses(t *testing.T) {
	source := sensors.NewOneWire(rig.NewOneWire("x", 1))
	good := sensors.Probe{Address: address(t, roms[0])}
	tooMuch := good
	tooMuch.Calibration = sensors.Offset(4*controller.Kelvin, controller.Kelvin)
	for name, o := range map[string]sensors.Options{
		"no source":       {},
		"twice":           {Source: source, Probes: []sensors.Probe{good, good}},
		"no family":       {Source: source, Probes: []sensors.Probe{{Address: 0x26}}},
		"bad calibration": {Source: source, Probes: []sensors.Probe{tooMuch}},
	} {
		if _, err := sensors.NewBus(o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestSearchListsNewAndMissing(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 3)...)
	fresh, err := rig.NewThermometer(rig.ThermometerSpec{Address: address(t, roms[4])}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if inv := b.bus.Inventory(); len(inv.Found) != 0 {
		t.Errorf("found before any search: %v", inv.Found)
	}
	b.line.Attach(fresh)
	b.probes[1].Vanishes(true)
	inv := b.bus.Search(time.Second)
	if inv != b.bus.Inventory() || inv.Err != nil || inv.At != time.Second || len(inv.Found) != 3 {
		t.Fatalf("%+v", inv)
	}
	if len(inv.Unknown) != 1 || inv.Unknown[0] != fresh.Address() {
		t.Errorf("unknown: %v", inv.Unknown)
	}
	if len(inv.Missing) != 1 || inv.Missing[0] != b.probes[1].Address() {
		t.Errorf("missing: %v", inv.Missing)
	}
	b.line.ShortsToGround(true)
	if inv = b.bus.Search(2 * time.Second); len(inv.Found) != 0 || inv.Err == nil {
		t.Errorf("a shorted line found %v, %v", inv.Found, inv.Err)
	}
}

func TestCycleDoesNotAllocate(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 3)...)
	b.cycle()
	if n := testing.AllocsPerRun(1000, func() { b.cycle() }); n != 0 {
		t.Errorf("%v allocations a cycle", n)
	}
	b.probes[0].Vanishes(true)
	if n := testing.AllocsPerRun(1000, func() { b.cycle() }); n != 0 {
		t.Errorf("%v allocations a cycle with a vanished probe", n)
	}
}

func BenchmarkCycleOfThreeProbes(b *testing.B) {
	specs := plain(b, 3)
	for i := range specs {
		specs[i].Noise, specs[i].Local, specs[i].LocalTime = 0.03, 0.02, 200*time.Second
		specs[i].TimeConstant = 12 * time.Second
	}
	bench := newBench(b, 29.5, specs...)
	for b.Loop() {
		bench.cycle()
	}
}

func BenchmarkFeel(b *testing.B) {
	bench := newBench(b, 29.5, rig.ThermometerSpec{
		Address: address(b, roms[0]), Local: 0.02, LocalTime: 200 * time.Second, TimeConstant: 12 * time.Second,
	})
	for b.Loop() {
		bench.probes[0].Feel(29.5, time.Second)
	}
}
