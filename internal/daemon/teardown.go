package daemon

import (
	"errors"
	"fmt"
	"log/slog"
	"time"
)

// teardown is a list of named steps that undo a start, last in, first out.
type teardown struct {
	log   *slog.Logger
	steps []step
}

type step struct {
	name string
	undo func() error
}

func (t *teardown) add(name string, undo func() error) {
	t.steps = append(t.steps, step{name, undo})
}

// run undoes everything. A step that fails or panics stops no other.
func (t *teardown) run() error {
	var all error
	for len(t.steps) > 0 {
		last := t.steps[len(t.steps)-1]
		t.steps = t.steps[:len(t.steps)-1]
		started := time.Now()
		if err := last.safely(); err != nil {
			t.log.Error("stopping", "part", last.name, "error", err)
			all = errors.Join(all, fmt.Errorf("stop %s: %w", last.name, err))
			continue
		}
		t.log.Debug("stopped", "part", last.name, "took", time.Since(started))
	}
	return all
}

func (s step) safely() (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v", v)
		}
	}()
	return s.undo()
}
