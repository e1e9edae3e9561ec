package sensors

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// lineError speaks by behaviour, as periph's errors do.
type lineError struct{ empty, shorted, timeout bool }

func (e lineError) Error() string   { return fmt.Sprint("line: ", e.empty, e.shorted, e.timeout) }
func (e lineError) NoDevices() bool { return e.empty }
func (e lineError) IsShorted() bool { return e.shorted }
func (e lineError) Timeout() bool   { return e.timeout }

func TestErrorsSpeakByBehaviour(t *testing.T) {
	plain := errors.New("plain")
	for _, c := range []struct {
		err   error
		fault Fault
		start controller.Flaw // of every reading, when it came from Start
		read  controller.Flaw // of one reading, when it came from Read
	}{
		{lineError{empty: true}, BusEmpty, controller.Absent, controller.Absent},
		{lineError{shorted: true}, BusShorted, controller.Shorted, controller.Shorted},
		{lineError{timeout: true}, BusHung, controller.Stale, controller.Absent},
		{lineError{}, BusFailed, controller.Absent, controller.Absent},
		{plain, BusFailed, controller.Absent, controller.Absent},
		{ErrDistrusted, BusDistrusted, controller.Stale, controller.Absent},
		{&FlawError{controller.Malformed, plain}, BusFailed, controller.Absent, controller.Malformed},
	} {
		err := fmt.Errorf("wrapped: %w", c.err)
		fault, flaw := faultOf(err)
		if fault != c.fault || flaw != c.start || flawOf(err) != c.read {
			t.Errorf("%v: %q and flaw %d, flaw %d of one", c.err, fault, flaw, flawOf(err))
		}
	}
	flawed := &FlawError{controller.Malformed, plain}
	if flawed.Error() != "plain" || !errors.Is(flawed, plain) {
		t.Error(flawed)
	}
}

func TestEveryFaultHasItsWord(t *testing.T) {
	seen := map[string]bool{}
	for f := NoFault; f <= BusDistrusted+1; f++ {
		if s := f.String(); seen[s] || (s == "") != (f == NoFault) {
			t.Errorf("fault %d is %q", f, s)
		} else {
			seen[s] = true
		}
	}
}

// steadySource reads 25 °C, or fails.
type steadySource struct{ err error }

func (s steadySource) String() string { return "steady" }
func (s steadySource) Start() (Conversion, error) {
	return Conversion{Wait: 750 * time.Millisecond}, s.err
}
func (s steadySource) Read(_ onewire.Address, pad *[9]byte) error {
	*pad = [9]byte{0x90, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x10, 0x10, 0x92}
	return nil
}
func (s steadySource) Search() ([]onewire.Address, error) { return nil, nil }

func TestCollect(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		a, err := ParseROM("28-0316a2795cff")
		if err != nil {
			t.Fatal(err)
		}
		taken, err := Collect(t.Context(), steadySource{}, a, 20, time.Second)
		if err != nil || len(taken) != 20 {
			t.Fatalf("%d readings, %v", len(taken), err)
		}
		for i, r := range taken {
			// The first cycle gives a reading that waits for a second.
			if want := start.Add(time.Duration(i+1) * time.Second); !r.At.Equal(want) || r.Value != fromCode(400) {
				t.Errorf("reading %d: %s at %v, want %v", i, r.Value, r.At, want)
			}
		}
		if _, err := Collect(t.Context(), steadySource{lineError{empty: true}}, a, 20, time.Second); err == nil {
			t.Error("an empty bus was collected from")
		}
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, err := Collect(ctx, steadySource{}, a, 20, time.Second); !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
		if _, err := Collect(t.Context(), steadySource{}, 0, 20, time.Second); err == nil {
			t.Error("no address was collected from")
		}
	})
}
