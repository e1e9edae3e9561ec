package journal

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// stored is a journal's content that a test can change before it is checked.
type stored struct {
	rows  []verify.Row
	tip   verify.Tip
	index verify.Index
}

func load(t *testing.T, src verify.Source) *stored {
	t.Helper()
	var s stored
	err := src.Rows(func(r verify.Row) error {
		s.rows = append(s.rows, verify.Row{Seq: r.Seq, Body: bytes.Clone(r.Body), Leaf: bytes.Clone(r.Leaf)})
		return nil
	})
	if err == nil {
		s.tip, err = src.Tip()
	}
	if err == nil {
		s.index, err = src.Index()
	}
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

func (s *stored) Rows(f func(verify.Row) error) error {
	for _, r := range s.rows {
		if err := f(r); err != nil {
			return err
		}
	}
	return nil
}
func (s *stored) Tip() (verify.Tip, error)     { return s.tip, nil }
func (s *stored) Index() (verify.Index, error) { return s.index, nil }

func (s *stored) mustBe(t *testing.T, ok bool, what string, args ...any) {
	t.Helper()
	rep, err := verify.Check(s)
	if err != nil {
		t.Fatal(err)
	}
	if rep.OK != ok {
		t.Fatalf(what+": ok is %v: %q", append(args, rep.OK, rep.Problems)...)
	}
}

// everyKind records at least one entry of every kind but those that only a
// failing card makes, and a thinned block.
func everyKind(t *testing.T, path string) {
	t.Helper()
	j := mustOpen(t, path, Options{Block: 20 * time.Second, Reserve: -1})
	b := newBench(1, 2)
	await(t, j.Config("tub.toml", []byte("a = 1\n")))
	await(t, j.Settings("tub-1", "core", controller.Settings{Kind: controller.Tub}))
	for range 50 {
		j.Tick(b.tick())
	}
	b.res.Trusted = false
	for range 3 {
		r := b.tick()
		r.Trusted = false
		j.Tick(r)
	}
	await(t, j.Tick(b.trip(0)))
	await(t, j.Tick(b.act(0, "A. Keeper", "saw")))
	for range 300 {
		j.Tick(b.tick())
	}
	await(t, j.SaveState("tub-1", []byte("state")))
	await(t, j.Note("", "A. Keeper", "drank"))
	await(t, j.Restored("tub-1", []byte("state")))
	await(t, j.Document("tub-1", "case", "1", []byte(`{"a":1}`)))
	if err := j.Prove(); err != nil {
		t.Fatal(err)
	}
	await(t, j.Stop("over"))
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	o := Options{Reserve: -1}
	o.defaults()
	s, err := openSession(path, &o)
	if err != nil {
		t.Fatal(err)
	}
	tree := s.tree.Clone()
	rows := encode(&tree, []item{{Entry: entry.Entry{Header: entry.Header{Run: s.run}, Body: &entry.Lost{Reason: "x", Events: 1}}}})
	if err := s.write(rows, tree, true); err != nil {
		t.Fatal(err)
	}
	if _, err := s.thin(entry.Header{Run: s.run}); err != nil {
		t.Fatal(err)
	}
	if err := s.close(); err != nil {
		t.Fatal(err)
	}
	// One more run, so that a block stands whole behind the thinned ones.
	j = mustOpen(t, path, Options{Reserve: -1})
	for range 5 {
		j.Tick(b.tick())
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestEveryChangedByteOfEveryKindIsFound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	everyKind(t, path)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	s := load(t, r)
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	s.mustBe(t, true, "the journal as written")
	seen := map[entry.Kind]int{}
	for i := range s.rows {
		row := &s.rows[i]
		if row.Body == nil {
			everyByte(row.Leaf, func(b []byte) {
				row.Leaf = b
				s.mustBe(t, false, "hash of row %d", i+1)
			}, func(b []byte) { row.Leaf = b })
			continue
		}
		kind, _, err := entry.Peek(row.Body)
		if err != nil {
			t.Fatal(err)
		}
		if seen[kind]++; seen[kind] > 2 {
			continue
		}
		everyByte(row.Body, func(b []byte) {
			row.Body = b
			s.mustBe(t, false, "%s, row %d, as %x", kind, i+1, b)
		}, func(b []byte) { row.Body = b })
	}
	for k := entry.KindStart; k <= entry.KindRestored; k++ {
		if seen[k] == 0 {
			t.Errorf("no entry of kind %s was changed", k)
		}
	}
	for _, p := range []*[]byte{&s.tip.Root, &s.tip.Frontier} {
		everyByte(*p, func(b []byte) {
			*p = b
			s.mustBe(t, false, "tip")
		}, func(b []byte) { *p = b })
	}
	for k, v := range s.index.Runs {
		s.index.Runs[k] = v + 1
		s.mustBe(t, false, "the index of runs")
		s.index.Runs[k] = v
	}
	for k, v := range s.index.States {
		delete(s.index.States, k)
		s.mustBe(t, false, "the index of states")
		s.index.States[k] = v
	}
	s.mustBe(t, true, "the journal put back")
}

// everyByte calls try with each byte changed, removed and doubled in turn.
func everyByte(b []byte, try, back func([]byte)) {
	for i := range b {
		c := bytes.Clone(b)
		c[i] ^= 1 << (i % 8)
		try(c)
		try(append(bytes.Clone(b[:i]), b[i+1:]...))
		try(append(bytes.Clone(b[:i+1]), b[i:]...))
	}
	back(b)
}

func TestEveryRowMovedIsFound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	everyKind(t, path)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	s := load(t, r)
	rows := s.rows
	for i := range rows {
		s.rows = append(append([]verify.Row(nil), rows[:i]...), rows[i+1:]...)
		s.mustBe(t, false, "row %d removed", i+1)
		s.rows = append([]verify.Row(nil), rows...)
		for k := i; k < len(s.rows)-1; k++ {
			s.rows[k] = verify.Row{Seq: rows[k].Seq, Body: rows[k+1].Body, Leaf: rows[k+1].Leaf}
		}
		s.rows = s.rows[:len(s.rows)-1]
		s.mustBe(t, false, "row %d removed and the others moved up", i+1)
		s.rows = append(append(append([]verify.Row(nil), rows[:i+1]...), rows[i]), rows[i+1:]...)
		s.mustBe(t, false, "row %d doubled", i+1)
		for k := range i {
			s.rows = append([]verify.Row(nil), rows...)
			a, b := &s.rows[k], &s.rows[i]
			a.Body, a.Leaf, b.Body, b.Leaf = b.Body, b.Leaf, a.Body, a.Leaf
			s.mustBe(t, false, "rows %d and %d swapped", k+1, i+1)
		}
		s.rows = append([]verify.Row(nil), rows...)
		s.rows[i].Body, s.rows[i].Leaf = nil, nil
		s.mustBe(t, false, "row %d emptied", i+1)
		if rows[i].Body != nil {
			leaf := verify.Leaf(rows[i].Body)
			s.rows[i].Leaf = leaf[:]
			s.mustBe(t, false, "row %d thinned without a word", i+1)
		}
	}
}

// A week of one station that is read every ten seconds, each sample one change
// somewhere in it.
func TestChangesInAWeekAreFound(t *testing.T) {
	m := NewMemory(Options{})
	b := newBench(1, 3)
	b.step = 10 * time.Second
	for i := range 7 * 8640 {
		r := b.tick()
		if i%9000 == 4000 {
			b.latch(0)
		}
		m.Tick(r)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	s := load(t, m)
	s.mustBe(t, true, "the week as written")
	random := rand.New(rand.NewPCG(3, 4))
	for range 25 {
		i := random.IntN(len(s.rows))
		was := s.rows[i].Body
		b := bytes.Clone(was)
		at := random.IntN(len(b))
		b[at] ^= byte(1 + random.IntN(255))
		s.rows[i].Body = b
		s.mustBe(t, false, "byte %d of row %d changed", at, i+1)
		s.rows[i].Body = was
	}
}

func TestHeadNotedElsewherePinsTheBeginning(t *testing.T) {
	m := NewMemory(Options{})
	m.Note("", "A. Keeper", "first")
	h := m.Health()
	noted := verify.Head{Size: h.Entries, Root: h.Head}
	m.Note("", "A. Keeper", "second")
	if rep, err := verify.Check(m, noted); err != nil || !rep.OK {
		t.Fatalf("%v %q", err, rep.Problems)
	}
	other := NewMemory(Options{})
	other.Note("", "A. Keeper", "forged")
	other.Note("", "A. Keeper", "second")
	if rep, err := verify.Check(other, noted); err != nil || rep.OK {
		t.Fatalf("a journal written anew passed: %v", err)
	}
	short := NewMemory(Options{})
	if rep, err := verify.Check(short, noted); err != nil || rep.OK {
		t.Fatalf("a journal cut short passed: %v", err)
	}
}

func TestForeignFilesAreRefusedAndLeftAlone(t *testing.T) {
	dir := t.TempDir()
	make := func(name string, queries ...string) string {
		path := filepath.Join(dir, name)
		db, conn, err := connect(context.Background(), path, "", "rwc")
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range queries {
			if _, err := conn.ExecContext(context.Background(), q); err != nil {
				t.Fatal(err)
			}
		}
		if err := errors.Join(conn.Close(), db.Close()); err != nil {
			t.Fatal(err)
		}
		return path
	}
	text := filepath.Join(dir, "text")
	if err := os.WriteFile(text, bytes.Repeat([]byte("a plain text\n"), 100), 0o600); err != nil {
		t.Fatal(err)
	}
	sound := filepath.Join(dir, "sound")
	if err := mustOpen(t, sound, Options{Reserve: -1}).Close(); err != nil {
		t.Fatal(err)
	}
	damaged := filepath.Join(dir, "damaged")
	if err := mustOpen(t, damaged, Options{Reserve: -1}).Close(); err != nil {
		t.Fatal(err)
	}
	make("damaged", "UPDATE tip SET root = zeroblob(32)")
	for _, c := range []struct {
		path string
		want error
	}{
		{text, ErrNotDatabase},
		{make("foreign", "CREATE TABLE t (x)"), ErrForeign},
		{make("sibling", "PRAGMA application_id=7", "CREATE TABLE t (x)"), ErrForeign},
		{make("newer", "PRAGMA application_id=0x536b5764", "PRAGMA user_version=2", "CREATE TABLE t (x)"), ErrNewer},
		{filepath.Join(dir, "missing", "journal.db"), os.ErrNotExist},
		{damaged, nil},
		{dir, nil},
	} {
		before, _ := os.ReadFile(c.path)
		if j, err := Open(c.path, Options{Reserve: -1}); err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("opening %s to write: %v, %v", filepath.Base(c.path), j, err)
		}
		if after, _ := os.ReadFile(c.path); !bytes.Equal(before, after) {
			t.Errorf("%s was changed", filepath.Base(c.path))
		}
		if c.path == damaged {
			continue
		}
		if _, err := OpenReader(c.path); err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("opening %s to read: %v", filepath.Base(c.path), err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "lost-wal"), []byte("log"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(filepath.Join(dir, "lost"), Options{Reserve: -1}); err == nil {
		t.Error("a log without its journal was passed over")
	}
	mustVerify(t, sound)
}
