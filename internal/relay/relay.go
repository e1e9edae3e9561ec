package relay

import (
	"errors"
	"fmt"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"
)

// contact is what is behind a relay: true is closed.
type contact interface {
	set(closed bool) error
	get() (bool, error)
	close() error
}

// Relay is one relay that was taken, in the shape of a periph output pin: High
// closes it, Low opens it.
type Relay struct {
	spec Spec
	at   spot // of a GPIO line
	c    contact
}

// Open takes the relay and leaves it open (off). It does not remember it: see
// Bank.
func (s System) Open(spec Spec) (*Relay, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if spec.Path != "" {
		f, err := openFile(spec)
		if err != nil {
			return nil, fmt.Errorf("relay %s: %w", spec, err)
		}
		r := &Relay{spec: spec, c: f}
		if err := r.Halt(); err != nil {
			return nil, err
		}
		return r, nil
	}
	at, err := s.find(spec.Pin)
	if err != nil {
		return nil, fmt.Errorf("relay %s: %w", spec, err)
	}
	return s.openSpot(spec, at)
}

// openSpot requests the line with its polarity, its off level and a pull
// resistor towards off, all in one call. The resistor outlives the request on
// the chips that have one: when the program dies and the kernel makes the line
// an input again, it still rests at off, whatever its pull was at power-up.
func (s System) openSpot(spec Spec, at spot) (*Relay, error) {
	flags := uint64(flagOutput)
	pull := uint64(flagPullDown)
	if spec.ActiveLow {
		flags |= flagActiveLow
		pull = flagPullUp
	}
	l, err := s.request(at, flags|pull)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.EOPNOTSUPP) {
		l, err = s.request(at, flags) // the chip has no resistors
	}
	if err != nil {
		return nil, fmt.Errorf("relay %s: %w", spec, err)
	}
	r := &Relay{spec: spec, at: at, c: l}
	if err := r.check(false); err != nil {
		return nil, errors.Join(err, l.close())
	}
	return r, nil
}

// Spec is what the relay was opened with.
func (r *Relay) Spec() Spec { return r.spec }

// Out closes the relay when High and opens it when Low, and reads back: a card
// that has gone read-only and an LED whose chip was unplugged may take a write
// and forget it.
func (r *Relay) Out(l gpio.Level) error {
	if err := r.c.set(bool(l)); err != nil {
		return fmt.Errorf("relay %s: %w", r.spec, err)
	}
	return r.check(bool(l))
}

// check reads back. A GPIO chip that cannot read an output is believed.
func (r *Relay) check(want bool) error {
	is, err := r.c.get()
	switch {
	case errors.Is(err, unix.EINVAL), errors.Is(err, unix.EOPNOTSUPP), errors.Is(err, unix.ENOSYS):
		return nil
	case err != nil:
		return fmt.Errorf("relay %s: %w", r.spec, err)
	case is != want:
		return fmt.Errorf("relay %s: was %s and reads %s: something else drives it", r.spec, word(want), word(is))
	}
	return nil
}

func word(closed bool) string {
	if closed {
		return "closed"
	}
	return "opened"
}

// Closed reads the relay's line back.
func (r *Relay) Closed() (bool, error) { return r.c.get() }

// PWM is refused: a relay is not chopped.
func (r *Relay) PWM(gpio.Duty, physic.Frequency) error {
	return fmt.Errorf("relay %s: a relay has no PWM", r.spec)
}

// Halt opens the relay.
func (r *Relay) Halt() error { return r.Out(gpio.Low) }

// Name is the relay's name in the configuration.
func (r *Relay) Name() string { return r.spec.Name }

// String is the name and place of the relay.
func (r *Relay) String() string { return r.spec.String() }

// Number is the line's number on its chip, −1 for a file.
func (r *Relay) Number() int {
	if r.spec.Path != "" {
		return -1
	}
	return int(r.at.offset)
}

// Function is "OUT", as periph names it.
func (r *Relay) Function() string { return string(gpio.OUT) }

// Close opens the relay and gives its line back.
func (r *Relay) Close() error {
	return errors.Join(r.Halt(), r.c.close())
}

var _ gpio.PinOut = &Relay{}
