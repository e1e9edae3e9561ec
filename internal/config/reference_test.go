package config

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the files that these tests compare with")

// section is one table of the schema.
type section struct {
	header  string // as written, empty for the top of the file
	meaning string
	fields  []field
}

// schema is every table and key that the code knows.
func schema() []section {
	var line rawLine
	return []section{
		{"", "The bench.", (&Config{}).fields()},
		{"[board]", "The single-board computer.", (&Board{}).fields()},
		{"[journal]", "The record.", (&Journal{}).fields()},
		{"[page]", "The page.", (&Page{}).fields()},
		{"[notify]", "How a person is reached.", (&Notify{}).fields()},
		{"[[notify.webhook]]", "A receiver of alarms; as many as you like.", (&Webhook{}).fields()},
		{"[heartbeat]", "The sign of life.", (&Heartbeat{}).fields()},
		{"[watchdog]", "The hardware watchdog.", (&Watchdog{}).fields()},
		{"[[bus]]", "A 1-Wire bus.", (&Bus{}).fields()},
		{"[[relay]]", "A relay that heats or moves air.", (&Relay{}).fields(&line)},
		{"[[output]]", "Another output: buzzer, lamp, heartbeat.", (&Output{}).fields(&line)},
		{"[[input]]", "An input.", (&Input{}).fields(&line)},
		{"[[station]]", "A station: a tub or a chamber.", (&Station{}).fields(&rawStation{})},
		{"[station.tub]", "Tub: the box, the water and the pad.", (&Tub{}).fields(&rawTub{})},
		{"[station.chamber]", "Chamber: the cabinet and its heater.", (&Chamber{}).fields()},
		{"[[station.piece]]", "Chamber: a piece of furnishing.", (&Piece{}).fields()},
		{"[[station.probe]]", "A probe of the station above.", (&Probe{}).fields(&rawProbe{})},
	}
}

const referenceTop = `# Every key of a configuration, with its meaning, how it is written, what holds
# when it is left out, and its bounds. This file describes nothing real: its
# lines show how a key looks, and those that do not go together are comments.
#
# Unknown keys are mistakes. A temperature has a unit ("85F", "29.4 °C"), and so
# has a difference of temperatures ("0.5F", "0.28K"), a length, a power and a
# duration. "soakwarden check FILE" lists every mistake with line and column.
`

// reference writes configs/reference.toml from the schema.
func reference() string {
	var b strings.Builder
	b.WriteString(referenceTop)
	for _, s := range schema() {
		fmt.Fprintf(&b, "\n# ---- %s\n", s.meaning)
		chamber := s.header == "[station.chamber]" || s.header == "[[station.piece]]"
		if s.header != "" {
			fmt.Fprintf(&b, "%s%s\n", comment(chamber), s.header)
		}
		for _, f := range s.fields {
			fmt.Fprintf(&b, "\n# %s\n# %s\n%s%s = %s\n", f.meaning, f.facts(), comment(chamber || f.quiet), f.name, f.literal())
		}
		b.WriteString(referenceMore[s.header])
	}
	return b.String()
}

func comment(yes bool) string {
	if yes {
		return "#! "
	}
	return ""
}

// facts is the line about writing, default and bounds.
func (f *field) facts() string {
	facts := []string{written[f.kind]}
	if f.kind == choice {
		facts[0] = "one of " + oneOf(f.choices)
	}
	switch {
	case f.need:
		facts = append(facts, "must be written")
	case f.preset != "":
		facts = append(facts, "default "+f.preset)
	default:
		facts = append(facts, "without it: "+f.or)
	}
	if f.least != "" && f.most != "" {
		facts = append(facts, "from "+f.least+" to "+f.most)
	} else if f.least != "" {
		facts = append(facts, "from "+f.least)
	} else if f.most != "" {
		facts = append(facts, "up to "+f.most)
	}
	return strings.Join(facts, "; ")
}

// referenceMore is what the example needs beside one entry of each kind, so
// that it is a whole and sound configuration.
var referenceMore = map[string]string{
	"[[relay]]": `
[[relay]]
name = "series-north"
pin = "GPIO6"
on_when = "low"
`,
	"[[output]]": `
[[output]]
name = "lamp"
pin = "GPIO22"
on_when = "high"

[[output]]
name = "heartbeat"
pin = "GPIO27"
on_when = "high"
`,
	"[[input]]": `
[[input]]
name = "pad-north-seen"
pin = "GPIO12"
active_when = "low"

[[input]]
name = "series-north-seen"
pin = "GPIO13"
active_when = "low"
`,
	"[[station.probe]]": `
[[station.probe]]
role = "guard"
bus = "header"
rom = "28-0316a2796b21"
height = "45mm"
offset = "-0.06K"
calibrated = 2026-03-01
`,
}

func TestReferenceHoldsEveryKey(t *testing.T) {
	path := filepath.Join("..", "..", "configs", "reference.toml")
	want := reference()
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got := example(t, "reference.toml")
	if got != want {
		t.Errorf("configs/reference.toml is not what the code says: run go test ./internal/config -run Reference -update and read the difference")
	}

	// Both ways, without the generator: every key of the file is one that the
	// code knows in that table, and every key of the code stands in the file.
	known := map[string]bool{}
	for _, s := range schema() {
		for _, f := range s.fields {
			if known[s.header+f.name] {
				t.Errorf("%s %s is twice in the schema", s.header, f.name)
			}
			known[s.header+f.name] = false
		}
	}
	header := ""
	keyLine := regexp.MustCompile(`^(?:#! )?([a-z0-9_]+) = `)
	headerLine := regexp.MustCompile(`^(?:#! )?(\[.*\])$`)
	for n, line := range strings.Split(got, "\n") {
		if m := headerLine.FindStringSubmatch(line); m != nil {
			header = m[1]
		} else if m := keyLine.FindStringSubmatch(line); m != nil {
			if _, ok := known[header+m[1]]; !ok {
				t.Errorf("line %d: the code knows no key %s in %s", n+1, m[1], header)
			}
			known[header+m[1]] = true
		}
	}
	for key, found := range known {
		if !found {
			t.Errorf("the reference lacks %s", key)
		}
	}
}

// The parser must really take every key that the schema lists, and refuse what
// lies outside the bounds that the reference prints.
func TestBoundsOfTheReferenceHold(t *testing.T) {
	for _, s := range schema() {
		for _, f := range s.fields {
			if f.meaning == "" || f.example == "" || !f.need && f.preset == "" && f.or == "" {
				t.Errorf("%s %s: no meaning, example or default", s.header, f.name)
			}
			if f.kind == date {
				continue
			}
			probe := f
			probe.preset = f.example
			if err := probe.acceptPreset(); err != nil {
				t.Errorf("%s %s: example: %v", s.header, f.name, err)
			}
			for _, bound := range []string{f.least, f.most} {
				if bound == "" {
					continue
				}
				probe.preset = bound
				if f.kind == whole {
					probe.preset = fmt.Sprint(int64(f.bound(bound)))
				}
				if err := probe.acceptPreset(); err != nil {
					t.Errorf("%s %s: bound %s: %v", s.header, f.name, bound, err)
				}
			}
			if f.kind == whole || f.kind == choice || f.least == "" {
				continue
			}
			v, err := f.kind.read(f.least)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.number(v.base-1e-3, "x", func() { t.Errorf("%s %s: under the least, let in", s.header, f.name) }); err == nil {
				t.Errorf("%s %s: under the least, no error", s.header, f.name)
			}
		}
	}
}
