package relay

import (
	"errors"
	"fmt"
	"slices"
	"sync"
)

// Bank holds every line of one state folder. It remembers a line before it
// drives it and keeps what it drove off, so that no line floats while the
// program lives.
type Bank struct {
	sys    System
	memory *Memory

	mu   sync.Mutex
	held []*Relay
}

// NewBank makes a Bank; it touches nothing.
func NewBank(sys System, memory *Memory) *Bank {
	return &Bank{sys: sys, memory: memory}
}

// RememberedOff drives every remembered line off and holds it. The errors are
// those of single lines; the others were driven all the same, also when one of
// them hangs in the kernel.
func (b *Bank) RememberedOff() []error {
	lines := b.memory.entries()
	var errs []error
	for i, err := range Each(len(lines), func(i int) error { return b.rememberedOff(lines[i]) }) {
		if errors.Is(err, ErrNoAnswer) {
			err = fmt.Errorf("relay %s: %w", lines[i].spec(), err)
		}
		if err != nil {
			errs = append(errs, err)
		}
	}
	return errs
}

func (b *Bank) rememberedOff(l remembered) error {
	b.mu.Lock()
	held := slices.Clone(b.held)
	b.mu.Unlock()
	if b.sys.among(held, l.spec()) != nil {
		return nil
	}
	r, err := b.sys.openRemembered(l)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.held = append(b.held, r)
	return nil
}

// openRemembered finds a line by its name, or by the chip and number it had
// when it was driven.
func (s System) openRemembered(l remembered) (*Relay, error) {
	r, err := s.Open(l.spec())
	if err == nil || l.Pin == "" || l.Label == "" {
		return r, err
	}
	at, lost := s.at(l.Label, l.Offset)
	if lost != nil {
		return nil, err
	}
	again, failed := s.openSpot(l.spec(), at)
	if failed != nil {
		return nil, err
	}
	return again, nil
}

// Open remembers a relay durably and then takes it, open (off). When it cannot
// be remembered it is driven off and not given out: it could not be found
// again.
func (b *Bank) Open(spec Spec) (*Relay, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	l := remembered{Name: spec.Name, Pin: spec.Pin, Path: spec.Path, Off: spec.offLevel()}
	if spec.Pin != "" {
		at, err := b.sys.find(spec.Pin)
		if err != nil {
			return nil, fmt.Errorf("relay %s: %w", spec, err)
		}
		l.Label, l.Offset = at.label, at.offset
	}
	forgotten := b.memory.remember(l)
	if old := b.sys.among(b.held, spec); old != nil {
		if old.spec.ActiveLow == spec.ActiveLow {
			old.spec.Name = spec.Name
			if forgotten != nil {
				return nil, forgotten
			}
			return old, nil
		}
		// The configuration turned the polarity: the newer word counts.
		if err := old.c.close(); err != nil {
			return nil, err
		}
		b.drop(old)
	}
	r, err := b.sys.Open(spec)
	if err != nil {
		return nil, errors.Join(err, forgotten)
	}
	b.held = append(b.held, r)
	if forgotten != nil {
		return nil, forgotten
	}
	return r, nil
}

// among finds the relay at the same physical place. Two names of one line are
// one place.
func (s System) among(held []*Relay, spec Spec) *Relay {
	for _, r := range held {
		if r.spec.Place() == spec.Place() {
			return r
		}
	}
	if spec.Pin == "" {
		return nil
	}
	at, err := s.find(spec.Pin)
	if err != nil {
		return nil
	}
	for _, r := range held {
		if r.spec.Pin != "" && r.at.chip == at.chip && r.at.offset == at.offset {
			return r
		}
	}
	return nil
}

func (b *Bank) drop(gone *Relay) {
	for i, r := range b.held {
		if r == gone {
			b.held = append(b.held[:i], b.held[i+1:]...)
			return
		}
	}
}

// Close opens every relay and gives the lines back, whatever one of them does.
func (b *Bank) Close() error {
	b.mu.Lock()
	held := b.held
	b.held = nil
	b.mu.Unlock()
	// All are opened before the first is given back.
	opened := Each(len(held), func(i int) error { return held[i].Halt() })
	closed := Each(len(held), func(i int) error { return held[i].c.close() })
	var all []error
	for i, err := range append(opened, closed...) {
		if errors.Is(err, ErrNoAnswer) {
			err = fmt.Errorf("relay %s: %w", held[i%len(held)].spec, err)
		}
		all = append(all, err)
	}
	return errors.Join(all...)
}
