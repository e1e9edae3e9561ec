package kernel_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.uber.org/goleak"
	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/sensors"
	"soakwarden/sensors/kernel"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// good is a text as the kernel's driver prints it for 25 °C.
const good = "90 01 4b 46 7f ff 10 10 92 : crc=92 YES\n90 01 4b 46 7f ff 10 10 92 t=25000\n"

const rom = "28-0316a2795cff"

// folder is a root in the kernel's shape, of plain files.
type folder struct {
	t    *testing.T
	root string
}

func newFolder(t *testing.T) *folder {
	f := &folder{t: t, root: t.TempDir()}
	f.mkdir("w1_bus_master1")
	return f
}

func (f *folder) mkdir(name string) {
	f.t.Helper()
	if err := os.MkdirAll(filepath.Join(f.root, name), 0o755); err != nil {
		f.t.Fatal(err)
	}
}

func (f *folder) write(name, text string) {
	f.t.Helper()
	f.mkdir(filepath.Dir(name))
	if err := os.WriteFile(filepath.Join(f.root, name), []byte(text), 0o644); err != nil {
		f.t.Fatal(err)
	}
}

func (f *folder) read(name string) string {
	f.t.Helper()
	b, err := os.ReadFile(filepath.Join(f.root, name))
	if err != nil {
		f.t.Fatal(err)
	}
	return string(b)
}

func address(t testing.TB, s string) onewire.Address {
	t.Helper()
	a, err := sensors.ParseROM(s)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestWithoutBulkFileEachReadConverts(t *testing.T) {
	f := newFolder(t)
	f.write(rom+"/w1_slave", good)
	s := kernel.New(f.root)
	c, err := s.Start()
	if err != nil || !c.EachRead || c.Wait != 0 {
		t.Fatalf("%+v, %v", c, err)
	}
	var pad [9]byte
	if err := s.Read(address(t, rom), &pad); err != nil {
		t.Fatal(err)
	}
	if code, _, flaw := sensors.Judge(pad, sensors.DS18B20); code != 25*16 || flaw != controller.NoFlaw {
		t.Errorf("code %d, flaw %d", code, flaw)
	}
	if !strings.Contains(s.String(), f.root) {
		t.Error(s.String())
	}
}

// A plain file answers with what was written into it, "trigger", which is not
// the state 1: so the cycle is distrusted. The exact bytes are what the kernel
// wants.
func TestBulkTriggerIsExactAndItsStateIsChecked(t *testing.T) {
	for _, at := range []string{"w1_bus_master1/therm_bulk_read", "therm_bulk_read"} {
		f := newFolder(t)
		f.write(rom+"/w1_slave", good)
		f.write(at, "")
		_, err := kernel.New(f.root).Start()
		if !errors.Is(err, sensors.ErrDistrusted) {
			t.Errorf("%s: %v, want it distrusted", at, err)
		}
		if got := f.read(at); got != "trigger\n" {
			t.Errorf("%s: wrote %q", at, got)
		}
	}
}

// The file exists on the first master only: probes of another would give the
// memory of an earlier cycle, so with two masters nothing is done in bulk.
func TestTwoMastersAreReadOneAfterAnother(t *testing.T) {
	f := newFolder(t)
	f.mkdir("w1_bus_master2")
	f.write("w1_bus_master1/therm_bulk_read", "1\n")
	f.write(rom+"/w1_slave", good)
	c, err := kernel.New(f.root).Start()
	if err != nil || !c.EachRead {
		t.Fatalf("%+v, %v", c, err)
	}
	if got := f.read("w1_bus_master1/therm_bulk_read"); got != "1\n" {
		t.Errorf("wrote %q", got)
	}
}

func TestStartErrorsSpeakByBehaviour(t *testing.T) {
	f := newFolder(t)
	_, err := kernel.New(f.root).Start()
	var empty onewire.NoDevicesError
	if !errors.As(err, &empty) || !empty.NoDevices() {
		t.Errorf("nobody on the bus: %v", err)
	}
	_, err = kernel.New(filepath.Join(f.root, "missing")).Start()
	var broken onewire.BusError
	if !errors.As(err, &broken) || !broken.BusError() || !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), "driver") {
		t.Errorf("no driver: %v", err)
	}
	if errors.As(err, &empty) && empty.NoDevices() {
		t.Error("no driver counts as an empty bus")
	}
	f.write(rom+"/w1_slave", good)
	f.mkdir("w1_bus_master1/therm_bulk_read") // cannot be written
	if _, err = kernel.New(f.root).Start(); err == nil {
		t.Error("a trigger that cannot be written went unnoticed")
	}
}

func TestReadNamesFlaws(t *testing.T) {
	const zeros = "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n"
	for _, c := range []struct {
		what, text string
		want       controller.Flaw
	}{
		{"empty, as after a bad CRC", "", controller.Absent},
		{"nothing but an end of line", "\n", controller.Malformed},
		{"cut off", good[:20], controller.Malformed},
		{"older kernel, bad CRC and last good bytes", "91 01 4b 46 7f ff 10 10 92 : crc=4c NO\n90 01 4b 46 7f ff 10 10 92 t=25000\n", controller.BadCRC},
		{"says YES to a bad CRC", "6a 01 4b 46 7f ff 0c 10 3a : crc=3a YES\n6a 01 4b 46 7f ff 0c 10 3a t=22625\n", controller.BadCRC},
		{"says YES to a bad CRC too", "61 01 4b 46 7f ff 0c 10 e7 : crc=e7 YES\n61 01 4b 46 7f ff 0c 10 e7 t=22062\n", controller.BadCRC},
		{"shorted bus, says YES t=0", zeros, controller.Shorted},
		{"power-on value", "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n", controller.PowerOnValue},
		{"nobody pulls the line", "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n90 01 4b 46 7f ff 10 10 92 t=25000\n", controller.Absent},
		{"good", good, controller.NoFlaw},
		{"good, although it says NO", strings.Replace(good, "YES", "NO", 1), controller.NoFlaw},
	} {
		f := newFolder(t)
		f.write(rom+"/w1_slave", c.text)
		var pad [9]byte
		err := kernel.New(f.root).Read(address(t, rom), &pad)
		var flaw controller.Flaw
		if err != nil {
			var flawed *sensors.FlawError
			if !errors.As(err, &flawed) || errors.Unwrap(err) == nil {
				t.Fatalf("%s: %v", c.what, err)
			}
			flaw = flawed.Flaw()
		} else {
			_, _, flaw = sensors.Judge(pad, sensors.DS18B20)
		}
		if flaw != c.want {
			t.Errorf("%s: flaw %d (%v), want %d", c.what, flaw, err, c.want)
		}
	}
	var pad [9]byte
	err := kernel.New(newFolder(t).root).Read(address(t, rom), &pad)
	var flawed *sensors.FlawError
	if !errors.As(err, &flawed) || flawed.Kind != controller.Absent {
		t.Errorf("vanished: %v", err)
	}
}

func TestSearchListsEveryDevice(t *testing.T) {
	f := newFolder(t)
	f.mkdir(rom)
	f.mkdir("26-000000112233") // no thermometer
	f.mkdir("not-a-device")
	found, err := kernel.New(f.root).Search()
	if err != nil || len(found) != 2 || found[1] != address(t, rom) || sensors.Family(found[0]) != 0x26 {
		t.Errorf("%x, %v", found, err)
	}
	if _, err := kernel.New(f.root + "x").Search(); err == nil {
		t.Error("a missing folder was searched")
	}
}

func TestSetResolution(t *testing.T) {
	f := newFolder(t)
	f.write(rom+"/resolution", "12\n")
	s := kernel.New(f.root)
	if err := s.SetResolution(address(t, rom), 12); err != nil {
		t.Error(err)
	}
	for _, bits := range []uint8{8, 13} {
		if err := s.SetResolution(address(t, rom), bits); err == nil {
			t.Errorf("took %d bits", bits)
		}
	}
	if err := s.SetResolution(address(t, "28-000001318252"), 12); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("absent probe: %v", err)
	}
	// A file that was longer keeps its rest, as a clone that does not obey.
	f.write(rom+"/resolution", "12\n12\n")
	if err := s.SetResolution(address(t, rom), 9); err == nil {
		t.Error("a probe that did not obey went unnoticed")
	}
}

// A hung adapter is a file that does not come back. Run goes on, says so, and
// recovers when the file answers at last.
func TestHungFileDoesNotBlockTheBus(t *testing.T) {
	f := newFolder(t)
	f.mkdir(rom)
	pipe := filepath.Join(f.root, rom, "w1_slave")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	bus, err := sensors.NewBus(sensors.Options{
		Name: "hung", Source: kernel.New(f.root),
		Probes:       []sensors.Probe{{Address: address(t, rom)}},
		Now:          func() time.Duration { return time.Since(start) },
		Period:       5 * time.Millisecond,
		ReadDeadline: 10 * time.Millisecond,
	})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- bus.Run(ctx) }()
	until(t, "hung cycles", func() bool { c := bus.Latest(); return c.Seq >= 3 && c.Fault == sensors.BusHung })
	if r := bus.Latest().Samples[0].Reading; r.Quality != controller.Bad || r.Flaw != controller.Stale {
		t.Errorf("%+v", r)
	}
	// The file answers late: a writer opens the pipe and leaves. From then on
	// it is a plain file.
	next := pipe + ".next"
	if err := os.WriteFile(next, []byte(good), 0o644); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(next, pipe); err != nil {
		t.Fatal(err)
	}
	w.Close()
	until(t, "a good reading", func() bool { return bus.Latest().Samples[0].Reading.Quality == controller.Good })
	cancel()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// until waits for what a goroutine will bring about; the test's own time limit
// ends it when it does not.
func until(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !ok(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never saw %s", what)
		}
	}
}
