package relay

import (
	"errors"
	"fmt"
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
// those of single lines; the others were driven all the same.
func (b *Bank) RememberedOff() []error {
	b.mu.Lock()
	defer b.mu.Unlock()
	var errs []error
	for _, l := range b.memory.entries() {
		if b.has(l.spec()) != nil {
			continue
		}
		r, err := b.sys.openRemembered(l)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		b.held = append(b.held, r)
	}
	return errs
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
	if old := b.has(spec); old != nil {
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

// has finds the held relay at the same physical place. Two names of one line
// are one place.
func (b *Bank) has(spec Spec) *Relay {
	for _, r := range b.held {
		if r.spec.Place() == spec.Place() {
			return r
		}
	}
	if spec.Pin == "" {
		return nil
	}
	at, err := b.sys.find(spec.Pin)
	if err != nil {
		return nil
	}
	for _, r := range b.held {
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

// AllOff opens every relay that is held. It never stops at the first failure.
func (b *Bank) AllOff() []error {
	b.mu.Lock()
	defer b.mu.Unlock()
	var errs []error
	for _, r := range b.held {
		if err := r.Halt(); err != nil {
			errs = append(errs, err)
		}
	}
	return errs
}

// Close opens every relay and gives the lines back.
func (b *Bank) Close() error {
	errs := b.AllOff()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range b.held {
		errs = append(errs, r.c.close())
	}
	b.held = nil
	return errors.Join(errs...)
}
