package config

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// kind says how the value of a key is written.
type kind uint8

const (
	text        kind = iota // any printable words
	label                   // a name: letters, digits, hyphen, underscore
	ref                     // the name of something defined elsewhere in the file
	choice                  // one of a list
	truth                   // true or false
	whole                   // a whole number
	temperature             // with °C or °F
	difference              // of temperatures, with K or F
	length
	area
	power
	share
	flow
	mass
	size
	changes1h // air changes an hour
	span      // a duration
	date
)

// written says for each kind what its values look like.
var written = [...]string{
	text: "words", label: "name", ref: "name", choice: "choice", truth: "true or false", whole: "whole number",
	temperature: "temperature in C or F", difference: "temperature difference in K or F",
	length: "length in mm, cm, m or in", area: "area in cm2 or in2", power: "power in W", share: "percent",
	flow: "flow in L/h", mass: "mass in g, kg or lb", size: "size in kB, MB or GB", changes1h: "air changes, /h",
	span: "duration in s, m, h or d", date: "date, year-month-day",
}

// field is one key of a table: what it is called, how it is written, what it
// means, and where its value goes.
type field struct {
	name    string
	kind    kind
	to      any    // pointer to the setting
	need    bool   // must be written
	preset  string // taken when the key is not written; empty leaves the setting alone
	least   string // bounds, both included, as written in a file
	most    string
	choices []string
	example string // for the reference
	meaning string
	or      string // for the reference: what holds when the key is not written
	quiet   bool   // for the reference: shown as a comment, because it excludes another
}

var labelPattern = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]{0,31}$`)

// accept puts a value of the decoded file where it goes. The error says what
// is wrong and what to write, without the name of the key.
func (f *field) accept(v any) error {
	switch f.kind {
	case truth:
		b, ok := v.(bool)
		if !ok {
			return fmt.Errorf("%s is not true or false: write one of the two, without quotation marks", show(v))
		}
		*f.to.(*bool) = b
		return nil
	case whole:
		n, ok := v.(int64)
		if !ok {
			return fmt.Errorf("%s is no whole number: write one such as %s, without quotation marks", show(v), f.example)
		}
		return f.number(float64(n), show(v), func() {
			switch to := f.to.(type) {
			case *int:
				*to = int(n)
			case *uint16:
				*to = uint16(n)
			}
		})
	case date:
		t, ok := v.(time.Time)
		if !ok || t.Location().String() != "date-local" {
			return fmt.Errorf("%s is no date: write the day such as %s, without quotation marks", show(v), f.example)
		}
		*f.to.(*time.Time) = time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
		return nil
	}
	s, ok := v.(string)
	if !ok {
		return f.notText(v)
	}
	return f.acceptText(s)
}

// notText says what to write instead of a value that needs quotation marks.
func (f *field) notText(v any) error {
	switch n, isNumber := asNumber(v); {
	case f.kind == temperature && isNumber:
		return fmt.Errorf("%s has no unit: write %s", show(v), withUnit(n))
	case f.kind == difference && isNumber:
		return fmt.Errorf("%s has no unit: write \"%sF\" or \"%sK\"", show(v), show(v), show(v))
	case isNumber && f.kind >= temperature:
		return fmt.Errorf("%s has no unit: write a %s such as %q", show(v), written[f.kind], f.example)
	}
	return fmt.Errorf("%s is no text: write it in quotation marks, such as %q", show(v), f.example)
}

func asNumber(v any) (float64, bool) {
	switch v := v.(type) {
	case int64:
		return float64(v), true
	case float64:
		return v, !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	return 0, false
}

// show writes a value of the file for a message, in short.
func show(v any) string {
	var s string
	switch v := v.(type) {
	case string:
		s = strconv.Quote(v)
	case float64:
		s = strconv.FormatFloat(v, 'g', -1, 64)
	case time.Time:
		s = v.Format("2006-01-02 15:04:05")
	case map[string]any:
		return "a table"
	case []any, []map[string]any:
		return "a list"
	default:
		s = fmt.Sprint(v)
	}
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60]) + "…"
	}
	return s
}

func (f *field) acceptText(s string) error {
	switch f.kind {
	case text:
		if r := []rune(s); len(r) > 200 {
			return fmt.Errorf("is %d characters long: write at most 200", len(r))
		}
		if i := strings.IndexFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' }); i >= 0 {
			return fmt.Errorf("%s has a control character in it: write plain words on one line", show(s))
		}
		*f.to.(*string) = s
		return nil
	case label, ref:
		// Taken even when it is none, so that what names it does not become a
		// second mistake: a file with a mistake gives no settings.
		*f.to.(*string) = s
		if !labelPattern.MatchString(s) {
			return fmt.Errorf("%s is no name: write a letter and then letters, digits, hyphens or underscores, at most 32 in all", show(s))
		}
		return nil
	case choice:
		if !slices.Contains(f.choices, s) {
			return fmt.Errorf("%s is not known here: write %s", show(s), oneOf(f.choices))
		}
		switch to := f.to.(type) {
		case *string:
			*to = s
		case interface{ choose(string) }:
			to.choose(s)
		}
		return nil
	}
	v, err := f.kind.read(s)
	if err != nil {
		return err
	}
	return f.number(v.base, show(s), func() {
		switch to := f.to.(type) {
		case *physic.Temperature:
			*to = physic.Temperature(v.exact)
		case *controller.Difference:
			*to = controller.Difference(v.exact)
		case *time.Duration:
			*to = time.Duration(v.exact)
		case *int64:
			*to = int64(math.Round(v.base))
		case *float64:
			*to = v.base
		}
	})
}

// number checks the bounds and then lets the value in.
func (f *field) number(v float64, as string, in func()) error {
	for _, b := range []struct {
		limit string
		sign  float64
		word  string
	}{{f.least, 1, "under the least"}, {f.most, -1, "over the most"}} {
		if b.limit == "" {
			continue
		}
		if limit := f.bound(b.limit); (v-limit)*b.sign < 0 {
			return fmt.Errorf("%s is %s that is allowed, %s: %s", as, b.word, b.limit, f.between())
		}
	}
	in()
	return nil
}

// bound reads a bound of the schema, in the base unit.
func (f *field) bound(s string) float64 {
	if f.kind == whole {
		n, err := strconv.ParseInt(s, 0, 64)
		must(err == nil, "bound of "+f.name)
		return float64(n)
	}
	v, err := f.kind.read(s)
	must(err == nil, "bound of "+f.name)
	return v.base
}

func (f *field) between() string {
	switch {
	case f.least != "" && f.most != "":
		return "write " + f.least + " to " + f.most
	case f.least != "":
		return "write " + f.least + " or more"
	default:
		return "write " + f.most + " or less"
	}
}

// quantity is a number in the base unit of its kind, and for those kinds that
// have an integer type the same exactly.
type quantity struct {
	base  float64
	exact int64
}

func (k kind) read(s string) (quantity, error) {
	switch k {
	case temperature:
		t, err := ParseTemperature(s)
		return quantity{float64(t), int64(t)}, err
	case difference:
		d, err := ParseDifference(s)
		return quantity{float64(d), int64(d)}, err
	case span:
		d, err := ParseDuration(s)
		return quantity{float64(d), int64(d)}, err
	}
	u := map[kind]units{
		length: lengths, area: areas, power: powers, share: shares, flow: flows, mass: masses, size: sizes, changes1h: changes,
	}[k]
	v, err := u.parse(s)
	return quantity{base: v}, err
}

func oneOf(list []string) string {
	quoted := make([]string, len(list))
	for i, s := range list {
		quoted[i] = strconv.Quote(s)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return strings.Join(quoted[:len(quoted)-1], ", ") + " or " + quoted[len(quoted)-1]
}

// must stops the program when the schema contradicts itself.
func must(ok bool, what string) {
	if !ok {
		panic("config: " + what)
	}
}
