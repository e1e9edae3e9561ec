package relay

import (
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// The files of a Memory. The copy is written after the first is safe, so that
// one torn or rotten sector never loses both.
const (
	memoryFile = "lines"
	memoryCopy = "lines.copy"
	memoryHead = "soakwarden lines 1 "
)

// remembered is one line as it stands in the file. Label and Offset find a pin
// whose name went away; Off is written out for a person who reads the file.
type remembered struct {
	Name   string `json:"name"`
	Pin    string `json:"pin,omitempty"`
	Label  string `json:"label,omitempty"`
	Offset uint32 `json:"offset,omitempty"`
	Path   string `json:"path,omitempty"`
	Off    string `json:"off"` // "high" or "low"
}

func (r remembered) spec() Spec {
	return Spec{Name: r.Name, Pin: r.Pin, Path: r.Path, ActiveLow: r.Off == "high"}
}

// Memory is the durable list of every line that was ever driven from one state
// folder: where it is and the level at which it is off. Lines are never
// forgotten by themselves, because a relay may still hang on a pin that the
// configuration no longer names.
type Memory struct {
	dir string

	mu    sync.Mutex
	lines []remembered
}

// OpenMemory reads the list in a state folder. It always returns a Memory that
// can be used: what is wrong with the files is the error, and a file that
// could not be understood is kept beside them for a person to look at.
func OpenMemory(dir string) (*Memory, error) {
	m := &Memory{dir: dir}
	var all error
	for _, name := range []string{memoryFile, memoryCopy} {
		path := filepath.Join(dir, name)
		data, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			all = errors.Join(all, fmt.Errorf("read the remembered lines: %w", err))
			continue
		}
		lines, err := decodeLines(data)
		for _, l := range lines {
			m.put(l, false)
		}
		if err != nil {
			aside := path + ".unreadable"
			err = fmt.Errorf("%s: %w; kept as %s", path, err, aside)
			if moved := os.Rename(path, aside); moved != nil {
				err = errors.Join(err, moved)
			}
			all = errors.Join(all, err)
		}
	}
	return m, all
}

// Lines returns what is remembered, in the order in which it was first driven.
func (m *Memory) Lines() []Spec {
	var specs []Spec
	for _, l := range m.entries() {
		specs = append(specs, l.spec())
	}
	return specs
}

func (m *Memory) entries() []remembered {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]remembered(nil), m.lines...)
}

// put adds a line, or replaces the one at the same place when newer.
func (m *Memory) put(r remembered, newer bool) (changed bool) {
	for i, old := range m.lines {
		if old.spec().Place() != r.spec().Place() {
			continue
		}
		if newer && old != r {
			m.lines[i] = r
			return true
		}
		return false
	}
	m.lines = append(m.lines, r)
	return true
}

// remember makes the lines durable. It returns only when both files and their
// folder are on disk, or with the error that kept one from it. Nothing is
// written when nothing changed.
func (m *Memory) remember(lines ...remembered) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	before := append([]remembered(nil), m.lines...)
	changed := false
	for _, l := range lines {
		changed = m.put(l, true) || changed
	}
	if !changed {
		return nil
	}
	if err := m.save(); err != nil {
		m.lines = before
		return fmt.Errorf("remember %s: %w", lines[0].spec(), err)
	}
	return nil
}

// Forget drops the line at the same place from the list, durably. Only a
// person may ask for it, after the line was driven off.
func (m *Memory) Forget(spec Spec) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	kept := m.lines[:0:0]
	for _, l := range m.lines {
		if l.spec().Place() != spec.Place() {
			kept = append(kept, l)
		}
	}
	if len(kept) == len(m.lines) {
		return fmt.Errorf("forget %s: no such line is remembered", spec.Place())
	}
	before := m.lines
	m.lines = kept
	if err := m.save(); err != nil {
		m.lines = before
		return fmt.Errorf("forget %s: %w", spec.Place(), err)
	}
	return nil
}

func (m *Memory) save() error {
	data := encodeLines(m.lines)
	for _, name := range []string{memoryFile, memoryCopy} {
		if err := WriteDurable(filepath.Join(m.dir, name), data); err != nil {
			return err
		}
	}
	return nil
}

func encodeLines(lines []remembered) []byte {
	var body strings.Builder
	enc := json.NewEncoder(&body)
	enc.SetEscapeHTML(false)
	for _, l := range lines {
		if err := enc.Encode(l); err != nil {
			panic(err) // strings and numbers always encode
		}
	}
	return fmt.Appendf(nil, "%s%d %08x\n%s", memoryHead, len(lines), crc32.ChecksumIEEE([]byte(body.String())), body.String())
}

// decodeLines returns every line that it can make out, and an error when the
// file is not whole: a line too many driven off is better than one too few.
func decodeLines(data []byte) ([]remembered, error) {
	head, body, _ := strings.Cut(string(data), "\n")
	var problem error
	var count int
	var sum uint32
	rest, ok := strings.CutPrefix(head, memoryHead)
	if _, err := fmt.Sscanf(rest, "%d %x", &count, &sum); !ok || err != nil {
		problem = errors.New("the first line is not that of a list of remembered lines")
	} else if crc32.ChecksumIEEE([]byte(body)) != sum {
		problem = errors.New("the checksum does not fit")
	}
	var lines []remembered
	for _, text := range strings.Split(body, "\n") {
		if text == "" {
			continue
		}
		var r remembered
		if err := json.Unmarshal([]byte(text), &r); err != nil {
			problem = errors.Join(problem, err)
			continue
		}
		if err := r.spec().Check(); err != nil || (r.Off != "high" && r.Off != "low") {
			problem = errors.Join(problem, fmt.Errorf("a line without a place or an off level: %s", text))
			continue
		}
		lines = append(lines, r)
	}
	if problem == nil && len(lines) != count {
		problem = fmt.Errorf("it holds %d lines and says %d", len(lines), count)
	}
	return lines, problem
}
