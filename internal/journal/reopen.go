package journal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// reopen opens a session after a failure and finds out what became of the batch
// in flight. A session that was left behind may hold the file's locks for ever;
// then the file is copied and the copy takes its name.
func (w *writer) reopen() error {
	err := w.takeUp()
	if err == nil || w.deserts == 0 {
		return err
	}
	if copied := w.replace(); copied != nil {
		return errors.Join(err, copied)
	}
	w.deserts = 0
	return w.takeUp()
}

// copiedPerSecond is the least pace at which a card is expected to copy.
const copiedPerSecond = 1 << 20

// replace copies the file, one copy at a time.
func (w *writer) replace() error {
	if !w.copying.CompareAndSwap(false, true) {
		return fmt.Errorf("copying the journal: %w: a copy is still being made", errStuck)
	}
	deadline := w.j.o.Deadline
	if info, err := os.Stat(w.j.path); err == nil {
		deadline += time.Duration(info.Size()/copiedPerSecond) * time.Second
	}
	own, synced := &owner{}, w.synced.Clone()
	return w.within(deadline, "copying the journal", own, func() error {
		defer w.copying.Store(false)
		return w.replaceFile(own, synced)
	}, func() {})
}

func (w *writer) takeUp() error {
	if w.session == nil {
		if err := w.open(); err != nil {
			return err
		}
	}
	synced := w.synced
	// Everything since the last good sync is computed again and written out
	// once more: after a failed sync the system may have forgotten that those
	// pages still had to go to the card.
	err := w.do("checking the journal", func(s *session) error {
		if s.tree.Size() >= synced.Size() {
			if err := s.check(synced); err != nil {
				return err
			}
		}
		if err := s.empty("TRUNCATE"); err != nil {
			return err
		}
		return s.transact(true, s.tree, func(context.Context) error { return nil })
	})
	if err != nil {
		return err
	}
	w.settle()
	return nil
}

// settle compares the file with what the writer knows.
func (w *writer) settle() {
	tree := w.session.tree
	if w.flight != nil && same(tree, w.attempt) {
		w.acknowledge(true)
		w.j.mu.Lock()
		w.tellReopened()
		w.j.mu.Unlock()
		return
	}
	w.j.mu.Lock()
	defer w.j.mu.Unlock()
	w.j.health.OK, w.j.health.Problem = true, ""
	w.tellReopened()
	if w.flight != nil {
		w.j.queue.untake(w.flight)
		w.flight = nil
	}
	if !same(tree, w.acked) {
		// The card lost what had not been synced. The record goes on from what
		// is there, and says so.
		gone := uint64(0)
		if w.acked.Size() > tree.Size() {
			gone = w.acked.Size() - tree.Size()
		}
		w.j.health.Lost += gone
		w.j.scribe.add("", &entry.Lost{Reason: fmt.Sprintf("the card lost %d entries that had been written", gone), Events: gone}, true)
		w.j.flush(nil)
	}
	w.acked, w.synced = tree, tree
	w.j.health.Entries, w.j.health.Durable, w.j.health.Head = tree.Size(), tree.Size(), tree.Root()
}

// tellReopened notes in the record why the file had to be opened again. The
// journal's lock is held.
func (w *writer) tellReopened() {
	w.j.health.Reopened++
	w.j.scribe.add("", &entry.Reopened{Reason: clip(w.reason), Stack: clip(w.stack)}, true)
	w.reason, w.stack = "", ""
	w.j.flush(nil)
}

// replaceFile copies the database and its log to a new file and gives that the
// journal's name. The old file lives on for whoever is left behind in it and
// ends with the program. What was left behind may come back at any moment and
// write while the copy is made: so the copy is held against the chain before it
// gets its name. The new name comes before the old log goes: a log that is
// replayed onto its own result changes nothing.
func (w *writer) replaceFile(own *owner, synced verify.Tree) (err error) {
	path := w.j.path
	fresh := freshName(path)
	if err := removeFresh(path); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, removeFresh(path))
		}
	}()
	for _, end := range []string{"", "-wal"} {
		if err := copyFile(fresh+end, path+end); err != nil {
			return err
		}
	}
	s, err := openMedium(fresh, &w.j.o, "rw")
	if err != nil {
		return err
	}
	if s.tree.Size() < synced.Size() {
		err = fmt.Errorf("the copy of %s lacks entries", path)
	} else {
		err = s.check(synced)
	}
	if err = errors.Join(err, s.finish(), s.close()); err != nil {
		return err
	}
	if !own.claim() {
		return errStuck
	}
	if err := os.Rename(fresh, path); err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	if err := removeAny(path+"-wal", path+"-shm"); err != nil {
		return err
	}
	return syncFile(filepath.Dir(path))
}

// freshName is the name of a journal that is being made.
func freshName(path string) string { return path + "-new" }

func removeFresh(path string) error {
	fresh := freshName(path)
	return removeAny(fresh, fresh+"-wal", fresh+"-shm")
}

func copyFile(to, from string) (err error) {
	in, err := os.Open(from)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	_, err = io.Copy(out, in)
	if err = errors.Join(err, out.Sync(), out.Close()); err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	return nil
}

func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("syncing %s: %w", path, err)
	}
	return errors.Join(f.Sync(), f.Close())
}
