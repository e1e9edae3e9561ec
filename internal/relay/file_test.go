package relay

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
)

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func is(t *testing.T, path, want string) {
	t.Helper()
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s reads %q, want %q", filepath.Base(path), got, want)
	}
}

func TestFileRelay(t *testing.T) {
	for _, c := range []struct {
		low     bool
		off, on string
	}{{false, "0", "1"}, {true, "1", "0"}} {
		path := filepath.Join(t.TempDir(), "relay")
		put(t, path, "255\n")
		r, err := System{}.Open(Spec{Name: "pad", Path: path, ActiveLow: c.low})
		if err != nil {
			t.Fatal(err)
		}
		is(t, path, c.off)
		if err := r.Out(gpio.High); err != nil {
			t.Fatal(err)
		}
		is(t, path, c.on)
		if closed, err := r.Closed(); err != nil || !closed {
			t.Errorf("closed reads %v, %v", closed, err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		is(t, path, c.off)
	}
}

func TestFileRelayRefuses(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	if err := unix.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ path, want string }{
		{filepath.Join(dir, "missing"), "no such file"},
		{dir, "plain file"},
		{pipe, "plain file"},
		{"relative", "must begin with /"},
		{"", "neither a pin nor a path"},
	} {
		_, err := System{}.Open(Spec{Name: "pad", Path: c.path})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.path, err, c.want)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "missing")); err == nil {
		t.Error("a file was made for a mistyped path")
	}
}

// A file that vanishes or becomes a pipe while the relay is in use is an
// error at once and hangs nobody.
func TestFileRelayThatGoes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "relay")
	put(t, path, "0")
	r, err := System{}.Open(Spec{Name: "pad", Path: path})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if r.Out(gpio.High) == nil {
		t.Error("a missing file was switched")
	}
	if err := unix.Mkfifo(path, 0o644); err != nil {
		t.Fatal(err)
	}
	if r.Out(gpio.High) == nil {
		t.Error("a pipe nobody reads was switched")
	}
}

// /dev/null takes every write and forgets it, as a failing card may; a plain
// file that links to it is not plain.
func TestFileRelayReadsBack(t *testing.T) {
	f := &file{path: "/dev/null"}
	r := &Relay{spec: Spec{Name: "pad", Path: f.path}, c: f}
	if err := r.Out(gpio.High); err == nil || !strings.Contains(err.Error(), "neither 0 nor") {
		t.Errorf("a write that was forgotten: %v", err)
	}
}

// The LED class: a kernel trigger would switch the relay by itself.
// Source: Linux, Documentation/leds/leds-class.rst.
func TestLEDTrigger(t *testing.T) {
	dir := t.TempDir()
	led, trigger := filepath.Join(dir, "brightness"), filepath.Join(dir, "trigger")
	put(t, led, "255\n")
	put(t, trigger, "none timer [heartbeat] default-on\n")
	if _, err := (System{}).Open(Spec{Name: "pad", Path: led}); err != nil {
		t.Fatal(err)
	}
	is(t, trigger, "none")
	is(t, led, "0")
	put(t, trigger, "[none] timer\n")
	if _, err := (System{}).Open(Spec{Name: "pad", Path: led}); err != nil {
		t.Fatal(err)
	}
	is(t, trigger, "[none] timer\n") // already off: not written again
}
