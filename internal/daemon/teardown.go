package daemon

import (
	"errors"
	"fmt"
	"log/slog"
	"time"
)

// How long one step may take before the next goes on without it. Together with
// what comes before them they must end within TimeoutStopSec of the service.
const (
	stepAtMost    = 3 * time.Second
	journalAtMost = 8 * time.Second // a card may pause for seconds in a sync
)

// teardown is a list of named steps that undo a start, last in, first out.
type teardown struct {
	log   *slog.Logger
	steps []step
}

type step struct {
	name   string
	atMost time.Duration
	undo   func() error
}

func (t *teardown) add(name string, undo func() error) { t.addSlow(name, stepAtMost, undo) }

// addSlow adds a step with a bound of its own.
func (t *teardown) addSlow(name string, atMost time.Duration, undo func() error) {
	t.steps = append(t.steps, step{name, atMost, undo})
}

// run undoes everything. A step that fails, panics or hangs stops no other.
func (t *teardown) run() error {
	var all error
	for len(t.steps) > 0 {
		last := t.steps[len(t.steps)-1]
		t.steps = t.steps[:len(t.steps)-1]
		started := time.Now()
		if err := last.bounded(); err != nil {
			t.log.Error("stopping", "part", last.name, "error", err)
			all = errors.Join(all, fmt.Errorf("stop %s: %w", last.name, err))
			continue
		}
		t.log.Debug("stopped", "part", last.name, "took", time.Since(started))
	}
	return all
}

// bounded leaves a step behind that does not end.
func (s step) bounded() error {
	end := make(chan error, 1)
	go func() { end <- s.safely() }()
	timer := time.NewTimer(s.atMost)
	defer timer.Stop()
	select {
	case err := <-end:
		return err
	case <-timer.C:
		return fmt.Errorf("it does not end: left behind after %v", s.atMost)
	}
}

func (s step) safely() (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v", v)
		}
	}()
	return s.undo()
}
