package relay

import (
	"errors"
	"fmt"
	"time"
)

// How long Each waits: a healthy line answers in microseconds, one behind a bus
// expander in a millisecond.
const (
	eachBefore = 100 * time.Millisecond // for one line, before the next is begun
	eachAtMost = 2 * time.Second        // for all of them, after the last was begun
)

// ErrNoAnswer is the error of a line that neither did nor refused what it was
// told in time. What was asked of it goes on, and may still come to an end.
var ErrNoAnswer = errors.New("the line does not answer")

// Each does the same to lines 0 to n−1, in that order, and gives the error of
// each. Whatever one of them does stops no other: one that hangs in the kernel
// is left behind, and a panic is its error.
func Each(n int, do func(i int) error) []error {
	errs := make([]error, n)
	ends := make([]chan error, n)
	pause := time.NewTimer(eachBefore)
	defer pause.Stop()
	for i := range n {
		end := make(chan error, 1)
		go func() { end <- alone(i, do) }()
		pause.Reset(eachBefore)
		select {
		case errs[i] = <-end:
		case <-pause.C:
			ends[i] = end
		}
	}
	last := time.NewTimer(eachAtMost)
	defer last.Stop()
	over := false
	for i, end := range ends {
		if end == nil {
			continue
		}
		if !over {
			select {
			case errs[i] = <-end:
				continue
			case <-last.C:
				over = true
			}
		}
		select {
		case errs[i] = <-end:
		default:
			errs[i] = ErrNoAnswer
		}
	}
	return errs
}

func alone(i int, do func(int) error) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v", v)
		}
	}()
	return do(i)
}
