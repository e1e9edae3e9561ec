package daemon

import (
	"errors"
	"sync"

	"periph.io/x/conn/v3/gpio"
)

// errShut is what closing a relay gets after an emergency.
var errShut = errors.New("the program is ending: no relay closes any more")

// gate stands between the loop and its relays. Once shut, relays open but never
// close again, whoever asks: a panic in one goroutine must not race with a tick
// in another.
type gate struct {
	mu   sync.RWMutex
	shut bool
	pins []*gated
}

type gated struct {
	gpio.PinOut
	gate *gate
}

// guard puts a pin behind the gate.
func (g *gate) guard(p gpio.PinOut) gpio.PinOut {
	if p == nil {
		return nil
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	pin := &gated{p, g}
	g.pins = append(g.pins, pin)
	return pin
}

// Out passes an opening at all times and a closing while the gate is open.
func (p *gated) Out(l gpio.Level) error {
	p.gate.mu.RLock()
	defer p.gate.mu.RUnlock()
	if l == gpio.High && p.gate.shut {
		return errShut
	}
	return p.PinOut.Out(l)
}

// Halt opens the relay.
func (p *gated) Halt() error { return p.Out(gpio.Low) }

// drop shuts the gate and opens every relay. It never stops at a failure.
func (g *gate) drop() []error {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.shut = true
	var errs []error
	for _, p := range g.pins {
		if err := p.PinOut.Out(gpio.Low); err != nil {
			errs = append(errs, err)
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
