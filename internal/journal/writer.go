package journal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"sync/atomic"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// writer is the one goroutine that writes. It hands each piece of work to the
// session in a goroutine of its own, one at a time, so that one that never
// comes back can be left behind.
//
//	writing ──error──▶ closed ──pause──▶ opened ──checked──▶ writing
//	   │                                   ▲
//	   └─too long, panic─▶ left behind ─pause─▶ opened, or copied to a new file
type writer struct {
	j       *Journal
	session *session // nil while it must be opened
	own     *owner   // of session
	acked   verify.Tree
	synced  verify.Tree   // as of the last sync that succeeded
	flight  []item        // the batch being written, nil when none is in doubt
	attempt verify.Tree   // the chain with the batch in flight
	moment  time.Duration // of the last sync, on the journal's clock
	deserts int           // sessions left behind since the last success
	reason  string        // of the last failure that ended a session
	stack   string        // of it, where it was a panic
	behind  atomic.Int32  // goroutines that are still inside the card
	copying atomic.Bool   // a copy of the file is being made
}

// mostBehind bounds the goroutines that wait for a card for ever: each holds a
// thread of the system. Past it the card is left alone until one comes back.
const mostBehind = 16

// owner says who has a session: the goroutine that works, or nobody.
type owner struct{ state atomic.Int32 }

// claim ends the time in which the owner can be left behind, and says whether
// that came first.
func (o *owner) claim() bool { return o.state.CompareAndSwap(working, finished) }

const (
	working = iota
	finished
	leftBehind
)

func (o *owner) left() bool { return o.state.Load() == leftBehind }

var errStuck = errors.New("the card does not answer")

// guarded runs f with a deadline and turns a panic into an error. A session
// that is left behind is closed by its own goroutine if that ever comes back;
// after a panic inside the library it is not closed, because that can wait for
// a lock for ever.
func (w *writer) guarded(what string, own *owner, f func() error, late func()) error {
	return w.within(w.j.o.Deadline, what, own, f, late)
}

func (w *writer) within(deadline time.Duration, what string, own *owner, f func() error, late func()) error {
	own.state.Store(working)
	if n := w.behind.Load(); n >= mostBehind {
		own.state.Store(leftBehind)
		return fmt.Errorf("%s: %w: %d attempts wait for it", what, errStuck, n)
	}
	done := make(chan error, 1)
	go func() {
		defer func() {
			if p := recover(); p != nil {
				if own.state.Swap(leftBehind) == leftBehind {
					w.behind.Add(-1)
				}
				done <- &panicked{fmt.Errorf("%s: %w: panic: %v", what, errStuck, p), string(debug.Stack())}
			}
		}()
		err := f()
		if own.claim() || own.state.Load() == finished {
			done <- err
		} else {
			late()
			w.behind.Add(-1)
		}
	}()
	timer := time.NewTimer(deadline)
	defer timer.Stop()
	select {
	case err := <-done:
		return err
	case <-timer.C:
	}
	w.behind.Add(1)
	if !own.state.CompareAndSwap(working, leftBehind) {
		w.behind.Add(-1)
		return <-done
	}
	return fmt.Errorf("%s: %w: nothing for %s", what, errStuck, deadline)
}

// panicked is a panic inside the library.
type panicked struct {
	error
	stack string
}

func (p *panicked) Unwrap() error { return p.error }

// do runs f on the session. After an error the session is closed or left.
func (w *writer) do(what string, f func(*session) error) error {
	s, own := w.session, w.own
	s.left = own.left
	err := w.guarded(what, own, func() error { return f(s) }, func() { _ = s.close() })
	if err != nil {
		w.drop()
	}
	return err
}

// drop closes the session, or leaves it behind.
func (w *writer) drop() {
	s, own := w.session, w.own
	w.session, w.own = nil, nil
	if s == nil {
		return
	}
	if own.left() {
		w.deserts++
		return
	}
	if err := w.guarded("closing the journal", own, s.close, func() {}); err != nil && errors.Is(err, errStuck) {
		w.deserts++
	}
}

// open opens a session and asks it for the runs before.
func (w *writer) open() error {
	own := &owner{}
	var s *session
	first := w.j.scribe == nil
	err := w.guarded("opening the journal", own, func() (err error) {
		opened, err := openSession(w.j.path, &w.j.o)
		if err != nil {
			return err
		}
		if first {
			if w.j.previous, err = opened.previous(context.Background()); err != nil {
				return errors.Join(err, opened.close())
			}
		}
		s = opened
		return nil
	}, func() {
		if s != nil {
			_ = s.close()
		}
	})
	if err != nil {
		return err
	}
	w.session, w.own = s, own
	return nil
}

// failuresAtEnd is how often a closing journal may fail before it gives up.
const failuresAtEnd = 3

// run writes until the journal is closed and nothing waits.
func (w *writer) run() {
	defer close(w.j.done)
	if told := w.j.o.Panicked; told != nil {
		defer func() {
			if v := recover(); v != nil {
				told(v)
			}
		}()
	}
	pause := w.j.o.Retry
	failures := 0
	for {
		err := w.step()
		if errors.Is(err, errNothingLeft) {
			w.end()
			return
		}
		if err == nil {
			pause, failures = w.j.o.Retry, 0
			continue
		}
		w.fail(err)
		if w.relieve(err) {
			continue
		}
		if !w.wait(&pause) {
			if failures++; failures >= failuresAtEnd {
				w.giveUp()
				return
			}
		}
	}
}

var errNothingLeft = errors.New("nothing is left to write")

// step opens a session if there is none and writes one batch.
func (w *writer) step() error {
	if w.session == nil {
		if err := w.reopen(); err != nil {
			return err
		}
	}
	batch, full := w.next()
	if batch == nil {
		return errNothingLeft
	}
	return w.commit(batch, full)
}

// wait pauses after a failure and says whether there is time for more.
func (w *writer) wait(pause *time.Duration) bool {
	timer := time.NewTimer(*pause)
	defer timer.Stop()
	*pause = min(2**pause, 32*w.j.o.Retry)
	select {
	case <-timer.C:
		return true
	case <-w.j.stop:
		return false
	}
}

// next waits for a batch that is due; nil means that the journal is closed and
// nothing waits.
func (w *writer) next() (batch []item, full bool) {
	j := w.j
	for {
		j.mu.Lock()
		m := j.scribe.moment
		batch = j.queue.take(w.header(m))
		closing := j.queue.closing
		j.mu.Unlock()
		if batch != nil {
			full = closing || dueSync(&j.o, m.Now, w.moment)
			for i := range batch {
				full = full || batch[i].urgent
			}
			return batch, full
		}
		if closing {
			return nil, false
		}
		select {
		case <-j.wake:
		case <-j.stop:
		}
	}
}

func (w *writer) header(m Moment) entry.Header {
	return entry.Header{Run: w.j.scribe.run, Now: m.Now, Wall: m.Wall.UnixMilli(), Trusted: m.Trusted}
}

// commit writes one batch and acknowledges it.
func (w *writer) commit(batch []item, full bool) error {
	w.flight, w.attempt = batch, w.acked.Clone()
	rows := encode(&w.attempt, batch)
	tree := w.attempt.Clone()
	if err := w.do("writing the journal", func(s *session) error { return s.write(rows, tree, full) }); err != nil {
		return err
	}
	w.acknowledge(full)
	// The batch is safe; whatever fails from here on costs nothing that was
	// acknowledged, and the next batch meets it again.
	if err := w.do("tidying the journal", (*session).tidy); err != nil {
		return err
	}
	return w.room()
}

// acknowledge ends the batch in flight: it is on the card.
func (w *writer) acknowledge(full bool) {
	w.acked = w.attempt
	w.deserts = 0
	j := w.j
	j.mu.Lock()
	if full {
		w.synced, w.moment = w.acked, j.scribe.moment.Now
		j.health.Synced, j.health.Durable = j.scribe.moment.Wall, w.acked.Size()
	}
	j.health.OK, j.health.Problem = true, ""
	j.health.Entries, j.health.Head = w.acked.Size(), w.acked.Root()
	batch := w.flight
	w.flight = nil
	j.mu.Unlock()
	for i := range batch {
		if r := batch[i].receipt; r != nil {
			r.finish(nil)
		}
	}
}

// fail reports a failure and puts the batch back when it is not in doubt.
func (w *writer) fail(err error) {
	stack := ""
	if p := (*panicked)(nil); errors.As(err, &p) {
		stack = p.stack
	}
	// The first reason since the last good batch is the one to keep: what
	// follows are mostly attempts to open the file again.
	if w.reason == "" {
		w.reason, w.stack = err.Error(), stack
	}
	if told := w.j.o.Troubled; told != nil {
		told(err.Error(), stack)
	}
	w.j.mu.Lock()
	defer w.j.mu.Unlock()
	w.j.health.OK = false
	w.j.health.Problem = err.Error()
	if code(err) == sqlite3.SQLITE_FULL {
		w.j.health.NearlyFull = true
		w.j.health.Problem = "the card is full: " + err.Error()
	}
}

// relieve makes room on a full card and says whether it did.
func (w *writer) relieve(err error) bool {
	if code(err) != sqlite3.SQLITE_FULL {
		return false
	}
	// The reserve goes first: even opening the file again needs a little room.
	if err := w.guarded("giving up the reserve", &owner{}, func() error { return removeAny(reservePath(w.j.path)) },
		func() {}); err != nil || w.reopen() != nil {
		return false
	}
	header := w.now()
	var n int
	thinned := w.do("thinning the journal", func(s *session) (err error) {
		n, err = s.thin(header)
		return err
	})
	if w.session != nil {
		w.acked, w.synced = w.session.tree, w.session.tree
	}
	w.j.mu.Lock()
	w.j.health.Thinned += uint64(n)
	w.j.mu.Unlock()
	if thinned != nil {
		w.fail(thinned)
	}
	return thinned == nil
}

func (w *writer) now() entry.Header {
	w.j.mu.Lock()
	defer w.j.mu.Unlock()
	return w.header(w.j.scribe.moment)
}

// removeAny removes files that need not be there.
func removeAny(paths ...string) error {
	for _, p := range paths {
		if err := os.Remove(p); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("removing a file beside the journal: %w", err)
		}
	}
	return nil
}

// room looks at the free space.
func (w *writer) room() error {
	var free uint64
	err := w.do("looking at the free space", func(s *session) (err error) {
		if free, err = s.o.Free(s.path); err == nil && free >= s.o.NearlyFull {
			err = keepReserve(s.path, s.o)
		}
		return err
	})
	if err != nil {
		return err
	}
	w.j.mu.Lock()
	w.j.health.NearlyFull = free < w.j.o.NearlyFull
	w.j.mu.Unlock()
	return nil
}

// end closes the session in order.
func (w *writer) end() {
	if err := w.do("closing the journal", (*session).finish); err != nil {
		w.fail(err)
	}
	w.drop()
}

// giveUp leaves what waits to Close.
func (w *writer) giveUp() {
	w.j.mu.Lock()
	defer w.j.mu.Unlock()
	if w.flight != nil {
		w.j.queue.untake(w.flight)
		w.flight = nil
	}
}
