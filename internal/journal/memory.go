package journal

import (
	"crypto/rand"
	"errors"
	"fmt"
	"maps"
	"os"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/loop"
)

// Memory is a record that ends with the program, for virtual time. What is
// recorded is on its card at once. It is also a verify.Source.
type Memory struct {
	mu     lock
	o      Options
	scribe *scribe
	tree   verify.Tree
	rows   [][]byte
	states map[string]uint64
	starts map[uint32]uint64
	closed bool
}

// lock is a mutex that one goroutine alone does without.
type lock struct {
	sync.Mutex
	alone bool
}

func (l *lock) Lock() {
	if !l.alone {
		l.Mutex.Lock()
	}
}

func (l *lock) Unlock() {
	if !l.alone {
		l.Mutex.Unlock()
	}
}

// NewMemory makes an empty record and records a start.
func NewMemory(o Options) *Memory {
	o.defaults()
	m := &Memory{mu: lock{alone: o.Alone}, o: o, states: map[string]uint64{}, starts: map[uint32]uint64{}}
	m.scribe = newScribe(&m.o, 1)
	if m.o.Boot == "" {
		m.o.Boot = "memory"
	}
	m.put("", &entry.Start{Reason: clip(o.Reason), Version: clip(o.Version), Boot: clip(m.o.Boot)}, nil)
	return m
}

// Again records that the program starts once more after its life before ended
// without a stop. In virtual time the record outlives the program that dies.
func (m *Memory) Again(reason string) {
	m.mu.Lock()
	m.scribe.closeAll()
	m.flush()
	gaps := m.scribe.gaps
	m.scribe = newScribe(&m.o, m.scribe.run+1)
	m.scribe.gaps = gaps
	m.mu.Unlock()
	m.put("", &entry.Start{Reason: clip(reason), Version: clip(m.o.Version), Boot: clip(m.o.Boot), Unclean: true}, nil)
}

// chain brings the chain up to the last row; nobody asks for it in between. The
// lock is held.
func (m *Memory) chain() *verify.Tree {
	for _, b := range m.rows[m.tree.Size():] {
		m.tree.Append(verify.Leaf(b))
	}
	return &m.tree
}

// flush writes what the scribe has made. The lock is held.
func (m *Memory) flush() {
	if len(m.scribe.out) == 0 {
		return
	}
	for i := range m.scribe.out {
		e := &m.scribe.out[i].Entry
		e.Seq = uint64(len(m.rows)) + 1
		m.rows = append(m.rows, e.Append(nil))
		switch e.Body.Kind() {
		case entry.KindState:
			m.states[e.Station] = e.Seq
		case entry.KindStart:
			m.starts[e.Run] = e.Seq
		}
	}
	m.scribe.out = m.scribe.out[:0]
}

func (m *Memory) put(station string, body entry.Body, err error) Receipt {
	if err != nil {
		return refused(err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return refused(ErrClosed)
	}
	m.scribe.between()
	m.scribe.add(station, body, true)
	m.flush()
	return Receipt{}
}

// Tick records one tick.
func (m *Memory) Tick(r *loop.Result) Receipt {
	m.mu.Lock()
	defer m.mu.Unlock() // whoever ends the program after a panic closes the record
	if m.closed {
		return refused(ErrClosed)
	}
	m.scribe.tick(r)
	m.flush()
	return Receipt{}
}

// SaveState keeps a station's state.
func (m *Memory) SaveState(station string, state []byte) Receipt {
	body, err := stateBody(station, state)
	return m.put(station, body, err)
}

// LoadStates gives the latest state of every station.
func (m *Memory) LoadStates() (map[string][]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return statesOf(m.states, func(seq uint64) ([]byte, error) { return m.rows[seq-1], nil })
}

// Prove records a random number; there is no card that could fail.
func (m *Memory) Prove() error {
	return m.put("", &entry.Proof{Nonce: []byte(rand.Text())}, nil).Err()
}

// Config keeps the text of a configuration.
func (m *Memory) Config(name string, text []byte) Receipt {
	body, err := configBody(name, text)
	return m.put("", body, err)
}

// Settings keeps what a station was told.
func (m *Memory) Settings(station, core string, s controller.Settings) Receipt {
	body, err := settingsBody(core, s)
	return m.put(station, body, err)
}

// Restored keeps the state that a station began this run with.
func (m *Memory) Restored(station string, state []byte) Receipt {
	return m.put(station, &entry.Restored{State: append([]byte(nil), state...)}, checkState(station, state))
}

// Note keeps a person's words.
func (m *Memory) Note(station, who, text string) Receipt {
	return m.put(station, &entry.Note{Who: clip(who), Text: clip(text)}, nil)
}

// Document keeps one JSON value.
func (m *Memory) Document(station, topic, id string, json []byte) Receipt {
	body, err := documentBody(topic, id, json)
	return m.put(station, body, err)
}

// GapRule shortens the station's blocks.
func (m *Memory) GapRule(station string, rule time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.scribe.gaps[station] = rule
}

// Stop keeps the reason for the end.
func (m *Memory) Stop(reason string) Receipt {
	m.mu.Lock()
	m.scribe.closeAll()
	m.flush()
	m.mu.Unlock()
	return m.put("", &entry.Stop{Reason: clip(reason)}, nil)
}

// Health is always good.
func (m *Memory) Health() Health {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := uint64(len(m.rows))
	return Health{OK: true, Entries: n, Durable: n, Synced: m.scribe.moment.Wall, Head: m.chain().Root()}
}

// Close writes the open blocks. Nothing more is accepted.
func (m *Memory) Close() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.scribe.closeAll()
	m.flush()
	m.closed = true
	return nil
}

// Rows makes Memory a verify.Source.
func (m *Memory) Rows(f func(verify.Row) error) error {
	m.mu.Lock()
	rows := m.rows[:len(m.rows):len(m.rows)]
	m.mu.Unlock()
	for i, b := range rows {
		if err := f(verify.Row{Seq: uint64(i + 1), Body: b}); err != nil {
			return err
		}
	}
	return nil
}

// Tip is the end of the chain.
func (m *Memory) Tip() (verify.Tip, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	tree := m.chain()
	root := tree.Root()
	return verify.Tip{Size: tree.Size(), Root: root[:], Frontier: tree.Frontier()}, nil
}

// Index is what a Journal would note beside its entries.
func (m *Memory) Index() (verify.Index, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return verify.Index{States: maps.Clone(m.states), Runs: maps.Clone(m.starts)}, nil
}

// rowsAtOnce is how many entries WriteFile commits together.
const rowsAtOnce = 4096

// WriteFile writes what was recorded to a journal that must not exist yet.
func (m *Memory) WriteFile(path string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("writing the journal: %s exists already; give another name", path)
	}
	s, err := openSession(path, &m.o)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.finish(), s.close()) }()
	var rows []row
	tree := s.tree.Clone()
	commit := func() error {
		err := s.write(rows, tree.Clone(), true)
		rows = rows[:0]
		return err
	}
	err = m.Rows(func(r verify.Row) error {
		kind, h, err := entry.Peek(r.Body)
		if err != nil {
			return fmt.Errorf("writing entry %d: %w", r.Seq, err)
		}
		tree.Append(verify.Leaf(r.Body))
		rows = append(rows, row{seq: r.Seq, body: r.Body, kind: kind, station: h.Station, run: h.Run})
		if len(rows) < rowsAtOnce {
			return nil
		}
		return commit()
	})
	if err != nil {
		return err
	}
	return commit()
}

var (
	_ Recorder      = (*Memory)(nil)
	_ verify.Source = (*Memory)(nil)
)
