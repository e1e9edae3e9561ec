package config

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
)

// LongestFile is the most that is read; a bench of five hundred stations is
// half of it. The bound keeps nested brackets from filling the memory.
const LongestFile = 1 << 20

// mostProblems bounds the answer about a file that is something else.
const mostProblems = 500

// Parse reads a configuration. name is what messages call the file. The Config
// is nil when any of the problems is an Error; the problems come in the order
// of their places.
func Parse(name string, data []byte) (*Config, []Problem) {
	cfg, problems := Draft(name, data)
	if Unusable(problems) {
		return nil, problems
	}
	return cfg, problems
}

// Draft reads a configuration like Parse, and returns what it could make out
// even when there are mistakes. A draft is for answering questions about a
// bench that is being planned (see Station.Sizeable); nothing may run on it. It
// is nil when the file is no TOML at all.
func Draft(name string, data []byte) (*Config, []Problem) {
	tree, r := decode(data)
	cfg := &Config{File: name}
	sum := sha256.Sum256(data)
	cfg.Checksum = hex.EncodeToString(sum[:])
	if tree != nil {
		r.bench(cfg, tree)
	} else {
		cfg = nil
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	if len(r.problems) > mostProblems {
		rest := len(r.problems) - mostProblems
		r.problems = r.problems[:mostProblems]
		r.add(Place{1, 1}, Error, "and %d more mistakes: mend these first", rest)
	}
	return cfg, r.problems
}

// Load reads the configuration in a file. The error is about reading the file
// and nothing else.
func Load(path string) (*Config, []Problem, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	cfg, problems := Parse(path, data)
	return cfg, problems, nil
}

// RelaysOnly returns every relay that it can make out in a file, whatever else
// is wrong with it: entries with mistakes of their own are left out. When the
// file cannot be read as a whole, each entry is read alone.
func RelaysOnly(data []byte) []Relay {
	if tree, r := decode(data); tree != nil {
		return r.goodRelays(tree)
	}
	var good []Relay
	for _, entry := range relayEntries(string(data)) {
		if tree, r := decode([]byte(entry)); tree != nil {
			good = append(good, r.goodRelays(tree)...)
		}
	}
	return good
}

func (r *reader) goodRelays(tree map[string]any) []Relay {
	var good []Relay
	for i, v := range r.list(tree["relay"], "\x00relay", "relay") {
		before := len(r.problems)
		relay := r.relay(v, i)
		if len(r.problems) == before && !relay.at.bad("name", "kind", "pin", "path", "chip", "on_when") {
			good = append(good, relay)
		}
	}
	return good
}

// relayEntries cuts the text of each relay out of a file: from its header to
// the next line that begins with a bracket.
func relayEntries(doc string) []string {
	var entries []string
	inside := false
	for line := range strings.Lines(strings.ToValidUTF8(doc, "?")) {
		word := strings.TrimLeft(line, " \t\ufeff")
		if strings.HasPrefix(word, "[") {
			header, _, _ := strings.Cut(word, "#")
			inside = strings.ReplaceAll(strings.TrimSpace(header), " ", "") == "[[relay]]"
			if inside {
				entries = append(entries, "")
			}
		}
		if inside {
			entries[len(entries)-1] += line
		}
	}
	return entries
}

// mostRepairs bounds how often a value that is no TOML is set aside to look at
// the rest of the file.
const mostRepairs = 50

// decode reads the file's tables. Values that are no TOML become broken and a
// problem each; the tree is nil when nothing can be read at all.
func decode(data []byte) (map[string]any, *reader) {
	r := &reader{at: newIndex("")}
	if len(data) > LongestFile {
		r.add(Place{1, 1}, Error, "the file is %d bytes long: a configuration has at most %d; is this the right file?", len(data), LongestFile)
		return nil, r
	}
	doc := strings.TrimPrefix(string(data), "\ufeff")
	r.at = newIndex(doc)
	if !utf8.ValidString(doc) {
		at := strings.IndexRune(doc, utf8.RuneError)
		r.add(r.at.place(at), Error, "this is no UTF-8: save the file as UTF-8 text")
		return nil, r
	}
	if depth(doc) > 100 {
		r.add(Place{1, 1}, Error, "brackets are nested more than 100 deep: is this the right file?")
		return nil, r
	}
	for range mostRepairs {
		var tree map[string]any
		_, err := toml.Decode(doc, &tree)
		if err == nil {
			r.at = newIndex(doc)
			for i, path := range r.at.twice {
				r.add(r.at.again[i], Error, "%s stands in line %d, too: write it once, as a value or as a table",
					path[strings.LastIndexByte(path, 0)+1:], r.at.keys[path].Line)
			}
			return tree, r
		}
		var syntax toml.ParseError
		if !errors.As(err, &syntax) {
			r.add(Place{1, 1}, Error, "cannot be read: %v", err)
			return nil, r
		}
		line := max(1, min(syntax.Position.Line, len(r.at.lines)))
		start := r.at.lines[line-1]
		end := len(doc)
		if line < len(r.at.lines) {
			end = r.at.lines[line] - 1
		}
		message, at := explain(doc[start:end], syntax.Message, min(max(syntax.Position.Start, start), end)-start)
		r.add(r.at.place(start+at), Error, "%s", message)
		r.mended = true
		next, ok := setAside(doc, start, end)
		if !ok {
			return nil, r
		}
		doc = next
		r.at = newIndex(doc)
	}
	return nil, r
}

// explain says what is wrong with a line that is no TOML, and how far into the
// line: at is where the decoder stopped. The most frequent mistake by far is a
// quantity without quotation marks.
func explain(line, message string, at int) (string, int) {
	key, rest, ok := strings.Cut(line, "=")
	value, _, _ := strings.Cut(rest, "#")
	value = strings.TrimSpace(value)
	name := strings.TrimSpace(key)
	switch {
	case ok && name != "" && value == "":
		return fmt.Sprintf("%s has no value: write one after the equals sign, or take the line out", name), strings.Index(line, name)
	case ok && name != "" && !strings.ContainsAny(value, "\"'[{") && value[0] != '.':
		return fmt.Sprintf("%s: %s is no TOML value: write it in quotation marks, %s = %q", name, value, name, value), len(key) + 1 + strings.Index(rest, value)
	}
	return message + ": mend this line; each line is key = value, [table] or [[table]], with text in quotation marks", at
}

// setAside replaces the value on a line by broken, so that the rest of the
// file can be looked at. It cannot for headers and for lines without a key.
func setAside(doc string, start, end int) (string, bool) {
	key, _, ok := strings.Cut(doc[start:end], "=")
	if name := strings.TrimSpace(key); !ok || name == "" || strings.ContainsAny(name, "[]{}#\"'") || strings.Contains(doc[start:end], `"\u0000broken"`) {
		return "", false
	}
	return doc[:start] + key + `= "\u0000broken"` + doc[end:], true
}

// depth returns how deep brackets are nested, quoted ones counted too.
func depth(doc string) int {
	now, most := 0, 0
	for i := range len(doc) {
		switch doc[i] {
		case '[', '{':
			now++
			most = max(most, now)
		case ']', '}':
			now = max(now-1, 0)
		}
	}
	return most
}
