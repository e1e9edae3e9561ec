package ds248x_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/sensors"
	"soakwarden/sensors/ds248x"
	"soakwarden/sim/rig"
)

type bench struct {
	chip   *bridge
	line   *rig.OneWire
	probes []*rig.Thermometer
	source *ds248x.Source
	bus    *sensors.Bus
	now    time.Duration
}

func newBench(t *testing.T, at uint16, roms ...string) *bench {
	t.Helper()
	b := &bench{line: rig.NewOneWire("behind", 1)}
	b.chip = &bridge{line: b.line, address: at}
	var probes []sensors.Probe
	for _, rom := range roms {
		a, err := sensors.ParseROM(rom)
		if err != nil {
			t.Fatal(err)
		}
		p, err := rig.NewThermometer(rig.ThermometerSpec{Address: a, Parasite: true}, 1)
		if err != nil {
			t.Fatal(err)
		}
		p.Feel(29.5, time.Second)
		b.line.Attach(p)
		b.probes = append(b.probes, p)
		probes = append(probes, sensors.Probe{Address: a})
	}
	var err error
	if b.source, err = ds248x.New(b.chip, at); err != nil {
		t.Fatal(err)
	}
	if b.bus, err = sensors.NewBus(sensors.Options{Source: b.source, Probes: probes, Wait: b.line.Wait}); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *bench) cycle() *sensors.Cycle {
	b.now += time.Second
	b.line.At(b.now)
	return b.bus.RunCycle(b.now)
}

func (b *bench) good() bool {
	b.cycle()
	c := b.cycle()
	return !slices.ContainsFunc(c.Samples, func(s sensors.Sample) bool {
		return s.Reading.Quality != controller.Good || s.Reading.Code != 472
	})
}

// periph's driver takes 0x18 and 0x19 of the four addresses that the data sheet
// DS2482-100 names. Probes without a supply convert, so the strong pull-up is on.
func TestEveryAddressOfTheDataSheet(t *testing.T) {
	for at := ds248x.FirstAddress; at <= ds248x.LastAddress; at++ {
		b := newBench(t, at, "28-0316a2795cff", "22-00000a0b0c0d")
		if !b.good() {
			t.Errorf("%#x: %+v", at, b.bus.Latest())
		}
		found, err := b.source.Search()
		if err != nil || len(found) != 2 {
			t.Errorf("%#x: found %x, %v", at, found, err)
		}
	}
	for _, at := range []uint16{0x17, 0x1C, 0x20, 0x21} {
		if _, err := ds248x.New(&bridge{}, at); err == nil {
			t.Errorf("address %#x was taken", at)
		}
	}
}

func TestRecoversFromErrorsThatThePeriphDriverKeeps(t *testing.T) {
	b := newBench(t, 0x1A, "28-0316a2795cff")
	if !b.good() || b.chip.resets != 1 {
		t.Fatalf("%+v, %d resets", b.bus.Latest(), b.chip.resets)
	}
	b.chip.fails = 1
	if c := b.cycle(); c.Fault != sensors.BusFailed || !errors.Is(c.Err, errNack) || c.Samples[0].Reading.Quality != controller.Bad {
		t.Errorf("one I²C error: %+v", c)
	}
	if !b.good() || b.chip.resets != 2 {
		t.Errorf("after one I²C error: %+v, %d resets", b.bus.Latest(), b.chip.resets)
	}
	b.chip.busy = true
	if c := b.cycle(); c.Fault != sensors.BusFailed {
		t.Errorf("busy chip: %+v", c)
	}
	b.chip.busy = false
	if !b.good() {
		t.Errorf("after a busy chip: %+v", b.bus.Latest())
	}
}

func TestLineErrorsKeepTheDriver(t *testing.T) {
	b := newBench(t, 0x18, "28-0316a2795cff")
	b.good()
	b.line.ShortsToGround(true)
	if c := b.cycle(); c.Fault != sensors.BusShorted || c.Samples[0].Reading.Flaw != controller.Shorted {
		t.Errorf("shorted: %+v", c)
	}
	b.line.ShortsToGround(false)
	b.probes[0].Vanishes(true)
	c := b.cycle()
	var line onewire.BusError
	if c.Fault != sensors.BusEmpty || c.Samples[0].Reading.Flaw != controller.Absent || !errors.As(c.Err, &line) || errors.Unwrap(c.Err) == nil {
		t.Errorf("empty: %+v", c)
	}
	b.probes[0].Vanishes(false)
	if !b.good() || b.chip.resets != 1 {
		t.Errorf("%+v, %d resets", b.bus.Latest(), b.chip.resets)
	}
}

func TestMissingChip(t *testing.T) {
	b := newBench(t, 0x18, "28-0316a2795cff")
	b.chip.address = 0x19
	a := b.probes[0].Address()
	if _, err := b.source.Start(); err == nil || !strings.Contains(err.Error(), "0x18") {
		t.Error(err)
	}
	var pad [9]byte
	if err := b.source.Read(a, &pad); err == nil {
		t.Error("read through no chip")
	}
	if _, err := b.source.Search(); err == nil {
		t.Error("searched through no chip")
	}
	if err := b.source.SetResolution(a, 11); err == nil {
		t.Error("set through no chip")
	}
	b.chip.address = 0x18 // it is plugged in
	if err := b.source.SetResolution(a, 11); err != nil {
		t.Error(err)
	}
	if b.source.String() != "DS248x at 0x18 of simulated I2C" {
		t.Error(b.source.String())
	}
}

func TestOpenSaysWhatToWrite(t *testing.T) {
	for _, path := range []string{"", "/dev/i2c", "/dev/i2c-x", "/dev/spidev0.0"} {
		if _, _, err := ds248x.Open(path, 0x18); err == nil || !strings.Contains(err.Error(), "/dev/i2c-1") {
			t.Errorf("%q: %v", path, err)
		}
	}
	if _, _, err := ds248x.Open("/dev/i2c-1", 0x30); err == nil || !strings.Contains(err.Error(), "0x18") {
		t.Error(err)
	}
	if _, _, err := ds248x.Open("/dev/i2c-9999", 0x18); err == nil {
		t.Error("a missing device was opened")
	}
}
