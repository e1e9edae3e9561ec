package relay

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"periph.io/x/conn/v3/gpio"
)

func memory(t *testing.T, dir string) *Memory {
	t.Helper()
	m, err := OpenMemory(dir)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestRemembersBeforeItDrives(t *testing.T) {
	dir := t.TempDir()
	c := header()
	_, sys := newChips(t, c)
	b := NewBank(sys, memory(t, dir))
	if _, err := b.Open(Spec{Name: "pad", Pin: "GPIO5", ActiveLow: true}); err != nil {
		t.Fatal(err)
	}
	want := []Spec{{Name: "pad", Pin: "GPIO5", ActiveLow: true}}
	if got := memory(t, dir).Lines(); !slices.Equal(got, want) {
		t.Errorf("remembered %v, want %v", got, want)
	}
	// A folder that cannot be written: the line is not given out.
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if r, err := b.Open(Spec{Name: "series", Pin: "GPIO6", ActiveLow: true}); err == nil {
		t.Errorf("%v was given out without being remembered", r)
	}
	if got := levels(c.lines[6]); !slices.Equal(got, []bool{true}) {
		t.Errorf("it was not driven off either: %v", got)
	}
}

func TestCorruptMemory(t *testing.T) {
	whole := string(encodeLines([]remembered{
		{Name: "pad", Pin: "GPIO5", Label: "pinctrl-test", Offset: 5, Off: "high"},
		{Name: "lamp", Path: "/sys/class/leds/lamp/brightness", Off: "low"},
	}))
	if _, err := decodeLines([]byte(whole)); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"empty":     "",
		"zeros":     strings.Repeat("\x00", 200),
		"cut":       whole[:len(whole)-10],
		"cut line":  whole[:strings.LastIndex(strings.TrimSpace(whole), "\n")+1],
		"one bit":   strings.Replace(whole, "GPIO5", "GPIO4", 1),
		"no off":    strings.Replace(whole, `"off":"high"`, `"off":""`, 1),
		"something": "hello\n",
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, filepath.Join(dir, memoryFile), text)
			m, err := OpenMemory(dir)
			if err == nil || m == nil {
				t.Fatal("not noticed")
			}
			is(t, filepath.Join(dir, memoryFile)+".unreadable", text)
			// The next start with a good copy has everything.
			put(t, filepath.Join(dir, memoryFile), text)
			put(t, filepath.Join(dir, memoryCopy), whole)
			m, err = OpenMemory(dir)
			if err == nil {
				t.Error("the corrupt file was not mentioned")
			}
			for _, want := range []string{"GPIO5", ""} {
				if !slices.ContainsFunc(m.Lines(), func(s Spec) bool { return s.Pin == want }) {
					t.Errorf("the copy's line %q is lost: %v", want, m.Lines())
				}
			}
		})
	}
}

func FuzzDecodeLines(f *testing.F) {
	f.Add(encodeLines([]remembered{{Name: "pad", Pin: "GPIO5", Off: "high"}}))
	f.Add([]byte("soakwarden lines 1 1 00000000\n{}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		lines, err := decodeLines(data)
		for _, l := range lines {
			if l.spec().Check() != nil {
				t.Errorf("a line without a place came out: %v", l)
			}
		}
		if err == nil {
			again, err := decodeLines(encodeLines(lines))
			if err != nil || !slices.Equal(lines, again) {
				t.Errorf("%v became %v, %v", lines, again, err)
			}
		}
	})
}

func TestForget(t *testing.T) {
	dir := t.TempDir()
	m := memory(t, dir)
	if err := m.remember(remembered{Name: "pad", Pin: "GPIO5", Off: "low"}, remembered{Name: "old", Pin: "GPIO6", Off: "low"}); err != nil {
		t.Fatal(err)
	}
	if err := m.Forget(Spec{Pin: "GPIO6"}); err != nil {
		t.Fatal(err)
	}
	if m.Forget(Spec{Pin: "GPIO6"}) == nil {
		t.Error("forgot the same line twice")
	}
	if got := memory(t, dir).Lines(); len(got) != 1 || got[0].Pin != "GPIO5" {
		t.Errorf("left: %v", got)
	}
}

func TestBankHoldsAndReuses(t *testing.T) {
	dir := t.TempDir()
	c := header()
	_, sys := newChips(t, c)
	m := memory(t, dir)
	if err := m.remember(
		remembered{Name: "pad", Pin: "GPIO5", Off: "high"},
		remembered{Name: "old", Pin: "GPIO6", Off: "high"},
		remembered{Name: "gone", Pin: "GPIO99", Off: "high"},
		remembered{Name: "renamed", Pin: "RELAY1", Label: "pinctrl-test", Offset: 7, Off: "high"},
	); err != nil {
		t.Fatal(err)
	}
	b := NewBank(sys, m)
	if errs := b.RememberedOff(); len(errs) != 1 || !strings.Contains(errs[0].Error(), "GPIO99") {
		t.Errorf("errors: %v", errs)
	}
	for _, i := range []int{5, 6, 7} {
		if got := levels(c.lines[i]); !slices.Equal(got, []bool{true}) {
			t.Errorf("GPIO%d showed %v, want off once", i, got)
		}
	}
	// The same line under its other name, and a line whose polarity changed.
	pad, err := b.Open(Spec{Name: "pad-north", Pin: "gpiochip0:5", ActiveLow: true})
	if err != nil {
		t.Fatal(err)
	}
	if pad.Name() != "pad-north" {
		t.Errorf("name %q", pad.Name())
	}
	if _, err := b.Open(Spec{Name: "old", Pin: "GPIO6"}); err != nil {
		t.Fatal(err)
	}
	if got := levels(c.lines[6]); !slices.Equal(got, []bool{true, false}) {
		t.Errorf("polarity changed: %v", got)
	}
	if err := pad.Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	if _, err := pad.Closed(); !errors.Is(err, errClosed) {
		t.Errorf("a line that was given back reads %v", err)
	}
	if c.lines[5].consumer != "" {
		t.Error("the line was not given back")
	}
}

func TestAllOffNeverStops(t *testing.T) {
	dir := t.TempDir()
	c := header()
	_, sys := newChips(t, c)
	m := memory(t, dir)
	file := filepath.Join(t.TempDir(), "relay")
	put(t, file, "1")
	if err := m.remember(
		remembered{Name: "busy", Pin: "GPIO2", Off: "low"},
		remembered{Name: "old", Pin: "GPIO5", Off: "low"},
		remembered{Name: "lamp", Path: file, Off: "low"},
	); err != nil {
		t.Fatal(err)
	}
	c.lines[2].consumer = "other"
	got := sys.AllOff(m, []Spec{
		{Name: "broken", Pin: "GPIO99"},
		{Name: "new name", Pin: "gpiochip0:5", ActiveLow: true},
		{Name: "pad", Pin: "GPIO6", ActiveLow: true},
	})
	failed := 0
	for _, o := range got {
		if o.Err != nil {
			failed++
		}
	}
	if len(got) != 6 || failed != 2 {
		t.Errorf("%d lines, %d failed: %v", len(got), failed, got)
	}
	is(t, file, "0")
	if l := c.lines[5]; !l.high {
		t.Error("the configuration's polarity did not have the last word")
	}
	if l := c.lines[6]; !l.high {
		t.Error("pad is not off")
	}
}
