package assess

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/big"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"periph.io/x/conn/v3/physic"
)

// maxLog is the largest log that is read: two weeks of a reading a second of
// sixteen probes have half of it.
const maxLog = 512 << 20

// column is one probe of a log.
type column struct {
	index int
	name  string
	unit  byte // 'C' or 'F'
}

// row is one row of a log. Values stand in the order of the columns.
type row struct {
	line   int
	at     time.Time
	values []value
}

// value is one cell: missing, or a temperature.
type value struct {
	known bool
	t     physic.Temperature
}

// lineError is what is wrong with one line.
func lineError(line int, format string, args ...any) error {
	return fmt.Errorf("line %d: "+format, append([]any{line}, args...)...)
}

// reader reads a log.
type reader struct {
	csv     *csv.Reader
	comma   bool // numbers may have a decimal comma
	fields  int
	named   int // fields before the empty ones that a delimiter at the end of each line makes
	columns []column
	skipped int // lines before the header
}

// open reads the header.
func open(r io.Reader, q *Question) (*reader, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxLog+1))
	switch {
	case err != nil:
		return nil, err
	case len(data) > maxLog:
		return nil, fmt.Errorf("the log has more than %d MB: cut out the treatment", maxLog>>20)
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return nil, errors.New("line 1: the log is UTF-16: save it as UTF-8")
	case bytes.IndexByte(data, 0) >= 0:
		return nil, lineError(1+bytes.Count(data[:bytes.IndexByte(data, 0)], []byte("\n")), "a zero byte stands here: the file was cut off, or is no text")
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	skipped := 0
	for len(data) > 0 {
		line, rest, _ := bytes.Cut(data, []byte("\n"))
		if text := bytes.TrimSpace(line); len(text) != 0 && text[0] != '#' {
			break
		}
		data, skipped = rest, skipped+1
	}
	if bytes.IndexByte(data, '\n') < 0 {
		// Lines that end with a carriage return alone.
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	if len(data) == 0 {
		return nil, errors.New("line 1: the log is empty: write a header such as time,core [C]")
	}
	l := &reader{csv: csv.NewReader(bufio.NewReader(bytes.NewReader(data))), skipped: skipped}
	header, _, _ := bytes.Cut(data, []byte("\n"))
	l.csv.Comma = delimiter(string(header))
	l.comma = l.csv.Comma != ','
	l.csv.FieldsPerRecord, l.csv.ReuseRecord = -1, true
	return l, l.header(q)
}

// delimiter is the one of comma, semicolon and tab that the header has most of.
func delimiter(header string) rune {
	best, most := ',', strings.Count(header, ",")
	for _, d := range []rune{';', '\t'} {
		if n := strings.Count(header, string(d)); n > most {
			best, most = d, n
		}
	}
	return best
}

// next gives the fields of the next row and its line.
func (l *reader) next() ([]string, int, error) {
	fields, err := l.csv.Read()
	if err != nil {
		var p *csv.ParseError
		if errors.As(err, &p) {
			return nil, 0, lineError(p.Line+l.skipped, "column %d: %v", p.Column, p.Err)
		}
		return nil, 0, err
	}
	line, _ := l.csv.FieldPos(0)
	return fields, line + l.skipped, nil
}

var unitPattern = regexp.MustCompile(`^(.*?)\s*[\[(]\s*(?:°|º|deg\s*)?\s*([^\])]*?)\s*[\])]\s*$`)

func (l *reader) header(q *Question) error {
	fields, line, err := l.next()
	if err != nil {
		return err
	}
	l.fields, l.named = len(fields), len(fields)
	for l.named > 1 && strings.TrimSpace(fields[l.named-1]) == "" {
		l.named--
	}
	fields = fields[:l.named]
	if l.named < 2 {
		return lineError(line, "the header %q has one column: write a time and at least one probe, such as time,core [C]", clip(fields[0]))
	}
	if _, err := moment(fields[0]); err == nil {
		return lineError(line, "there is no header: write one such as time,core [C] over the first row")
	}
	wanted := map[string]bool{}
	for _, name := range q.Columns {
		wanted[name] = false
	}
	seen := map[string]bool{}
	for i, text := range fields[1:] {
		text = strings.TrimSpace(text)
		if !utf8.ValidString(text) {
			return lineError(line, "column %d is not UTF-8: save the log as UTF-8", i+2)
		}
		c := column{index: i + 1, name: text}
		unit := ""
		if m := unitPattern.FindStringSubmatch(text); m != nil {
			c.name, unit = m[1], strings.ToUpper(m[2])
		}
		if len(q.Columns) > 0 {
			if _, ok := wanted[c.name]; !ok {
				continue
			}
			wanted[c.name] = true
		}
		switch {
		case c.name == "":
			return lineError(line, "column %d has no name: write one such as core [C]", c.index+1)
		case seen[c.name]:
			return lineError(line, "two columns are called %q: give each probe its own name", clip(c.name))
		case unit == "" && q.Unit == "":
			return lineError(line, "column %q has no unit: write %s [C] or %s [F], or say it with --unit C", clip(c.name), clip(c.name), clip(c.name))
		case unit == "":
			unit = q.Unit
		}
		unit = strings.NewReplacer("℃", "C", "℉", "F", "CELSIUS", "C", "FAHRENHEIT", "F").Replace(unit)
		if unit != "C" && unit != "F" {
			return lineError(line, "column %q has the unit %q: write C or F, or choose the columns of probes with --column", clip(c.name), clip(unit))
		}
		c.unit, seen[c.name] = unit[0], true
		l.columns = append(l.columns, c)
	}
	for _, name := range q.Columns {
		if !wanted[name] {
			return lineError(line, "there is no column %q", clip(name))
		}
	}
	return nil
}

// read gives the next row, io.EOF after the last.
func (l *reader) read() (row, error) {
	fields, line, err := l.next()
	if err != nil {
		return row{}, err
	}
	if len(fields) != l.fields {
		hint := ""
		if !l.comma && len(fields) > l.fields {
			hint = "; numbers with a decimal comma need columns with semicolons between"
		}
		return row{}, lineError(line, "%d columns, the header has %d: the row is torn%s", len(fields), l.fields, hint)
	}
	r := row{line: line, values: make([]value, len(l.columns))}
	if r.at, err = moment(fields[0]); err != nil {
		return row{}, lineError(line, "%w", err)
	}
	for i := l.named; i < l.fields; i++ {
		if strings.TrimSpace(fields[i]) != "" {
			return row{}, lineError(line, "column %d has a value and no name in the header", i+1)
		}
	}
	for i, c := range l.columns {
		if r.values[i], err = l.cell(fields[c.index], c.unit); err != nil {
			return row{}, lineError(line, "%s: %w", c.name, err)
		}
	}
	return r, nil
}

// moment reads an RFC 3339 time; a space may stand in the place of the T.
func moment(text string) (time.Time, error) {
	text = strings.TrimSpace(text)
	written := text
	if len(text) > 10 && text[10] == ' ' {
		text = text[:10] + "T" + text[11:]
	}
	t, err := time.Parse(time.RFC3339, strings.ToUpper(text))
	if err == nil {
		return t, nil
	}
	if _, zoneless := time.Parse("2006-01-02T15:04:05", text); zoneless == nil {
		return t, fmt.Errorf("time %q has no zone: write it such as %sZ or %s+01:00", clip(written), text, text)
	}
	return t, fmt.Errorf("%q is no time: write it by RFC 3339, such as 2025-11-03T17:00:00Z", clip(written))
}

var numberPattern = regexp.MustCompile(`^[+-]?([0-9]{1,20}(\.[0-9]{0,40})?|\.[0-9]{1,40})(e[+-]?[0-9]{1,2})?$`)

// missing are the words that instruments write for no reading.
var missing = map[string]bool{"": true, "-": true, "--": true, "---": true, "nan": true, "null": true, "n/a": true, "na": true, "none": true}

// cell reads one temperature, exactly.
func (l *reader) cell(text string, unit byte) (value, error) {
	short := strings.ToLower(strings.TrimSpace(text))
	if missing[short] {
		return value{}, nil
	}
	short = strings.Replace(short, "−", "-", 1)
	if l.comma || !strings.Contains(short, ".") {
		// Between commas only quotes bring a comma into a cell.
		short = strings.Replace(short, ",", ".", 1)
	}
	n, ok := new(big.Rat), numberPattern.MatchString(short)
	if ok {
		_, ok = n.SetString(short)
	}
	if !ok {
		return value{}, fmt.Errorf("%q is no number", clip(text))
	}
	if unit == 'F' {
		n.Sub(n, big.NewRat(32, 1))
		n.Mul(n, big.NewRat(5, 9))
	}
	n.Mul(n, big.NewRat(1e9, 1))
	// To the nearest nanokelvin; what does not fit is far out of any range.
	half := big.NewRat(1, 2)
	if n.Sign() < 0 {
		half.Neg(half)
	}
	n.Add(n, half)
	nano := new(big.Int).Quo(n.Num(), n.Denom())
	if !nano.IsInt64() || nano.Int64() > 1e15 || nano.Int64() < -1e15 {
		return value{known: true, t: -1}, nil
	}
	return value{known: true, t: physic.ZeroCelsius + physic.Temperature(nano.Int64())}, nil
}

// clip keeps a message in one line.
func clip(s string) string {
	r := []rune(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?")))
	if len(r) > 40 {
		r = append(r[:40], '…')
	}
	return string(r)
}
