package journal

import (
	"fmt"
	"time"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// Timeline gives the wall time of every entry, also of those that were written
// before a board without a clock of its own had been told the time: within one
// run the monotonic clock leads back from the first moment that was trusted.
type Timeline struct {
	first map[uint32]anchor // first trusted moment of a run
}

type anchor struct {
	now  time.Duration
	wall int64
}

// NewTimeline reads the headers of a journal.
func NewTimeline(src verify.Source) (*Timeline, error) {
	t := &Timeline{first: map[uint32]anchor{}}
	err := src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		_, h, err := entry.Peek(r.Body)
		if err != nil {
			return fmt.Errorf("entry %d: %w", r.Seq, err)
		}
		if a, known := t.first[h.Run]; h.Trusted && (!known || h.Now < a.now) {
			t.first[h.Run] = anchor{h.Now, h.Wall}
		}
		return nil
	})
	return t, err
}

// At is the wall time of an entry and whether it can be relied upon.
func (t *Timeline) At(h entry.Header) (wall time.Time, sure bool) { return t.Moment(h, h.Now) }

// Moment is the wall time of a moment of the entry's run, such as one tick of a
// block.
func (t *Timeline) Moment(h entry.Header, now time.Duration) (wall time.Time, sure bool) {
	if h.Trusted {
		return time.UnixMilli(h.Wall).UTC().Add(now - h.Now), true
	}
	if a, known := t.first[h.Run]; known {
		return time.UnixMilli(a.wall).UTC().Add(now - a.now), true
	}
	return time.UnixMilli(h.Wall).UTC().Add(now - h.Now), false
}
