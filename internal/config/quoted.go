package config

import (
	"strconv"
	"strings"
)

// quoted reads a string of any of the four kinds and returns its text.
func (s *scanner) quoted() string {
	quote := s.s[s.i : s.i+1]
	literal := quote == "'"
	long := strings.HasPrefix(s.s[s.i:], strings.Repeat(quote, 3))
	if long {
		s.i += 3
	} else {
		s.i++
	}
	var text strings.Builder
	for s.i < len(s.s) {
		c := s.s[s.i]
		switch {
		case c == '\\' && !literal:
			s.escape(&text)
		case long && strings.HasPrefix(s.s[s.i:], strings.Repeat(quote, 3)):
			// Up to two more quotation marks belong to the text.
			for n := 0; n < 2 && strings.HasPrefix(s.s[s.i+3:], quote); n++ {
				s.i++
				text.WriteString(quote)
			}
			s.i += 3
			return text.String()
		case !long && c == quote[0]:
			s.i++
			return text.String()
		case !long && c == '\n': // text that no decoder accepts
			return text.String()
		default:
			text.WriteByte(c)
			s.i++
		}
	}
	return text.String()
}

// escape reads one escape of a basic string. Those that join lines matter to
// nobody here, because a key cannot hold them.
func (s *scanner) escape(text *strings.Builder) {
	s.i++
	length := map[byte]int{'u': 4, 'U': 8, 'x': 2}[s.peek()]
	if length > 0 && s.i+1+length <= len(s.s) {
		if n, err := strconv.ParseUint(s.s[s.i+1:s.i+1+length], 16, 32); err == nil {
			text.WriteRune(rune(n))
			s.i += 1 + length
			return
		}
	}
	switch c := s.peek(); c {
	case 0:
		return
	case 'b', 't', 'n', 'f', 'r', 'e':
		text.WriteString(map[byte]string{'b': "\b", 't': "\t", 'n': "\n", 'f': "\f", 'r': "\r", 'e': "\x1b"}[c])
	default:
		text.WriteByte(c)
	}
	s.i++
}
