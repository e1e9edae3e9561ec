package journal

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
)

// acked collects what was promised to be there.
type acked struct {
	numbers  map[uint32]bool // of latches and acts
	state    string
	receipts []func()
}

func (a *acked) follow(r Receipt, then func()) {
	a.receipts = append(a.receipts, func() {
		select {
		case <-r.Done():
			if r.Err() == nil {
				then()
			}
		default:
		}
	})
}

// shortRun lets a bench run for a minute and a half without ever waiting for
// the record, and says what was acknowledged and whether Health complained.
func shortRun(path string, c *card) (a acked, hit int, complained, opened bool) {
	a.numbers = map[uint32]bool{}
	j, err := Open(path, Options{vfs: cardVFS, Block: 10 * time.Second, Head: time.Minute, Reserve: -1, logPages: 30})
	if err != nil {
		return a, c.refused, true, false
	}
	b := newBench(2, 2)
	for i := range 90 {
		var r Receipt
		switch {
		case i%29 == 28:
			r = j.Tick(b.trip(0))
		case i%37 == 36:
			r = j.Tick(b.act(1, "A. Keeper", "looked"))
		default:
			r = j.Tick(b.tick())
		}
		if r.r != nil {
			n := uint32(b.now / time.Second)
			a.follow(r, func() { a.numbers[n] = true })
		}
		if i%41 == 40 {
			s := string(rune('a' + i/41))
			a.follow(j.SaveState("tub-1", []byte(s)), func() { a.state = s })
		}
		// A second passes; the writer gets as far as it can.
		time.Sleep(time.Second)
		synctest.Wait()
		h := j.Health()
		complained = complained || !h.OK || h.Reopened > 0
	}
	// What fails while the file is closed, after everything is in it, costs
	// nothing and need not be told.
	c.set(func(c *card) { hit = c.refused })
	err = j.Close()
	for _, f := range a.receipts {
		f()
	}
	return a, hit, complained || err != nil || !j.Health().OK, true
}

// holds checks that what was acknowledged is on the card.
func (a *acked) holds(t *testing.T, path string) {
	t.Helper()
	mustVerify(t, path)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	missing := len(a.numbers)
	err = r.Entries(func(e *entry.Entry) error {
		switch b := e.Body.(type) {
		case *entry.Event:
			if a.numbers[b.Number] {
				missing--
				delete(a.numbers, b.Number)
			}
		case *entry.Act:
			if a.numbers[b.Number] {
				missing--
				delete(a.numbers, b.Number)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if missing > 0 {
		t.Errorf("%d acknowledged latches or acts are missing: %v", missing, a.numbers)
	}
	states, err := r.States()
	if err != nil || a.state != "" && string(states["tub-1"]) < a.state {
		t.Errorf("the saved state is %q, %q had been acknowledged (%v)", states["tub-1"], a.state, err)
	}
}

// Every operation on the card fails in turn, once and for ever after, until a
// run ends before its turn comes. A plain run takes every third.
func TestEveryFailureOfTheCard(t *testing.T) {
	stride := 3
	if os.Getenv("SOAKWARDEN_EVERY_FAILURE") != "" {
		stride = 1
	}
	for name, forever := range map[string]bool{"once": false, "for ever after": true} {
		t.Run(name, func(t *testing.T) {
			runs := 0
			for n := 1; ; n += stride {
				dir := t.TempDir()
				c := newCard(dir)
				path := filepath.Join(dir, "journal.db")
				rc := []int32{sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_FULL}[n%3]
				c.set(func(c *card) {
					c.refuse = func(i int) int32 {
						if i == n || forever && i > n {
							return rc
						}
						return 0
					}
				})
				synctest.Test(t, func(t *testing.T) {
					a, hit, complained, opened := shortRun(path, c)
					c.set(func(c *card) { c.refuse = nil })
					if hit > 0 && !complained {
						t.Errorf("operation %d failed and Health said nothing", n)
					}
					if opened {
						a.holds(t, path)
					}
					if c.refused == 0 {
						runs = -runs
					}
				})
				if t.Failed() || runs < 0 {
					break
				}
				runs++
			}
			t.Logf("%d runs until one was left alone", -runs)
		})
	}
}

// strike lets trouble happen once, at the next operation on the card.
func strike(c *card, trouble func()) {
	var once atomic.Bool
	c.set(func(c *card) {
		c.before = func(int) {
			if once.CompareAndSwap(false, true) {
				trouble()
			}
		}
	})
}

// A write that never comes back is left behind, and the file is copied. When it
// does come back, it has written into a file that is no longer the journal.
func TestStuckWriterIsLeftBehind(t *testing.T) {
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	synctest.Test(t, func(t *testing.T) {
		release := make(chan struct{})
		j := mustOpen(t, path, Options{vfs: cardVFS, Block: 10 * time.Second, Reserve: -1, busy: 10 * time.Millisecond})
		b := newBench(1, 2)
		await(t, j.Tick(b.trip(0)))
		strike(c, func() { <-release })
		r := j.Tick(b.trip(0))
		for range 100 {
			time.Sleep(time.Second)
			j.Tick(b.tick())
		}
		await(t, r)
		if h := j.Health(); h.Reopened == 0 || !h.OK {
			t.Errorf("%+v", h)
		}
		close(release)
		synctest.Wait()
		await(t, j.Tick(b.trip(0)))
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	})
	threeTrips(t, path)
}

// A panic inside the library keeps its locks for ever, so the file is copied.
func TestPanicInTheLibraryIsLeftBehind(t *testing.T) {
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	told := ""
	j := mustOpen(t, path, Options{vfs: cardVFS, Reserve: -1, busy: 10 * time.Millisecond,
		Retry: time.Millisecond, Deadline: 500 * time.Millisecond, Troubled: func(reason, stack string) { told += reason + stack }})
	b := newBench(1, 2)
	await(t, j.Tick(b.trip(0)))
	strike(c, func() { panic("inside the library") })
	await(t, j.Tick(b.trip(0)))
	await(t, j.Tick(b.trip(0)))
	if h := j.Health(); h.Reopened == 0 || !h.OK {
		t.Errorf("%+v", h)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	threeTrips(t, path)
	if !strings.Contains(told, "panic: inside the library") {
		t.Errorf("told was %q", told)
	}
	// The record itself says why, and where the panic came from.
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	found := false
	err = r.Entries(func(e *entry.Entry) error {
		if b, ok := e.Body.(*entry.Reopened); ok {
			found = strings.Contains(b.Reason, "panic: inside the library") && strings.Contains(b.Stack, "card_test.go")
		}
		return nil
	})
	if err != nil || !found {
		t.Errorf("the record does not say why it was opened again: %v", err)
	}
}

// A card that takes every write and never answers holds a thread for each
// attempt: they are bounded, however long it lasts, and the record goes on when
// it answers again.
func TestHungCardHoldsFewThreads(t *testing.T) {
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	synctest.Test(t, func(t *testing.T) {
		j := mustOpen(t, path, Options{vfs: cardVFS, Reserve: -1, busy: 10 * time.Millisecond})
		b := newBench(1, 2)
		await(t, j.Tick(b.trip(0)))
		release := make(chan struct{})
		var inside atomic.Int32
		c.set(func(c *card) { c.before = func(int) { inside.Add(1); <-release } })
		r := j.Tick(b.trip(0))
		for range 90 {
			time.Sleep(time.Minute)
			j.Tick(b.tick())
		}
		if n := inside.Load(); n > mostBehind || n < 2 {
			t.Errorf("%d goroutines wait for the card, the bound is %d", n, mostBehind)
		}
		if h := j.Health(); h.OK || !strings.Contains(h.Problem, "does not answer") {
			t.Errorf("%+v", h)
		}
		c.set(func(c *card) { c.before = nil })
		close(release)
		time.Sleep(2 * time.Minute)
		await(t, r)
		await(t, j.Tick(b.trip(0)))
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	})
	threeTrips(t, path)
}

// What is not urgent is on the card when its block has closed: a cut takes five
// minutes of readings and ordinary switchings, not more.
func TestOrdinaryEntriesAreSyncedWithTheirBlock(t *testing.T) {
	dir := t.TempDir()
	newCard(dir)
	synctest.Test(t, func(t *testing.T) {
		j := mustOpen(t, filepath.Join(dir, "journal.db"), Options{vfs: cardVFS, Reserve: -1})
		b := newBench(2, 2)
		var synced uint64
		for i := range 3600 {
			r := b.tick()
			for k := range r.Stations {
				for e := range r.Stations[k].Output.Events {
					if atOnce(r.Stations[k].Output.Events[e].Kind) {
						t.Fatalf("tick %d is not ordinary", i)
					}
				}
			}
			j.Tick(r)
			time.Sleep(time.Second)
			synctest.Wait()
			if h := j.Health(); h.Durable != h.Entries {
				t.Fatalf("after %d s %d of %d entries are synced", i, h.Durable, h.Entries)
			} else if i%300 == 299 {
				if h.Durable <= synced {
					t.Fatalf("nothing was synced in the five minutes up to %d s", i)
				}
				synced = h.Durable
			}
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	})
}

func threeTrips(t *testing.T, path string) {
	t.Helper()
	mustVerify(t, path)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	trips := 0
	err = r.Entries(func(e *entry.Entry) error {
		if b, ok := e.Body.(*entry.Event); ok && controller.EventKind(b.Event) == controller.Latched {
			trips++
		}
		return nil
	})
	if err := errors.Join(err, r.Close()); err != nil {
		t.Fatal(err)
	}
	if trips != 3 {
		t.Errorf("%d trips are there, want 3", trips)
	}
}

// A full card: the oldest blocks give up their detail, events and the blocks of
// a treatment stay, and the chain still verifies.
func TestFullCardThinsOldBlocks(t *testing.T) {
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	synctest.Test(t, func(t *testing.T) {
		var full atomic.Bool
		free := func(string) (uint64, error) {
			if full.Load() {
				return 0, nil
			}
			return 1 << 40, nil
		}
		j := mustOpen(t, path, Options{vfs: cardVFS, Block: 10 * time.Second, Reserve: 4096, logPages: 30, Free: free})
		b := newBench(2, 3)
		run := func(n int) {
			for range n {
				j.Tick(b.tick())
				time.Sleep(time.Second)
				synctest.Wait()
			}
		}
		j.GapRule("tub-2", 20*time.Second)
		run(100)
		j.GapRule("tub-2", 0)
		run(1500)
		// The card refuses until the reserve is gone, as a full one does.
		full.Store(true)
		c.set(func(c *card) {
			c.refuse = func(int) int32 {
				if _, err := os.Stat(path + "-reserve"); err == nil {
					return sqlite3.SQLITE_FULL
				}
				return 0
			}
		})
		complained := false
		for range 60 {
			run(1)
			h := j.Health()
			complained = complained || h.NearlyFull
		}
		full.Store(false)
		c.set(func(c *card) { c.refuse = nil })
		await(t, j.Tick(b.trip(0)))
		h := j.Health()
		if !complained || h.Thinned == 0 || !h.OK {
			t.Errorf("complained %v, %+v", complained, h)
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	})
	rep := mustVerify(t, path)
	if rep.Thinned == 0 {
		t.Error("nothing was thinned")
	}
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	kept, summaries := 0, 0
	err = r.Entries(func(e *entry.Entry) error {
		switch b := e.Body.(type) {
		case *entry.Ticks:
			if b.Kept {
				kept += b.Len()
			}
		case *entry.Thinned:
			summaries += len(b.Blocks)
		}
		return nil
	})
	if err != nil || kept < 90 || summaries != int(rep.Thinned) {
		t.Errorf("%d ticks of the treatment are there, %d blocks thinned and %d summaries: %v", kept, rep.Thinned, summaries, err)
	}
}

// What waits for a dead card gives way in the written order.
func TestQueueThinsReadingsAndNeverEvents(t *testing.T) {
	o := Options{QueueBlocks: 8, QueueEntries: 50}
	o.defaults()
	q := queue{o: &o}
	s := newScribe(&o, 1)
	b := newBench(2, 2)
	s.gaps["tub-2"] = 10 * time.Second
	events := 0
	for i := range 4000 {
		r := b.tick()
		if i%90 == 0 {
			b.latch(0)
		}
		s.tick(r)
		for _, it := range s.out {
			if err := q.push(it); err != nil && !errors.Is(err, ErrQueueFull) {
				t.Fatal(err)
			} else if err == nil && it.summary == nil {
				events++
			}
		}
		s.out = s.out[:0]
	}
	q.closing = true
	ticks, there := uint64(0), 0
	kept := 0
	for batch := q.take(entry.Header{}); batch != nil; batch = q.take(entry.Header{}) {
		for _, it := range batch {
			switch body := it.Body.(type) {
			case *entry.Thinned:
				for _, sum := range body.Blocks {
					ticks += sum.Ticks
				}
			case *entry.Lost:
				ticks += body.Ticks
			default:
				if it.summary == nil {
					there++
				} else if ticks += it.summary.Ticks; it.kept {
					kept++
				}
			}
		}
	}
	if there != events || events != 50 {
		t.Errorf("%d of %d accepted events are there", there, events)
	}
	if kept != 8*8 {
		t.Errorf("%d blocks of the treatment are there, the bound is 64", kept)
	}
	if q.thinned == 0 || q.refused == 0 || q.blocks != 0 {
		t.Errorf("thinned %d, refused %d, %d blocks left", q.thinned, q.refused, q.blocks)
	}
	var open uint64
	for _, blk := range s.blocks {
		open += uint64(blk.count)
	}
	if ticks+open != 2*4000 {
		t.Errorf("%d ticks are accounted for, want %d", ticks+open, 2*4000)
	}
}
