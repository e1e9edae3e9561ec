package rig

import (
	"errors"
	"fmt"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Pin is a simulated relay: periph's output pin on one side, a contact on the
// other. High closes the contact unless a fault says otherwise. The zero value
// is an open relay.
type Pin struct {
	name      string
	commanded bool
	powered   bool // the board drives the coil
	inverted  bool // wired with the other polarity than the program was told
	fault     contactFault
	phase     uint8  // of a chattering contact
	refuses   bool   // writes fail
	refused   uint64 // writes that failed
}

type contactFault uint8

const (
	contactSound contactFault = iota
	contactWelded
	contactNeverCloses
	contactChatters
)

// errRefused is what a pin answers that cannot be written.
var errRefused = errors.New("the line does not take a value")

// NewPin returns an open, powered relay.
func NewPin(name string) *Pin { return &Pin{name: name, powered: true} }

// Out implements gpio.PinOut: High closes the relay.
func (p *Pin) Out(l gpio.Level) error {
	if p.refuses {
		p.refused++
		return errRefused
	}
	p.commanded = bool(l)
	return nil
}

// Closed says whether current can really flow.
func (p *Pin) Closed() bool {
	coil := p.powered && p.commanded != p.inverted
	switch p.fault {
	case contactWelded:
		return true
	case contactNeverCloses:
		return false
	case contactChatters:
		return coil && p.phase == 0
	}
	return coil
}

// sound says whether the contact does what the coil is told.
func (p *Pin) sound() bool { return p.fault == contactSound && !p.inverted }

// Commanded says what the program last asked for.
func (p *Pin) Commanded() bool { return p.commanded && p.powered }

// Seen is the feedback of an auxiliary contact.
func (p *Pin) Seen() controller.Contact {
	if p.Closed() {
		return controller.ContactClosed
	}
	return controller.ContactOpen
}

// WeldsShut makes the contact stay closed whatever the coil does.
func (p *Pin) WeldsShut() { p.fault = contactWelded }

// NeverCloses makes the contact stay open whatever the coil does.
func (p *Pin) NeverCloses() { p.fault = contactNeverCloses }

// Chatters makes the contact open every other second while the coil is on.
func (p *Pin) Chatters() { p.fault = contactChatters }

// Recovers takes a contact fault away.
func (p *Pin) Recovers() { p.fault = contactSound }

// Inverts wires the relay with the other polarity, or rightly again.
func (p *Pin) Inverts(yes bool) { p.inverted = yes }

// RefusesWrites makes Out fail from now on, or work again.
func (p *Pin) RefusesWrites(yes bool) { p.refuses = yes }

// Power switches the supply of the coil. A board without power drops its
// output to open; after power returns the line floats at off until written.
func (p *Pin) Power(on bool) {
	p.powered = on
	if !on {
		p.commanded = false
	}
}

// tick moves a chattering contact on to the second of that number.
func (p *Pin) tick(number int64) { p.phase = uint8(number & 1) }

// String implements conn.Resource.
func (p *Pin) String() string { return "simulated relay " + p.name }

// Halt implements conn.Resource; a relay keeps its state.
func (p *Pin) Halt() error { return nil }

// Name implements pin.Pin.
func (p *Pin) Name() string { return p.name }

// Number implements pin.Pin; a simulated relay has none.
func (p *Pin) Number() int { return -1 }

// Function implements pin.Pin.
func (p *Pin) Function() string {
	return fmt.Sprintf("Out/%s", map[bool]string{false: "Low", true: "High"}[p.commanded])
}

// PWM implements gpio.PinOut: a relay is never pulsed.
func (p *Pin) PWM(gpio.Duty, physic.Frequency) error {
	return errors.New("a relay cannot be pulsed")
}

var _ gpio.PinOut = &Pin{}
