package journal

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"soakwarden/internal/journal/entry"
)

const canary = "testdata/changed.journal"

// makeCanary writes a small journal and then changes one word in it: a note
// that said "bitten" says "beaten".
func makeCanary(t *testing.T, path string) {
	t.Helper()
	moment := Moment{Now: time.Second, Wall: noon, Trusted: true}
	j := mustOpen(t, path, Options{Boot: "invented", Version: "canary", Reason: "invented", Reserve: -1,
		Clock: func() Moment { return moment }})
	await(t, j.Note("tub-1", "A. Keeper", "the animal has bitten"))
	b := newBench(1, 2)
	for range 30 {
		j.Tick(b.tick())
	}
	await(t, j.Stop("invented"))
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if rep, err := Verify(path); err != nil || !rep.OK {
		t.Fatalf("%v %q", err, rep.Problems)
	}
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(file, []byte("bitten")); n != 1 {
		t.Fatalf("the word stands there %d times", n)
	}
	if err := os.WriteFile(path, bytes.Replace(file, []byte("bitten"), []byte("beaten"), 1), 0o644); err != nil {
		t.Fatal(err)
	}
}

// The committed journal in which one word was changed must be found bad, and so
// must one made now. SOAKWARDEN_MAKE_CANARY writes the committed one anew.
func TestCanaryIsFoundBad(t *testing.T) {
	fresh := filepath.Join(t.TempDir(), "changed.db")
	makeCanary(t, fresh)
	if os.Getenv("SOAKWARDEN_MAKE_CANARY") != "" {
		if err := os.Remove(canary); err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
		makeCanary(t, canary)
	}
	for _, path := range []string{fresh, canary} {
		rep, err := Verify(path)
		if err != nil || rep.OK || len(rep.Problems) == 0 {
			t.Errorf("%s: %v %+v", path, err, rep)
		}
		if _, err := os.Stat(path + "-wal"); err == nil {
			t.Errorf("looking at %s left a file beside it", path)
		}
	}
}

// A board without a clock of its own starts in the past and is told the time
// later; everything gets its real time afterwards.
func TestTimesBeforeTheClockWasSet(t *testing.T) {
	m := NewMemory(Options{NoTicks: true, Clock: func() Moment { return Moment{Wall: time.Unix(0, 0).UTC()} }})
	b := newBench(1, 2)
	for i := range 20 {
		r := b.tick()
		if i < 10 {
			r.Wall, r.Trusted = time.Unix(0, 0).UTC().Add(r.Now), false
		}
		if i == 5 || i == 15 {
			b.latch(0)
		}
		m.Tick(r)
	}
	times, err := NewTimeline(m)
	if err != nil {
		t.Fatal(err)
	}
	jumps := 0
	err = entries(m, func(e *entry.Entry) error {
		at, sure := times.At(e.Header)
		if want := noon.Add(e.Now); !sure || !at.Equal(want) {
			t.Errorf("%s: %s, sure %v, want %s", Describe(e), at, sure, want)
		}
		if e.Body.Kind() == entry.KindJump {
			jumps++
		}
		return nil
	})
	if err != nil || jumps != 1 {
		t.Errorf("%d jumps, want 1 (%v)", jumps, err)
	}
}
