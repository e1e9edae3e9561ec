package rig

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/ds18b20"
)

// Addresses with their CRC in the top byte; the first is the example of
// periph's documentation.
var testAddresses = []onewire.Address{
	0x7a00000131825228,
	addressOf(familyB20, 0x0316a2795cff),
	addressOf(family1822, 0x0a0b0c0d),
	addressOf(familyS20, 0x000802b4ba0e),
	addressOf(family1825, 0x1a2b3c),
	addressOf(family28EA, 0x5e6f70),
}

func addressOf(family byte, serial uint64) onewire.Address {
	a := onewire.Address(serial<<8 | uint64(family))
	var rom [7]byte
	for i := range rom {
		rom[i] = byte(a >> (8 * i))
	}
	return a | onewire.Address(onewire.CalcCRC(rom[:]))<<56
}

func hang(t testing.TB, line *OneWire, spec ThermometerSpec, celsius float64) *Thermometer {
	t.Helper()
	p, err := NewThermometer(spec, 1)
	if err != nil {
		t.Fatal(err)
	}
	p.Feel(celsius, time.Second)
	line.Attach(p)
	return p
}

// scratchpad reads a probe through periph's own device type.
func scratchpad(t testing.TB, line *OneWire, a onewire.Address) (pad [9]byte) {
	t.Helper()
	if err := (&onewire.Dev{Bus: line, Addr: a}).Tx([]byte{0xBE}, pad[:]); err != nil {
		t.Fatal(err)
	}
	return pad
}

func convertAll(t testing.TB, line *OneWire) {
	t.Helper()
	if err := ds18b20.StartAll(line); err != nil {
		t.Fatal(err)
	}
	line.Wait(750 * time.Millisecond)
}

// periph's driver, written by others against real probes, works on this bus:
// search, resolution, conversion of all, values.
func TestPeriphsDriverReadsTheBus(t *testing.T) {
	line := NewOneWire("n", 1)
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 29.5)
	hang(t, line, ThermometerSpec{Address: testAddresses[3]}, -3.1875)
	found, err := line.Search(false)
	if err != nil || len(found) != 2 {
		t.Fatalf("%x, %v", found, err)
	}
	for i, want := range []physic.Temperature{29500 * physic.MilliKelvin, -3187500 * physic.MicroKelvin} {
		d, err := ds18b20.New(line, testAddresses[3*i], 12)
		if err != nil {
			t.Fatal(err)
		}
		convertAll(t, line)
		got, err := d.LastTemp()
		if err != nil || got != want+physic.ZeroCelsius {
			t.Errorf("%s: %s, %v", d, got, err)
		}
	}
	// Another resolution: the driver writes scratchpad and EEPROM.
	d, err := ds18b20.New(line, testAddresses[0], 9)
	if err != nil {
		t.Fatal(err)
	}
	line.LosesPower()
	if pad := scratchpad(t, line, testAddresses[0]); pad[4] != 0x1F {
		t.Errorf("configuration %02x after a loss of power", pad[4])
	}
	convertAll(t, line)
	if got, err := d.LastTemp(); err != nil || got != 29500*physic.MilliKelvin+physic.ZeroCelsius {
		t.Errorf("9 bits: %s, %v", got, err)
	}
}

// Power-on scratchpad of the data sheet DS18B20: 85 °C, FF, 0C, 10; and that of
// a DS18S20, 00AA. A probe that was unplugged says so again.
func TestPowerOnValue(t *testing.T) {
	line := NewOneWire("n", 1)
	p := hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 20)
	hang(t, line, ThermometerSpec{Address: testAddresses[3]}, 20)
	want := [9]byte{0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10, 0x1C}
	if pad := scratchpad(t, line, testAddresses[0]); pad != want {
		t.Errorf("% x", pad)
	}
	if pad := scratchpad(t, line, testAddresses[3]); pad[0] != 0xAA || pad[1] != 0 || !onewire.CheckCRC(pad[:]) {
		t.Errorf("% x", pad)
	}
	convertAll(t, line)
	if pad := scratchpad(t, line, testAddresses[0]); pad == want {
		t.Error("nothing was converted")
	}
	p.Vanishes(true)
	if pad := scratchpad(t, line, testAddresses[0]); pad[0] != 0xFF || pad[8] != 0xFF {
		t.Errorf("a vanished probe sent % x", pad)
	}
	p.Vanishes(false)
	if pad := scratchpad(t, line, testAddresses[0]); pad != want {
		t.Errorf("after it came back % x", pad)
	}
}

// The temperature is latched when the conversion starts, and a busy probe holds
// the line low, at every resolution for its own time (data sheet, table 2).
func TestConversionLatchesAndTakesItsTime(t *testing.T) {
	for bits, took := range map[uint8]time.Duration{9: 93750 * time.Microsecond, 10: 187500 * time.Microsecond, 11: 375 * time.Millisecond, 12: 750 * time.Millisecond} {
		line := NewOneWire("n", 1)
		p := hang(t, line, ThermometerSpec{Address: testAddresses[0], Bits: bits}, 25)
		if err := ds18b20.StartAll(line); err != nil {
			t.Fatal(err)
		}
		p.Feel(80, time.Second)
		line.Wait(took - time.Nanosecond)
		if pad := scratchpad(t, line, testAddresses[0]); pad != [9]byte{} {
			t.Errorf("%d bits: busy probe sent % x", bits, pad)
		}
		line.Wait(time.Nanosecond)
		if pad := scratchpad(t, line, testAddresses[0]); pad[0] != 0x90 || pad[1] != 1 || !onewire.CheckCRC(pad[:]) {
			t.Errorf("%d bits: % x", bits, pad)
		}
	}
}

// Every device addressed drives the line, and a zero wins.
func TestTwoAnswersAreAnded(t *testing.T) {
	line := NewOneWire("n", 1)
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 25)
	hang(t, line, ThermometerSpec{Address: testAddresses[1]}, 20)
	convertAll(t, line)
	a, b := scratchpad(t, line, testAddresses[0]), scratchpad(t, line, testAddresses[1])
	var both, rom [9]byte
	if err := line.Tx([]byte{0xCC, 0xBE}, both[:], onewire.WeakPullup); err != nil {
		t.Fatal(err)
	}
	if err := line.Tx([]byte{0x33}, rom[:], onewire.WeakPullup); err != nil {
		t.Fatal(err)
	}
	for i := range both {
		if both[i] != a[i]&b[i] {
			t.Errorf("byte %d: %02x of %02x and %02x", i, both[i], a[i], b[i])
		}
		if i < 8 && rom[i] != byte(testAddresses[0]>>(8*i))&byte(testAddresses[1]>>(8*i)) {
			t.Errorf("address byte %d: %02x", i, rom[i])
		}
	}
	// Two of one address do the same when they are addressed alone.
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 20)
	convertAll(t, line)
	twins := scratchpad(t, line, testAddresses[0])
	if twins[0] != a[0]&b[0] {
		t.Errorf("twins sent % x", twins)
	}
}

func TestSearchFindsAllThatAreThere(t *testing.T) {
	line := NewOneWire("n", 1)
	if _, err := line.Search(false); !empty(err) {
		t.Errorf("nobody: %v", err)
	}
	var probes []*Thermometer
	for _, a := range testAddresses {
		probes = append(probes, hang(t, line, ThermometerSpec{Address: a}, 25))
	}
	probes[2].Vanishes(true)
	found, err := line.Search(false)
	want := slices.Clone(testAddresses)
	want = slices.Delete(want, 2, 3)
	slices.Sort(found)
	slices.Sort(want)
	if err != nil || !slices.Equal(found, want) {
		t.Errorf("%x, %v", found, err)
	}
	// Alarm search: only those at or beyond their alarm bytes, which are 75 and 70.
	probes[0].Feel(80, 0)
	probes[3].Feel(80, 0)
	for i, p := range probes {
		if i != 0 && i != 3 {
			p.Feel(73, 0)
		}
	}
	convertAll(t, line)
	found, err = line.Search(true)
	if err != nil || len(found) != 2 || !slices.Contains(found, testAddresses[0]) || !slices.Contains(found, testAddresses[3]) {
		t.Errorf("alarm search: %x, %v", found, err)
	}
	for _, p := range probes {
		p.Vanishes(true)
	}
	if err := line.Tx([]byte{0xCC, 0x44}, nil, onewire.StrongPullup); !empty(err) {
		t.Errorf("conversion of nobody: %v", err)
	}
	if err := line.Tx([]byte{0xCC, 0x4E}, nil, onewire.WeakPullup); !empty(err) {
		t.Errorf("reset of nobody: %v", err)
	}
}

func empty(err error) bool {
	var e onewire.NoDevicesError
	return errors.As(err, &e) && e.NoDevices()
}

func TestFaultyLine(t *testing.T) {
	line := NewOneWire("n", 1)
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 25)
	line.ShortsToGround(true)
	if pad := scratchpad(t, line, testAddresses[0]); pad != [9]byte{} {
		t.Errorf("shorted line sent % x", pad)
	}
	if !line.Shorted() || !line.Reset() || line.Read() != 0 {
		t.Error("a shorted line does not look like one")
	}
	line.Write(0xCC, false)
	if _, err := line.Search(false); err == nil {
		t.Error("a shorted line was searched")
	}
	line.ReportsShort(true)
	var shorted onewire.ShortedBusError
	if err := line.Tx([]byte{0xCC}, nil, onewire.WeakPullup); !errors.As(err, &shorted) || !shorted.IsShorted() || err.Error() == "" {
		t.Errorf("%v", err)
	}
	if _, err := line.SearchTriplet(0); !errors.As(err, &shorted) || !shorted.IsShorted() {
		t.Errorf("%v", err)
	}
	line.Hangs(true)
	var timeout interface{ Timeout() bool }
	var broken onewire.BusError
	for _, err := range []error{line.Tx(nil, nil, onewire.WeakPullup), func() error { _, err := line.SearchTriplet(0); return err }()} {
		if !errors.As(err, &timeout) || !timeout.Timeout() || !errors.As(err, &broken) || broken.BusError() {
			t.Errorf("hung: %v", err)
		}
	}
	line.Hangs(false)
	line.ShortsToGround(false)
	convertAll(t, line)
	if pad := scratchpad(t, line, testAddresses[0]); pad[0] != 0x90 {
		t.Errorf("% x", pad)
	}
	if line.String() != "simulated bus n" || line.Now() != 750*time.Millisecond {
		t.Errorf("%s at %v", line, line.Now())
	}
	line.At(time.Millisecond)
	line.At(time.Hour)
	if line.Now() != time.Hour {
		t.Error(line.Now())
	}
}

// Every bit is flipped with its probability, in what is read and in what is
// written: with rate p, a transaction of 80 bits written and 72 read comes
// through unharmed in (1−p)^152 of the cases.
func TestBitErrorsHaveTheirRate(t *testing.T) {
	line := NewOneWire("n", 7)
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 25)
	convertAll(t, line)
	clean := scratchpad(t, line, testAddresses[0])
	for _, bad := range []float64{-0.1, 1.1, math.NaN()} {
		if line.FlipsBits(bad) == nil {
			t.Errorf("rate %v was taken", bad)
		}
	}
	const rate, runs = 0.01, 20000
	if err := line.FlipsBits(rate); err != nil {
		t.Fatal(err)
	}
	whole := 0
	for range runs {
		if scratchpad(t, line, testAddresses[0]) == clean {
			whole++
		}
	}
	want := math.Pow(1-rate, 152)
	got := float64(whole) / runs
	if sd := math.Sqrt(want * (1 - want) / runs); math.Abs(got-want) > 5*sd {
		t.Errorf("%.4f came through, want %.4f", got, want)
	}
	if err := line.FlipsBits(0); err != nil || scratchpad(t, line, testAddresses[0]) != clean {
		t.Error("errors do not end")
	}
}

// The register written and read back, EEPROM recalled, supply read: what the
// data sheet's function commands do.
func TestFunctionCommands(t *testing.T) {
	line := NewOneWire("n", 1)
	hang(t, line, ThermometerSpec{Address: testAddresses[0]}, 25)
	tx := func(r []byte, w ...byte) {
		t.Helper()
		if err := (&onewire.Dev{Bus: line, Addr: testAddresses[0]}).Tx(w, r); err != nil {
			t.Fatal(err)
		}
	}
	tx(nil, 0x4E, 1, 2, 0x1F)
	if pad := scratchpad(t, line, testAddresses[0]); pad[2] != 1 || pad[3] != 2 || pad[4] != 0x1F || !onewire.CheckCRC(pad[:]) {
		t.Errorf("written: % x", pad)
	}
	tx(nil, 0xB8)
	if pad := scratchpad(t, line, testAddresses[0]); pad[2] != 0x4B || pad[3] != 0x46 || pad[4] != 0x7F {
		t.Errorf("recalled: % x", pad)
	}
	tx(nil, 0x4E, 3, 4, 0x5F)
	tx(nil, 0x48)
	line.LosesPower()
	if pad := scratchpad(t, line, testAddresses[0]); pad[2] != 3 || pad[4] != 0x5F {
		t.Errorf("copied: % x", pad)
	}
	var power [1]byte
	tx(power[:], 0xB4)
	if power[0] != 0xFF {
		t.Errorf("own supply reads %02x", power[0])
	}
	hang(t, line, ThermometerSpec{Address: testAddresses[1], Parasite: true}, 25)
	if err := line.Tx([]byte{0xCC, 0xB4}, power[:], onewire.WeakPullup); err != nil || power[0] != 0 {
		t.Errorf("one without a supply among them reads %02x, %v", power[0], err)
	}
	var done [2]byte
	tx(done[:1], 0x44)
	line.Wait(750 * time.Millisecond)
	if done[0] != 0 {
		t.Errorf("busy reads %02x", done[0])
	}
	if err := line.Tx([]byte{0x99, 0xBE}, done[:], onewire.WeakPullup); err != nil || done[0] != 0xFF {
		t.Errorf("an unknown ROM command was answered with % x, %v", done, err)
	}
	tx(done[:], 0x99)
	if done[0] != 0xFF {
		t.Errorf("an unknown function was answered with % x", done)
	}
}
