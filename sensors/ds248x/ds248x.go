// Package ds248x reads 1-Wire probes through a DS2482 or DS2483 bridge on I²C.
//
// The bridge is periph's driver; this package gives it what it lacks. It refuses
// two of the four addresses that a DS2482-100 can be strapped to, and one error
// of the I²C bus, or one moment of a busy chip, puts it out of order for good.
// So the address is changed on the way, and after such an error a fresh driver
// is made at the next cycle, which resets the chip. Errors of the 1-Wire line
// are of another kind and change nothing.
//
// It decides nothing about temperatures, and writes nobody's EEPROM. Its calls
// block for as long as the I²C bus does: sensors.Bus gives them up.
//
// Sources: data sheets DS2482-100 (addresses, commands) and DS2483.
package ds248x

import (
	"errors"
	"fmt"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/onewire"
	chip "periph.io/x/devices/v3/ds248x"

	"soakwarden/sensors"
)

// The addresses that the two pins of a DS2482-100 choose from. A DS2483 is
// always at the first.
const (
	FirstAddress uint16 = 0x18
	LastAddress  uint16 = 0x1B
)

// Source is the probes behind one bridge.
type Source struct {
	name   string
	bus    i2c.Bus
	bridge onewire.Bus      // nil while the chip is out of order
	probes *sensors.OneWire // over bridge
}

// New makes a source of the bridge at an address of an I²C bus. The chip is
// reset at the first use, so a bridge that is missing now may come later.
func New(bus i2c.Bus, address uint16) (*Source, error) {
	if address < FirstAddress || address > LastAddress {
		return nil, fmt.Errorf("no DS2482 or DS2483 has the I²C address %#x; choose %#x to %#x", address, FirstAddress, LastAddress)
	}
	return &Source{
		name: fmt.Sprintf("DS248x at %#x of %s", address, bus),
		bus:  &moved{Bus: bus, to: address},
	}, nil
}

// moved sends whatever is meant for the first address to another.
type moved struct {
	i2c.Bus
	to uint16
}

func (m *moved) Tx(_ uint16, w, r []byte) error { return m.Bus.Tx(m.to, w, r) }

// emptyError says by behaviour that nobody answered.
type emptyError struct{ error }

func (e *emptyError) NoDevices() bool { return true }
func (e *emptyError) BusError() bool  { return true }
func (e *emptyError) Unwrap() error   { return e.error }

// String names the source by bus and address.
func (s *Source) String() string { return s.name }

// ready makes a driver when there is none.
func (s *Source) ready() error {
	if s.bridge != nil {
		return nil
	}
	d, err := chip.New(s.bus, FirstAddress, &chip.DefaultOpts)
	if err != nil {
		return fmt.Errorf("%s: %w", s.name, err)
	}
	s.bridge = d
	s.probes = sensors.NewOneWire(d)
	return nil
}

// judge drops the driver after an error that it will not recover from: any that
// is not one of the 1-Wire line. Of the line there are two, a short and nobody
// there, and only the first says what it is.
func (s *Source) judge(err error) error {
	if err == nil {
		return nil
	}
	var line onewire.BusError
	var short onewire.ShortedBusError
	switch {
	case errors.As(err, &short):
		return err
	case errors.As(err, &line) && line.BusError():
		return &emptyError{err}
	}
	s.bridge, s.probes = nil, nil
	return fmt.Errorf("%s: %w", s.name, err)
}

// Start starts a conversion in all probes.
func (s *Source) Start() (sensors.Conversion, error) {
	if err := s.ready(); err != nil {
		return sensors.Conversion{}, err
	}
	c, err := s.probes.Start()
	return c, s.judge(err)
}

// Read reads the scratchpad of one probe.
func (s *Source) Read(a onewire.Address, pad *[9]byte) error {
	if err := s.ready(); err != nil {
		return err
	}
	return s.judge(s.probes.Read(a, pad))
}

// Search lists every device of the bus.
func (s *Source) Search() ([]onewire.Address, error) {
	if err := s.ready(); err != nil {
		return nil, err
	}
	found, err := s.probes.Search()
	return found, s.judge(err)
}

// SetResolution makes a probe convert with 9 to 12 bits until it loses power.
func (s *Source) SetResolution(a onewire.Address, bits uint8) error {
	if err := s.ready(); err != nil {
		return err
	}
	return s.judge(s.probes.SetResolution(a, bits))
}

var _ sensors.Source = &Source{}
