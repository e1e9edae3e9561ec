package config

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// broken stands in place of a value that was no TOML at all. Only a file with
// such a value may hold it: see reader.broken.
const broken = "\x00broken"

// reader turns the tables of a decoded file into settings and collects what is
// wrong with them.
type reader struct {
	at       *index
	problems []Problem
	mended   bool // a value that was no TOML was set aside, and is a problem
}

// broken says whether a value was set aside. A file that merely spells the
// same text is not let through with it.
func (r *reader) broken(v any) bool { return r.mended && v == broken }

func (r *reader) add(p Place, s Severity, format string, args ...any) {
	r.problems = append(r.problems, Problem{Line: p.Line, Column: p.Column, Severity: s, Message: fmt.Sprintf(format, args...)})
}

// table reads one table. what names it in messages; inner are the names of the
// tables in it, which are read by others.
func (r *reader) table(v any, path, what string, fields []field, inner ...string) marks {
	m := marks{"": r.at.key(path)}
	if path == "" {
		m[""] = Place{1, 1}
	}
	t, ok := v.(map[string]any)
	if !ok && v != nil {
		if !r.broken(v) {
			r.add(r.at.value(path), Error, "%s: %s is no table: write keys below a header, or between { and }", what, show(v))
		}
		return m
	}
	known := slices.Clone(inner)
	for i := range fields {
		f := &fields[i]
		known = append(known, f.name)
		if f.preset != "" {
			err := f.acceptPreset()
			must(err == nil, "preset of "+f.name)
		}
		v, ok := t[f.name]
		if !ok {
			if f.need {
				m[f.name+"!"] = m[""]
				r.add(m[""], Error, "%s: %s is missing: write %s = %s", what, f.name, f.name, f.literal())
			}
			continue
		}
		place := r.at.value(join(path, f.name))
		m[f.name] = place
		if r.broken(v) {
			m[f.name+"!"] = place
			continue
		}
		if err := f.accept(v); err != nil {
			r.add(place, Error, "%s: %s %s", what, f.name, err)
			m[f.name+"!"] = place
		}
	}
	for _, k := range sortedKeys(t) {
		if !slices.Contains(known, k) {
			r.add(r.at.key(join(path, k)), Error, "%s: there is no key %s here%s", what, show(k), nearest(k, known))
		}
	}
	return m
}

// bad says whether one of the keys is missing or could not be taken, so that no
// second problem is made of the same mistake.
func (m marks) bad(keys ...string) bool {
	for _, k := range keys {
		if _, ok := m[k+"!"]; ok {
			return true
		}
	}
	return false
}

// has says whether the key is written in the file.
func (m marks) has(key string) bool { _, ok := m[key]; return ok }

// acceptPreset takes the default as if it were written in the file.
func (f *field) acceptPreset() error {
	switch f.kind {
	case truth:
		return f.accept(f.preset == "true")
	case whole:
		var n int64
		if _, err := fmt.Sscan(f.preset, &n); err != nil {
			return err
		}
		return f.accept(n)
	}
	return f.accept(f.preset)
}

// literal is the example as it stands in a file.
func (f *field) literal() string {
	switch f.kind {
	case truth, whole, date:
		return f.example
	}
	return fmt.Sprintf("%q", f.example)
}

// list returns the elements of an array of tables.
func (r *reader) list(v any, path, what string) []any {
	switch v := v.(type) {
	case nil:
		return nil
	case []map[string]any:
		all := make([]any, len(v))
		for i := range v {
			all[i] = v[i]
		}
		return all
	case []any:
		return v
	}
	if !r.broken(v) {
		header := strings.ReplaceAll(what, " ", ".")
		r.add(r.at.key(path), Error, "%s: %s is no list of tables: begin each one with [[%s]]", what, show(v), header)
	}
	return nil
}

func sortedKeys(t map[string]any) []string {
	keys := make([]string, 0, len(t))
	for k := range t {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// nearest offers the known key that looks most like a mistyped one.
func nearest(k string, known []string) string {
	best, least := "", 3
	for _, n := range known {
		if d := distance(strings.ToLower(k), n); d < least {
			best, least = n, d
		}
	}
	if best != "" {
		return fmt.Sprintf(": write %s, or take it out", best)
	}
	known = slices.Clone(known)
	sort.Strings(known)
	return ": take it out; known are " + strings.Join(known, ", ")
}

// distance counts the letters to change, add or take away between two words
// (Levenshtein 1966). Words of more than 40 letters are far from everything.
func distance(a, b string) int {
	if len(a) > 40 || len(b) > 40 {
		return 99
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			diagonal, row[j] = row[j], min(row[j]+1, row[j-1]+1, diagonal+cost)
		}
	}
	return row[len(b)]
}
