package daemon

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"soakwarden/internal/config"
	"soakwarden/internal/relay"
)

// How long Off waits: for the daemon's answer, and for the kernel to end it.
const (
	askDaemon  = 2 * time.Second
	killDaemon = 3 * time.Second
)

// OffOptions says what Off is to switch off.
type OffOptions struct {
	File   string // the configuration; empty for none
	State  string // the state folder; empty for the configuration's, or the usual one
	System relay.System
	Ask    time.Duration // 2 s when zero
	Kill   time.Duration // 3 s when zero
}

// OffReport is what became of every line.
type OffReport struct {
	State    string
	Lines    []relay.Outcome
	Problems []error // that kept Off from nothing, but should be known
}

// AllOff says whether every known line was driven off.
func (r *OffReport) AllOff() bool {
	for _, l := range r.Lines {
		if l.Err != nil {
			return false
		}
	}
	return len(r.Lines) > 0
}

// Off drives every remembered and every configured relay off, whatever else is
// wrong: with the configuration broken or missing, the list of lines damaged,
// the card full, a daemon running, hung or stopped. It asks the daemon first,
// then kills it, and drives the lines even when it could do neither. Problems
// are reported and stop nothing.
func Off(o OffOptions) *OffReport {
	var r OffReport
	problem := func(err error) {
		if err != nil {
			r.Problems = append(r.Problems, err)
		}
	}
	var text []byte
	if o.File != "" {
		var err error
		text, err = os.ReadFile(o.File)
		problem(err)
	}
	if o.State == "" {
		o.State = StateFolder(text)
	}
	if o.Ask == 0 {
		o.Ask = askDaemon
	}
	if o.Kill == 0 {
		o.Kill = killDaemon
	}
	r.State = o.State
	// A folder that was never made remembers nothing and is held by nobody.
	var memory *relay.Memory
	if _, err := os.Stat(o.State); !errors.Is(err, fs.ErrNotExist) {
		lock, err := relay.Evict(o.State, "off", o.Ask, o.Kill)
		if err != nil {
			problem(fmt.Errorf("the lines are driven without the lock: %w", err))
		} else {
			defer func() { _ = lock.Release() }()
		}
		memory, err = relay.OpenMemory(o.State)
		problem(err)
	} else {
		problem(fmt.Errorf("no state folder %s: no line is remembered", o.State))
	}
	var configured []relay.Spec
	for _, c := range config.RelaysOnly(text) {
		configured = append(configured, SpecOf(c.Name, c.Line))
	}
	r.Lines = o.System.AllOff(memory, configured)
	return &r
}
