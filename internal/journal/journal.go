package journal

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/loop"
)

// Journal is the record on a card. It satisfies Recorder.
type Journal struct {
	path     string
	o        Options
	previous Previous

	mu     sync.Mutex
	scribe *scribe
	queue  queue
	health Health
	saved  map[string]savedState
	closed bool

	wake chan struct{} // a message is there for the writer
	stop chan struct{} // closed by Close
	done chan struct{} // closed when the writer has ended
}

// savedState is the last state that was accepted for a station.
type savedState struct {
	state   []byte
	receipt *receipt
}

// Open opens or creates the journal at path for writing and records a start.
// It refuses a file that is foreign, damaged or newer, and changes nothing in
// such a file. Only one program may have a journal open for writing: the
// caller holds a lock on its state folder.
func Open(path string, o Options) (*Journal, error) {
	o.defaults()
	if o.NoTicks {
		return nil, errors.New("opening the journal: only a record in memory may leave ticks out")
	}
	if o.Boot == "" {
		o.Boot = rand.Text()
	}
	j := &Journal{
		path: path, o: o, saved: map[string]savedState{},
		wake: make(chan struct{}, 1), stop: make(chan struct{}), done: make(chan struct{}),
	}
	j.queue.o = &j.o
	// A copy that a power cut left half made.
	if err := removeFresh(path); err != nil {
		return nil, err
	}
	w := &writer{j: j}
	if err := w.open(); err != nil {
		return nil, err
	}
	j.scribe = newScribe(&j.o, w.session.run+1)
	j.health = Health{OK: true, Entries: w.session.tree.Size(), Durable: w.session.tree.Size(), Head: w.session.tree.Root()}
	w.acked, w.synced = w.session.tree, w.session.tree
	if err := keepReserve(path, &j.o); err != nil {
		j.health.Problem = err.Error()
	}
	start := &entry.Start{Reason: clip(o.Reason), Version: clip(o.Version), Boot: clip(o.Boot), Unclean: j.previous.Unclean}
	j.scribe.between()
	j.scribe.add("", start, true)
	j.flush(nil)
	go w.run()
	return j, nil
}

// Previous says how the run before this one ended.
func (j *Journal) Previous() Previous { return j.previous }

// Path is where the journal lies.
func (j *Journal) Path() string { return j.path }

// flush hands on what the scribe has made. The receipt follows the last urgent
// item, which is the last of them to be written. The lock is held.
func (j *Journal) flush(r *receipt) Receipt {
	items := j.scribe.out
	j.scribe.out = j.scribe.out[:0]
	last := -1
	for i := range items {
		if items[i].urgent {
			last = i
		}
	}
	var failed error
	for i := range items {
		if i == last {
			items[i].receipt = r
		}
		if err := j.queue.push(items[i]); err != nil {
			failed = err
			j.health.OK, j.health.Problem = false, err.Error()
		}
	}
	if j.scribe.released {
		j.scribe.released, j.queue.released = false, true
	}
	j.poke()
	if failed != nil {
		return refused(failed)
	}
	if r == nil || last < 0 {
		return Receipt{}
	}
	return Receipt{r}
}

// poke leaves word for the writer. It never waits.
func (j *Journal) poke() {
	select {
	case j.wake <- struct{}{}:
	default:
	}
}

// Tick records one tick.
func (j *Journal) Tick(r *loop.Result) Receipt {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return refused(ErrClosed)
	}
	urgent := j.scribe.tick(r)
	if len(j.scribe.out) == 0 {
		return Receipt{}
	}
	if !urgent {
		return j.flush(nil)
	}
	return j.flush(newReceipt())
}

// put records one urgent entry between ticks.
func (j *Journal) put(station string, body entry.Body, err error) Receipt {
	if err != nil {
		return refused(err)
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.putLocked(station, body)
}

func (j *Journal) putLocked(station string, body entry.Body) Receipt {
	if j.closed {
		return refused(ErrClosed)
	}
	j.scribe.between()
	j.scribe.add(station, body, true)
	return j.flush(newReceipt())
}

// SaveState keeps a station's state. The same state again gives the receipt of
// the first time.
func (j *Journal) SaveState(station string, state []byte) Receipt {
	body, err := stateBody(station, state)
	if err != nil {
		return refused(err)
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if s, ok := j.saved[station]; ok && bytes.Equal(s.state, state) && (Receipt{s.receipt}).Err() == nil {
		return Receipt{s.receipt}
	}
	r := j.putLocked(station, body)
	j.saved[station] = savedState{body.(*entry.State).State, r.r}
	return r
}

// LoadStates reads the latest states from the card.
func (j *Journal) LoadStates() (map[string][]byte, error) {
	r, err := openReader(j.path, j.o.vfs)
	if err != nil {
		return nil, err
	}
	states, err := r.States()
	return states, errors.Join(err, r.Close())
}

// Prove writes a random number, waits for its sync, reads it back by another
// connection and compares. It waits at most for Options.Deadline.
func (j *Journal) Prove() error {
	nonce := []byte(rand.Text())
	r := j.put("", &entry.Proof{Nonce: nonce}, nil)
	timer := time.NewTimer(j.o.Deadline)
	defer timer.Stop()
	select {
	case <-r.Done():
	case <-timer.C:
		return fmt.Errorf("proving the journal %s: no write ended within %s", j.path, j.o.Deadline)
	}
	if err := r.Err(); err != nil {
		return fmt.Errorf("proving the journal %s: %w", j.path, err)
	}
	read, err := openReader(j.path, j.o.vfs)
	if err != nil {
		return fmt.Errorf("proving the journal: %w", err)
	}
	found, err := read.hasProof(nonce)
	if err = errors.Join(err, read.Close()); err != nil {
		return fmt.Errorf("proving the journal: %w", err)
	}
	if !found {
		return fmt.Errorf("proving the journal %s: what was written could not be read back", j.path)
	}
	return nil
}

// hasProof looks for a proof among the last entries.
func (r *Reader) hasProof(nonce []byte) (bool, error) {
	found := false
	rows, err := r.conn.QueryContext(context.Background(), "SELECT body FROM entry ORDER BY seq DESC LIMIT 1024")
	if err != nil {
		return false, fmt.Errorf("reading %s: %w", r.path, err)
	}
	for rows.Next() && !found {
		var b []byte
		if err := rows.Scan(&b); err != nil {
			return false, errors.Join(fmt.Errorf("reading %s: %w", r.path, err), rows.Close())
		}
		if kind, _, err := entry.Peek(b); err != nil || kind != entry.KindProof {
			continue
		}
		e, err := entry.Decode(b)
		found = err == nil && bytes.Equal(e.Body.(*entry.Proof).Nonce, nonce)
	}
	return found, errors.Join(rows.Err(), rows.Close())
}

// Config keeps the text of a configuration.
func (j *Journal) Config(name string, text []byte) Receipt {
	body, err := configBody(name, text)
	return j.put("", body, err)
}

// Settings keeps what a station was told.
func (j *Journal) Settings(station, core string, s controller.Settings) Receipt {
	body, err := settingsBody(core, s)
	return j.put(station, body, err)
}

// Restored keeps the state that a station began this run with.
func (j *Journal) Restored(station string, state []byte) Receipt {
	return j.put(station, &entry.Restored{State: append([]byte(nil), state...)}, checkState(station, state))
}

// Note keeps a person's words.
func (j *Journal) Note(station, who, text string) Receipt {
	return j.put(station, &entry.Note{Who: clip(who), Text: clip(text)}, nil)
}

// Document keeps one JSON value.
func (j *Journal) Document(station, topic, id string, json []byte) Receipt {
	body, err := documentBody(topic, id, json)
	return j.put(station, body, err)
}

// GapRule shortens the station's blocks and exempts them from thinning.
func (j *Journal) GapRule(station string, rule time.Duration) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.scribe.gaps[station] = rule
}

// Stop records everything that waits, and then the end.
func (j *Journal) Stop(reason string) Receipt {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return refused(ErrClosed)
	}
	j.scribe.closeAll()
	j.flush(nil)
	// The stop is the last entry of the run: what is less urgent goes first.
	j.queue.urgent = append(j.queue.urgent, j.queue.normal...)
	j.queue.normal = nil
	return j.putLocked("", &entry.Stop{Reason: clip(reason)})
}

// Health says how the record is doing.
func (j *Journal) Health() Health {
	j.mu.Lock()
	defer j.mu.Unlock()
	h := j.health
	h.Queue = j.queue.len()
	h.Thinned += j.queue.thinned
	h.Lost += j.queue.refused
	return h
}

// Close writes what waits and ends the writer. It waits at most for
// Options.Deadline, twice; what could not be written then is an error.
func (j *Journal) Close() error {
	j.mu.Lock()
	if j.closed {
		j.mu.Unlock()
		<-j.done
		return nil
	}
	j.scribe.closeAll()
	j.flush(nil)
	j.closed = true
	j.queue.closing = true
	j.mu.Unlock()
	close(j.stop)
	<-j.done
	j.mu.Lock()
	defer j.mu.Unlock()
	left := j.queue.len()
	j.queue.abandon(ErrNotWritten)
	if left > 0 {
		return fmt.Errorf("closing the journal %s: %w: %d entries; %s", j.path, ErrNotWritten, left, j.health.Problem)
	}
	return nil
}

// reservePath is a file that is given up when the card is full, so that there
// is room to thin old blocks.
func reservePath(path string) string { return path + "-reserve" }

// keepReserve makes the reserve when it is not there and there is room.
func keepReserve(path string, o *Options) error {
	if o.Reserve < 0 {
		return nil
	}
	if info, err := os.Stat(reservePath(path)); err == nil && info.Size() == o.Reserve {
		return nil
	}
	free, err := o.Free(path)
	if err != nil {
		return err
	}
	if free < 4*uint64(o.Reserve) {
		return nil
	}
	// Real bytes, since a hole would reserve nothing.
	if err := os.WriteFile(reservePath(path), bytes.Repeat([]byte{0xa5}, int(o.Reserve)), 0o600); err != nil {
		return fmt.Errorf("keeping a reserve in %s: %w", filepath.Dir(path), err)
	}
	return nil
}

var _ Recorder = (*Journal)(nil)
