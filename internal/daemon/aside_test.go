package daemon

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
)

func latched(s *loop.Snapshot) bool {
	for _, a := range s.Stations[0].Alarms {
		if a.Latched {
			return true
		}
	}
	return false
}

// A journal that is damaged at the start is kept under another name, told of,
// and followed by a new one; every station is latched, also after the next
// start and when the power was cut before the new journal held anything.
func TestDamagedJournalIsSetAside(t *testing.T) {
	for name, harm := range map[string]func([]byte) []byte{
		"no header":    func(b []byte) []byte { copy(b, make([]byte, 1024)); return b },
		"cut in half":  func(b []byte) []byte { return b[:len(b)/2] },
		"pages gone":   func(b []byte) []byte { copy(b[1024:], bytes.Repeat([]byte{0xff}, len(b)-1024)); return b },
		"not a file's": func([]byte) []byte { return []byte("not a journal") },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := folder(t)
			path := filepath.Join(dir, "journal/journal.db")
			run := func() *loop.Snapshot {
				t.Helper()
				d := running(t, dir)
				waitFor(t, "two ticks", func() bool { s := d.Latest(); return s != nil && s.Tick >= 2 })
				s := d.Latest()
				if err := d.Stop(); err != nil {
					t.Fatal(err)
				}
				rep, err := journal.Verify(path)
				if err != nil || !rep.OK {
					t.Fatalf("%v %q", err, rep.Problems)
				}
				return s
			}
			if latched(run()) {
				t.Fatal("latched before anything was damaged")
			}
			whole, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			damaged := harm(bytes.Clone(whole))
			if err := os.WriteFile(path, damaged, 0o600); err != nil {
				t.Fatal(err)
			}
			s := run()
			kept, err := os.ReadFile(path + "-damaged-1")
			if err != nil || !bytes.Equal(kept, damaged) {
				t.Errorf("what was damaged was not kept as it was: %v", err)
			}
			if !s.Journal.OK || !strings.Contains(s.Journal.Problem, path+"-damaged-1") || !latched(s) {
				t.Errorf("%+v, latched %v", s.Journal, latched(s))
			}
			if s := run(); !latched(s) || s.Journal.Problem != "" {
				t.Errorf("the next start: %+v, latched %v", s.Journal, latched(s))
			}
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
			if !latched(run()) {
				t.Error("not latched after a cut before the new journal held anything")
			}
		})
	}
}

// What cannot be opened and is not damage is left alone, and nothing
// heats.
func TestUnopenableJournalIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	path := filepath.Join(dir, "journal/journal.db")
	if err := os.MkdirAll(path, 0o755); err != nil {
		t.Fatal(err)
	}
	d := running(t, dir)
	waitFor(t, "two ticks", func() bool { s := d.Latest(); return s != nil && s.Tick >= 2 })
	if s := d.Latest(); s.Journal.OK || !strings.Contains(s.Journal.Problem, "cannot be opened") || !latched(s) {
		t.Errorf("%+v, latched %v", s.Journal, latched(s))
	}
	if err := d.Stop(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(path + "-damaged-1"); err == nil {
		t.Error("it was set aside")
	}
}
