package config

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// index says where every key of a document stands, because the decoder gives
// no places for unknown keys and wrong types. Paths are keys joined by a NUL
// with the number of the element for arrays: the second station's first
// probe's rom is "\x00station\x001\x00probe\x000\x00rom".
type index struct {
	keys   map[string]Place // where the key (or the header of its table) stands
	values map[string]Place // where its value begins; headers have none
	twice  []string         // keys that are given a value although they stand before, which the decoder may overlook
	again  []Place          // where they are given it
	lines  []int            // offset of the first byte of each line
	text   string
}

// join appends a step to a path.
func join(path, step string) string { return path + "\x00" + step }

// element appends an element's number to a path.
func element(path string, i int) string { return join(path, strconv.Itoa(i)) }

// newIndex scans a document that the decoder has accepted. For any other text
// the places mean nothing, but it ends and does not panic.
func newIndex(text string) *index {
	x := &index{keys: map[string]Place{}, values: map[string]Place{}, text: text, lines: []int{0}}
	for i := range len(text) {
		if text[i] == '\n' {
			x.lines = append(x.lines, i+1)
		}
	}
	s := scanner{x: x, s: text, arrays: map[string]int{}}
	s.document()
	return x
}

// place turns an offset in bytes into line and column in characters.
func (x *index) place(offset int) Place {
	offset = max(0, min(offset, len(x.text)))
	low, high := 0, len(x.lines)
	for high-low > 1 {
		if mid := (low + high) / 2; x.lines[mid] <= offset {
			low = mid
		} else {
			high = mid
		}
	}
	line := x.text[x.lines[low]:offset]
	if low == 0 {
		line = strings.TrimPrefix(line, "\ufeff")
	}
	return Place{Line: low + 1, Column: utf8.RuneCountInString(line) + 1}
}

// key returns the place of a key; value that of its value, or of the key.
func (x *index) key(path string) Place {
	for {
		if p, ok := x.keys[path]; ok {
			return p
		}
		cut := strings.LastIndexByte(path, 0)
		if cut <= 0 {
			return Place{Line: 1, Column: 1}
		}
		path = path[:cut]
	}
}

func (x *index) value(path string) Place {
	if p, ok := x.values[path]; ok {
		return p
	}
	return x.key(path)
}

// scanner walks a document once from left to right.
type scanner struct {
	x      *index
	s      string
	i      int
	arrays map[string]int // number of elements of each array of tables so far
}

// peek returns the byte at the place of reading, 0 at the end.
func (s *scanner) peek() byte {
	if s.i < len(s.s) {
		return s.s[s.i]
	}
	return 0
}

// blanks skips what stands between two words; lines says whether ends of lines
// and comments count.
func (s *scanner) blanks(lines bool) {
	for s.i < len(s.s) {
		switch c := s.s[s.i]; {
		case c == ' ' || c == '\t' || c == '\r':
			s.i++
		case lines && c == '\n':
			s.i++
		case lines && c == '#':
			s.rest()
		default:
			return
		}
	}
}

// rest skips to the end of the line.
func (s *scanner) rest() {
	if n := strings.IndexByte(s.s[s.i:], '\n'); n >= 0 {
		s.i += n
	} else {
		s.i = len(s.s)
	}
}

func (s *scanner) document() {
	if strings.HasPrefix(s.s, "\ufeff") {
		s.i = len("\ufeff")
	}
	table := ""
	for {
		s.blanks(true)
		if s.i >= len(s.s) {
			return
		}
		start := s.i
		if s.peek() == '[' {
			table = s.header()
			continue
		}
		s.pair(table)
		if s.i == start { // text that no decoder accepts
			s.i++
		}
	}
}

// header reads "[a.b]" or "[[a.b]]" and returns the path of its table.
func (s *scanner) header() string {
	start := s.i
	s.i++
	many := s.peek() == '['
	if many {
		s.i++
	}
	parts := s.dotted()
	path := ""
	for n, p := range parts {
		path = join(path, p.name)
		if count, ok := s.arrays[path]; ok && (n < len(parts)-1 || !many) {
			path = element(path, count-1)
		}
		if _, ok := s.x.keys[path]; !ok {
			s.x.keys[path] = s.x.place(start)
		}
	}
	if many && path != "" {
		s.arrays[path]++
		path = element(path, s.arrays[path]-1)
	}
	s.x.keys[path] = s.x.place(start)
	s.rest()
	return path
}

// part is one name of a dotted key and where it stands.
type part struct {
	name  string
	start int
}

// dotted reads a key: names, bare or quoted, with dots between.
func (s *scanner) dotted() []part {
	var parts []part
	for {
		s.blanks(false)
		start := s.i
		var name string
		switch s.peek() {
		case '"', '\'':
			name = s.quoted()
		default:
			for s.i < len(s.s) && bare(s.s[s.i]) {
				s.i++
			}
			name = s.s[start:s.i]
		}
		if s.i == start {
			return parts
		}
		parts = append(parts, part{name, start})
		s.blanks(false)
		if s.peek() != '.' {
			return parts
		}
		s.i++
	}
}

func bare(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_'
}

// pair reads "key = value".
func (s *scanner) pair(path string) {
	parts := s.dotted()
	for n, p := range parts {
		path = join(path, p.name)
		if _, ok := s.x.keys[path]; !ok {
			s.x.keys[path] = s.x.place(p.start)
		} else if n == len(parts)-1 {
			s.x.twice, s.x.again = append(s.x.twice, path), append(s.x.again, s.x.place(p.start))
		}
	}
	s.blanks(false)
	if s.peek() != '=' {
		s.rest()
		return
	}
	s.i++
	s.blanks(false)
	s.item(path)
}

// item reads one value and the places of what is inside it.
func (s *scanner) item(path string) {
	s.x.values[path] = s.x.place(s.i)
	switch s.peek() {
	case '"', '\'':
		s.quoted()
	case '{':
		s.inside('}', func(int) { s.pair(path) })
	case '[':
		s.inside(']', func(n int) {
			inner := element(path, n)
			s.x.keys[inner] = s.x.place(s.i)
			s.item(inner)
		})
	default:
		for s.i < len(s.s) && !strings.ContainsRune(",]}#\r\n", rune(s.s[s.i])) {
			s.i++
		}
	}
}

// inside reads what stands between two brackets, with commas between.
func (s *scanner) inside(end byte, one func(n int)) {
	s.i++
	for n := 0; ; n++ {
		s.blanks(true)
		start := s.i
		if s.i >= len(s.s) {
			return
		}
		if s.peek() == end {
			s.i++
			return
		}
		one(n)
		s.blanks(true)
		if s.peek() == ',' {
			s.i++
		} else if s.i == start { // text that no decoder accepts
			s.i++
		}
	}
}
