package daemon

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/relay"
)

// errShut is what closing a relay gets after an emergency.
var errShut = errors.New("the program is ending: no relay closes any more")

// gate stands between the loop and its relays. Once shut, relays open but never
// close again, whoever asks: a panic in one goroutine must not race with a tick
// in another. Nothing that one line does keeps the gate from the others.
type gate struct {
	shut atomic.Bool
	mu   sync.Mutex // of pins
	pins []*gated
}

// gated is one line behind the gate. One write at a time goes to it, so that
// none that was let through before the gate was shut ends after its opening.
type gated struct {
	gpio.PinOut
	name string
	gate *gate
	turn chan struct{} // holds one while a write is under way
}

// guard puts the pin of the relay or output with this name behind the gate.
func (g *gate) guard(name string, p gpio.PinOut) gpio.PinOut {
	if p == nil {
		return nil
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	pin := &gated{PinOut: p, name: name, gate: g, turn: make(chan struct{}, 1)}
	g.pins = append(g.pins, pin)
	return pin
}

// Out passes an opening at all times and a closing while the gate is open.
func (p *gated) Out(l gpio.Level) error {
	p.turn <- struct{}{}
	defer func() { <-p.turn }()
	if l == gpio.High && p.gate.shut.Load() {
		return errShut
	}
	return p.PinOut.Out(l)
}

// Halt opens the relay.
func (p *gated) Halt() error { return p.Out(gpio.Low) }

// drop shuts the gate and opens every relay. A line that fails, panics or hangs
// in the kernel is an error and keeps no other from being opened.
func (g *gate) drop() []error {
	g.shut.Store(true)
	g.mu.Lock()
	pins := slices.Clone(g.pins)
	g.mu.Unlock()
	var errs []error
	for i, err := range relay.Each(len(pins), func(i int) error { return pins[i].Out(gpio.Low) }) {
		if err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", pins[i].name, err))
		}
	}
	return errs
}

// shared is an output that two parts switch: it is on while either wants it.
type shared struct {
	gpio.PinOut
	mu   sync.Mutex
	want [2]bool
}

// side is one part's hand on a shared output.
type side struct {
	*shared
	index int
}

func (s side) Out(l gpio.Level) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.want[s.index] = bool(l)
	return s.PinOut.Out(gpio.Level(s.want[0] || s.want[1]))
}

// Halt takes this part's hand off.
func (s side) Halt() error { return s.Out(gpio.Low) }
