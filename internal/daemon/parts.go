package daemon

import (
	"fmt"
	"path/filepath"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/page"
	"soakwarden/internal/relay"
	"soakwarden/internal/treat"
)

// Bench is what a configuration's lines and buses turned out to be.
type Bench struct {
	Pins   []gpio.PinOut                   // in the order of Config.Relays, each open (off)
	Buses  []loop.Bus                      // in the order of Config.Buses
	Input  func(name string) loop.Feedback // nil for a name that is not wired
	Output func(name string) gpio.PinOut   // nil for a name that is not wired

	// Advance moves the model and its buses to now before each tick; nil on
	// hardware, where buses run by themselves.
	Advance func(now time.Duration)
	// Hear is shown each tick, and may submit acts to the loop: the keeper that
	// a demonstration plays. Nil on hardware.
	Hear func(*loop.Result, *loop.Loop)
	// Desk is handed the desk of treatments, for the same keeper. Nil on
	// hardware.
	Desk func(*treat.Desk)
	// Truth is what the model knows of station i; nil on hardware.
	Truth func(i int) *loop.TruthView
	// Demo lets the page inject faults; nil on hardware.
	Demo page.DemoPort
}

// Parts replaces hardware. The zero value is the real thing.
type Parts struct {
	// Clock is the kernel's when nil.
	Clock Clock
	// Bench builds the bench from a checked configuration. When it is not nil
	// there is no hardware: no state folder is locked and no line remembered.
	Bench func(*config.Config) (Bench, error)
	// System is where the kernel's devices are.
	System relay.System
	// Speed is virtual seconds in a real one, 1 when zero.
	Speed float64
}

// SpecOf turns a configured line into a place that package relay knows. A line
// of the first chip goes by its name, because chips are not numbered alike
// from kernel to kernel.
func SpecOf(name string, l config.Line) relay.Spec {
	s := relay.Spec{Name: name, ActiveLow: l.ActiveLow}
	switch {
	case l.Kind == config.FileLine:
		s.Path = l.Path
	case l.Kind != config.GPIOLine:
		// The zero line stays without a place, and Check refuses it.
	case l.Chip == "" || filepath.Base(l.Chip) == relay.FirstChip:
		s.Pin = fmt.Sprintf("GPIO%d", l.Pin)
	default:
		s.Pin = fmt.Sprintf("%s:%d", filepath.Base(l.Chip), l.Pin)
	}
	return s
}
