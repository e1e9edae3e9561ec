package journal

import (
	"bytes"
	"context"
	"encoding/binary"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"soakwarden/internal/journal/verify"
)

// knock is what the program knew when an operation had been done.
type knock struct {
	op      int    // operations that had been done
	durable uint64 // entries that had been acknowledged by then
}

// story runs a bench on a recording card and notes what was acknowledged when.
// It ends as a power cut ends it: nothing is closed before the last operation
// that counts.
func story(t *testing.T) (base []byte, ops []op, knocks []knock, roots []verify.Hash) {
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	o := Options{vfs: cardVFS, Block: 20 * time.Second, Head: 5 * time.Minute, Reserve: -1, logPages: 60}
	if err := mustOpen(t, path, o).Close(); err != nil {
		t.Fatal(err)
	}
	base, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	c.set(func(c *card) { c.record = true })
	j := mustOpen(t, path, o)
	acknowledged := func() {
		durable := j.Health().Durable // before the operations are counted: the writer goes on
		knocks = append(knocks, knock{len(c.recorded()), durable})
	}
	b := newBench(2, 3)
	await(t, j.SaveState("tub-1", []byte("first state")))
	acknowledged()
	for i := range 900 {
		switch {
		case i%97 == 96:
			await(t, j.Tick(b.trip(i%2)))
			acknowledged()
		case i%131 == 130:
			await(t, j.Tick(b.act(0, "A. Keeper", "looked")))
			acknowledged()
		case i%211 == 210:
			await(t, j.SaveState("tub-1", binary.AppendUvarint(nil, uint64(i))))
			acknowledged()
		default:
			await(t, j.Tick(b.tick()))
		}
	}
	ops = c.recorded()
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	var tree verify.Tree
	roots = append(roots, tree.Root())
	err = r.Rows(func(row verify.Row) error {
		tree.Append(verify.Leaf(row.Body))
		roots = append(roots, tree.Root())
		return nil
	})
	if err != nil || r.Close() != nil {
		t.Fatal(err)
	}
	return base, ops, knocks, roots
}

// image is the files after a cut at operation n: what was synced is kept,
// later operations are kept, dropped or torn at a sector of 512 bytes.
func image(base []byte, ops []op, n int, random *rand.Rand) map[string][]byte {
	synced := map[string]int{}
	for i, o := range ops[:n] {
		if o.kind == opSync {
			synced[o.file] = i
		}
	}
	files := map[string][]byte{"": bytes.Clone(base)}
	for i, o := range ops[:n] {
		fate, sure := random.IntN(3), i < synced[o.file]
		if o.kind == opSync || !sure && fate == 0 {
			continue
		}
		b := files[o.file]
		if o.kind == opTruncate {
			files[o.file] = append(b, make([]byte, max(0, int(o.at)-len(b)))...)[:o.at]
			continue
		}
		data := o.data
		if !sure && fate == 1 {
			if sectors := (len(data) + 511) / 512; sectors > 1 {
				data = data[:512*random.IntN(sectors)]
			}
		}
		if end := int(o.at) + len(data); end > len(b) {
			b = append(b, make([]byte, end-len(b))...)
		}
		copy(b[o.at:], data)
		files[o.file] = b
	}
	return files
}

func cuts(t *testing.T) int {
	text := os.Getenv("SOAKWARDEN_POWER_CUTS")
	if text == "" {
		return 300
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("SOAKWARDEN_POWER_CUTS is %q; write a number of cuts", text)
	}
	return n
}

func TestPowerCutsLoseNothingAcknowledged(t *testing.T) {
	base, ops, knocks, roots := story(t)
	random := rand.New(rand.NewPCG(7, 11))
	dir := t.TempDir()
	newCard(dir)
	lostTail, logs := 0, 0
	many := cuts(t)
	for cut := range many {
		n := random.IntN(len(ops) + 1)
		files := image(base, ops, n, random)
		path := filepath.Join(dir, strconv.Itoa(cut))
		for end, b := range files {
			if err := os.WriteFile(path+end, b, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if len(files["-wal"]) > 0 {
			logs++
		}
		size, committed := afterCut(t, path, roots, n), uint64(0)
		for _, k := range knocks {
			if k.op <= n {
				committed = k.durable
			}
		}
		if size < committed {
			t.Fatalf("cut %d after operation %d: %d entries are there, %d had been acknowledged", cut, n, size, committed)
		}
		if size < wholeSize(t, base, ops, n, cut, dir, roots) {
			lostTail++
		}
		for _, end := range []string{"", "-wal", "-shm"} {
			os.Remove(path + end)
		}
	}
	if lostTail == 0 || logs == 0 {
		t.Errorf("of %d cuts none lost what had not been synced: they cut nothing", many)
	}
	t.Logf("%d cuts at %d operations; %d lost a tail that had not been synced", many, len(ops), lostTail)
}

// wholeSize is the number of entries when every operation before the cut is
// kept: the difference to what a cut leaves is the lost tail. One cut in ten is
// enough to know that tails are lost.
func wholeSize(t *testing.T, base []byte, ops []op, n, cut int, dir string, roots []verify.Hash) uint64 {
	if cut%10 != 0 {
		return 0
	}
	files := map[string][]byte{"": bytes.Clone(base)}
	for _, o := range ops[:n] {
		b := files[o.file]
		switch o.kind {
		case opTruncate:
			b = append(b, make([]byte, max(0, int(o.at)-len(b)))...)[:o.at]
		case opWrite:
			if end := int(o.at) + len(o.data); end > len(b) {
				b = append(b, make([]byte, end-len(b))...)
			}
			copy(b[o.at:], o.data)
		}
		files[o.file] = b
	}
	path := filepath.Join(dir, "whole")
	for _, end := range []string{"", "-wal", "-shm"} {
		os.Remove(path + end)
		if b := files[end]; b != nil {
			if err := os.WriteFile(path+end, b, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return afterCut(t, path, roots, n)
}

// afterCut opens what a cut left for writing, as the next start does, and holds
// it against the whole story: its chain must be that of a beginning.
func afterCut(t *testing.T, path string, roots []verify.Hash, n int) uint64 {
	t.Helper()
	o := Options{vfs: cardVFS}
	o.defaults()
	s, err := openSession(path, &o)
	if err != nil {
		t.Fatalf("after a cut at operation %d: %v", n, err)
	}
	defer s.close()
	var sound string
	if err := s.conn.QueryRowContext(context.Background(), "PRAGMA integrity_check").Scan(&sound); err != nil || sound != "ok" {
		t.Fatalf("after a cut at operation %d: %s, %v", n, sound, err)
	}
	if s.tree.Size() == 0 {
		return 0
	}
	rep, err := verify.Check(&Reader{path: path, db: s.db, conn: s.conn})
	if err != nil || !rep.OK {
		t.Fatalf("after a cut at operation %d: %v %q", n, err, rep.Problems)
	}
	if root := s.tree.Root(); root != roots[s.tree.Size()] {
		t.Fatalf("after a cut at operation %d: the chain is not that of the first %d entries", n, s.tree.Size())
	}
	return s.tree.Size()
}
