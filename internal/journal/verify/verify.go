package verify

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"sort"

	"soakwarden/internal/journal/entry"
)

// Row is one stored entry. Leaf stands in for a Body that was thinned.
type Row struct {
	Seq  uint64
	Body []byte
	Leaf []byte
}

// Tip is the stored end of the chain.
type Tip struct {
	Size     uint64
	Root     []byte
	Frontier []byte
}

// Index is what the store notes beside the entries to find some of them fast.
type Index struct {
	States map[string]uint64 // station to the entry of its latest state
	Runs   map[uint32]uint64 // run to the entry of its start
}

// Source is where the rows come from.
type Source interface {
	// Rows gives every row in the order of Seq and ends at the first error of
	// f. The row's bytes are valid until f returns.
	Rows(f func(Row) error) error
	Tip() (Tip, error)
	Index() (Index, error)
}

// Head is a chain head that was noted elsewhere, on a printed record.
type Head struct {
	Size uint64
	Root Hash
}

// Report is the answer.
type Report struct {
	OK       bool     `json:"ok"`
	Entries  uint64   `json:"entries"`
	Chain    string   `json:"chain"` // tree hash over all entries, hex
	Thinned  uint64   `json:"thinned"`
	Problems []string `json:"problems"`
}

const mostProblems = 100

type checker struct {
	report  Report
	tree    Tree
	known   map[uint64]Hash
	thinned map[uint64]uint64 // row without a body to the entry that says so, 0 for none yet
	states  map[string]uint64
	runs    map[uint32]uint64
	run     uint32
	more    int
}

// Check reads everything and reports every problem. The error is for a source
// that could not be read at all.
func Check(src Source, known ...Head) (Report, error) {
	c := checker{
		known:   map[uint64]Hash{},
		thinned: map[uint64]uint64{},
		states:  map[string]uint64{},
		runs:    map[uint32]uint64{},
	}
	c.report.Problems = []string{}
	for _, h := range known {
		c.known[h.Size] = h.Root
	}
	if root, asked := c.known[0]; asked && root != c.tree.Root() {
		c.problem("the head of an empty journal is not %x", root)
	}
	if err := src.Rows(func(r Row) error { c.row(r); return nil }); err != nil {
		c.problem("reading the entries after number %d: %v", c.tree.Size(), err)
	}
	c.heads(known)
	c.thinnedRows()
	c.tip(src)
	c.index(src)
	c.report.Entries = c.tree.Size()
	root := c.tree.Root()
	c.report.Chain = hex.EncodeToString(root[:])
	c.report.Thinned = uint64(len(c.thinned))
	if c.more > 0 {
		c.report.Problems = append(c.report.Problems, fmt.Sprintf("and %d more problems", c.more))
	}
	c.report.OK = len(c.report.Problems) == 0
	return c.report, nil
}

func (c *checker) problem(format string, args ...any) {
	if len(c.report.Problems) >= mostProblems {
		c.more++
		return
	}
	c.report.Problems = append(c.report.Problems, fmt.Sprintf(format, args...))
}

func (c *checker) row(r Row) {
	want := c.tree.Size() + 1
	if r.Seq != want {
		c.problem("entry %d stands where entry %d belongs: entries are missing, added or out of order", r.Seq, want)
	}
	switch {
	case r.Body != nil && r.Leaf != nil:
		c.problem("entry %d has both a body and a hash in place of it", r.Seq)
		c.tree.Append(Leaf(r.Body))
	case r.Body != nil:
		c.body(r)
		c.tree.Append(Leaf(r.Body))
	case len(r.Leaf) == len(Hash{}):
		c.thinned[r.Seq] = 0
		c.tree.Append(Hash(r.Leaf))
	default:
		c.problem("entry %d is empty", r.Seq)
		c.tree.Append(Leaf(nil))
	}
	if root, asked := c.known[c.tree.Size()]; asked && root != c.tree.Root() {
		c.problem("the head over %d entries is %x, the one noted elsewhere is %x", c.tree.Size(), c.tree.Root(), root)
	}
}

func (c *checker) body(r Row) {
	e, err := entry.Decode(r.Body)
	if err != nil {
		c.problem("entry %d: %v", r.Seq, err)
		return
	}
	if e.Seq != r.Seq {
		c.problem("entry %d says that it is entry %d", r.Seq, e.Seq)
	}
	switch b := e.Body.(type) {
	case *entry.Start:
		if e.Run != c.run+1 {
			c.problem("entry %d starts run %d after run %d", r.Seq, e.Run, c.run)
		}
		c.run = e.Run
		c.runs[e.Run] = r.Seq
	case *entry.State:
		c.states[e.Station] = r.Seq
	case *entry.Thinned:
		for _, s := range b.Blocks {
			c.authorise(r.Seq, s.Seq)
		}
	}
	if e.Run != c.run {
		c.problem("entry %d belongs to run %d, but run %d had begun", r.Seq, e.Run, c.run)
	}
}

// authorise notes that entry by says that the block at seq was thinned. Blocks
// that were thinned before they had been written have no number.
func (c *checker) authorise(by, seq uint64) {
	if seq == 0 {
		return
	}
	before, gone := c.thinned[seq]
	switch {
	case !gone:
		c.problem("entry %d says that entry %d was thinned, but it is there, or not yet", by, seq)
	case before != 0:
		c.problem("entries %d and %d both say that entry %d was thinned", before, by, seq)
	}
	if gone {
		c.thinned[seq] = by
	}
}

func (c *checker) heads(known []Head) {
	for _, h := range known {
		if h.Size > c.tree.Size() {
			c.problem("a head over %d entries was noted elsewhere, but there are %d", h.Size, c.tree.Size())
		}
	}
}

func (c *checker) thinnedRows() {
	var unsaid []uint64
	for seq, by := range c.thinned {
		if by == 0 {
			unsaid = append(unsaid, seq)
		}
	}
	sort.Slice(unsaid, func(i, j int) bool { return unsaid[i] < unsaid[j] })
	for _, seq := range unsaid {
		c.problem("entry %d has no body, and no entry says that it was thinned", seq)
	}
}

func (c *checker) tip(src Source) {
	tip, err := src.Tip()
	if err != nil {
		c.problem("reading the chain head: %v", err)
		return
	}
	root := c.tree.Root()
	if tip.Size != c.tree.Size() {
		c.problem("the stored head covers %d entries, but there are %d", tip.Size, c.tree.Size())
	}
	if !bytes.Equal(tip.Root, root[:]) {
		c.problem("the stored head is %x, the entries give %x", tip.Root, root)
	}
	if !bytes.Equal(tip.Frontier, c.tree.Frontier()) {
		c.problem("the stored frontier of the chain is not that of the entries")
	}
}

func (c *checker) index(src Source) {
	x, err := src.Index()
	if err != nil {
		c.problem("reading the index: %v", err)
		return
	}
	compare(c, "latest state of station", x.States, c.states)
	compare(c, "start of run", x.Runs, c.runs)
}

func compare[K string | uint32](c *checker, what string, stored, found map[K]uint64) {
	keys := make([]K, 0, len(stored)+len(found))
	for k := range stored {
		keys = append(keys, k)
	}
	for k := range found {
		if _, both := stored[k]; !both {
			keys = append(keys, k)
		}
	}
	sort.Slice(keys, func(i, j int) bool { return keys[i] < keys[j] })
	for _, k := range keys {
		if stored[k] != found[k] {
			c.problem("the %s %v is entry %d, the index says %d", what, k, found[k], stored[k])
		}
	}
}
