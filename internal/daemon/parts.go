package daemon

import (
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/loop"
	"soakwarden/internal/relay"
)

// Clock tells the time to the daemon. Hardware uses the kernel's; the demo
// scales it.
type Clock interface {
	// Now is monotonic time since the start of the program.
	Now() time.Duration
	// Wall is UTC and whether something trustworthy set it.
	Wall() (now time.Time, trusted bool)
	// Until returns after real time in which Now advances by at least d has
	// passed, or when stop is closed.
	Until(d time.Duration, stop <-chan struct{})
}

// Parts are what the daemon is made of besides its configuration. The zero
// value is real hardware; tests and the demo replace some.
type Parts struct {
	// Clock is the kernel's when nil.
	Clock Clock
	// Pin opens a relay, open (off), when it is not nil; then no line is
	// remembered and no state folder is locked, because there is no hardware.
	Pin func(relay.Spec) (gpio.PinOut, error)
	// Advance moves the model and its buses to now, before each tick; nil on
	// hardware, where buses run by themselves.
	Advance func(now time.Duration)
	// Truth is what the model knows of station i, nil on hardware.
	Truth func(i int) *loop.TruthView
	// Speed is virtual seconds in a real one, 1 when zero.
	Speed float64
	// System is where the kernel's files are; the zero value is the real one.
	System relay.System
}
