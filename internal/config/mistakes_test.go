package config

import (
	"fmt"
	"strings"
	"testing"
)

// twelve is a file with twelve different mistakes, each marked where it is
// reported with the marks « and ». The marks are taken out before parsing.
const twelve = `name = "bench é"
invented = true

[journal]
«paht» = "/var/lib/soakwarden/journal.db"
path = «7»

[[bus]]
name = "header"
kind = "simulated"

[[relay]]
name = "pad"
pin = "GPIO5"
on_when = "low"

[[relay]]
name = "series"
pin = «"GPIO5"»
on_when = "low"

[[station]]
name = "north"
kind = "tub"
species = «"dragon"»
set_point = «85F»
differential = «0.5»
cutoff = «"36C"»
pad_relay = "pad"
series_relay = «"sreies"»
room_coldest = «"16"»
room_warmest = "27C"
tub = { "length" = "400mm", width = "280mm", depth = «"200mm"», pad = "20W", lid = true }

  [[station.probe]]
  role = "control"
  bus = "header"
  rom = "28-0316a2795cff"
  offset = "+0.12K"

  [[station.probe]]
  role = "guard"
  bus = «"haeder"»
  rom = «"28-0316a2795cff"»
  offset = "+0.12K"
`

// marked takes the marks out of a text and returns the places of the first of
// each pair, in order.
func marked(text string) (string, []Place) {
	var places []Place
	line, column := 1, 1
	var b strings.Builder
	for _, c := range text {
		switch c {
		case '«':
			places = append(places, Place{line, column})
			continue
		case '»':
			continue
		case '\n':
			line, column = line+1, 0
		}
		column++
		b.WriteRune(c)
	}
	return b.String(), places
}

func TestTwelveMistakesAreTwelveProblems(t *testing.T) {
	text, places := marked(twelve)
	if len(places) != 12 {
		t.Fatalf("the text has %d marks", len(places))
	}
	cfg, problems := Parse("twelve.toml", []byte(text))
	if cfg != nil {
		t.Error("the settings were let out")
	}
	var errors []Problem
	for _, p := range problems {
		if p.Severity == Error {
			errors = append(errors, p)
		}
	}
	for i, want := range []string{
		"there is no key \"paht\" here: write path",
		"7 is no text: write it in quotation marks",
		"GPIO5 of /dev/gpiochip0 is already taken by relay \"pad\"",
		"\"dragon\" is not known here: write \"python\"",
		"write it in quotation marks, set_point = \"85F\"",
		"0.5 has no unit: write \"0.5F\" or \"0.5K\"",
		"cutoff 36 °C (96.8 °F) is over 34 °C",
		"the relay \"sreies\", which is not in the file",
		"\"16\" has no unit: write \"16C\" or \"60.8F\"",
		"\"200mm\" is over the most that is allowed, 150mm: write 10mm to 150mm",
		"bus names \"haeder\", which is not in the file",
		"is already that of station \"north\": probe number 1",
	} {
		if i >= len(errors) {
			t.Errorf("missing: %v %s", places[i], want)
			continue
		}
		p := errors[i]
		if (Place{p.Line, p.Column}) != places[i] || !strings.Contains(p.Message, want) {
			t.Errorf("mistake %d:\ngot  %d:%d %s\nwant %d:%d %s", i+1, p.Line, p.Column, p.Message, places[i].Line, places[i].Column, want)
		}
	}
	if len(errors) != 12 {
		t.Errorf("%d errors:\n%s", len(errors), listed(problems))
	}
}

// Each case changes the example by one replacement and expects exactly one
// more problem, at the place of the mark.
var mistakes = []struct {
	old, text string // replaces the first old in configs/tub.toml
	severity  Severity
	want      string
}{
	{`set_point = "85F"`, `set_point = «85»`, Error, `85 has no unit: write "85F" or "29.4C"`},
	{`set_point = "85F"`, `set_point = «"85"»`, Error, `"85" has no unit: write "85F" or "29.4C"`},
	{`set_point = "85F"`, `set_point = «"29,4C"»`, Error, `has a decimal comma, write a point`},
	{`set_point = "85F"`, `set_point = «"85 K"»`, Error, `has the unit "K": write °C or °F`},
	{`set_point = "85F"`, `set_point = «"-500C"»`, Error, `below the absolute zero`},
	{`set_point = "85F"`, `set_point = «"85C"»`, Error, `is over 32.2 °C (90 °F), the most for any animal`},
	{`set_point = "85F"`, `set_point = «"15C"»`, Error, `too cold for a soak`},
	{`species = "python"`, `species = "other"`, Advice, ``},
	{`differential = "0.5F"`, `differential = «"0.1K"»`, Error, `under the least that is allowed, 0.2K`},
	{`differential = "0.5F"`, `differential = «"2K"»`, Error, `too coarse for an animal`},
	{`too_cold = "80F"`, `too_cold = «"84.9F"»`, Error, `is so near the set point`},
	{`cutoff = "89F"`, `cutoff = «"86F"»`, Error, `less than 1.2 K over the set point`},
	{`cutoff = "89F"`, `cutoff = «"34.1C"»`, Error, `is over 34 °C (93.2 °F), the most for any animal`},
	{`cutout = "35C"`, `cutout = «"40C"»`, Error, `opens too late for an animal`},
	{`cutout = "35C"`, `cutout = «"30C"»`, Error, `would open in normal use`},
	{`cutout = "35C"`, `ramp = «"5K"»`, Error, `too quick for an animal`},
	{`room_coldest = "16C"`, `room_coldest = «"30C"»`, Error, `is over room_warmest`},
	{`room_warmest = "27C"`, `room_warmest = «"31C"»`, Warning, `gets warmer than the set point`},
	{`pad_relay = "pad-north"`, `pad_relay = "series-north"`, Error, `are both the relay`},
	{`cutout = "35C"`, `«fan_relay» = "pad-north"`, Error, `fan_relay belongs to a chamber`},
	{`cutout = "35C"`, `pad_feedback = «"seen"»`, Error, `names the input "seen", which is not in the file`},
	{`depth = "60mm"`, `depth = «"9mm"»`, Error, `under the least that is allowed, 10mm`},
	{`depth = "60mm"`, `depth = «60»`, Error, `60 has no unit: write a length`},
	{`depth = "60mm"`, `depth = «"60 fathoms"»`, Error, `has the unit "fathoms"`},
	{`pad = "20W"`, `pad_length = "200mm", pad = «"20W"»`, Error, `only one of pad_length and pad_width`},
	{`pad = "20W"`, `pad_width = "100mm", pad_length = «"700mm"», pad = "20W"`, Error, `is larger than the floor`},
	{`pad = "20W"`, `height = «"50mm"», pad = "20W"`, Error, `is not over the depth of the water`},
	{`lid = true`, `lid = «"yes"»`, Error, `is not true or false`},
	{`lid = true`, `«lip» = true`, Error, `there is no key "lip" here: write lid`},
	{`height = "10mm"`, `height = «"80mm"»`, Error, `is over the water`},
	{`role = "floor"`, `role = «"guard"»`, Error, `already has a probe with the role "guard"`},
	{`role = "floor"`, `role = «"core"»`, Error, `does not belong to this kind of station: write "control"`},
	{`rom = "28-0316a2795cff"`, `rom = «"28-0316a2795cfg"»`, Error, `no hexadecimal digit`},
	{`rom = "28-0316a2795cff"`, `rom = «"01-0316a2795cff"»`, Error, `no thermometer`},
	{`offset = "+0.12K"`, `offset = «"+4K"»`, Error, `over the most that is allowed, 3K`},
	{`calibrated = 2026-03-01`, `calibrated = «"2026-03-01"»`, Error, `is no date: write the day such as 2026-03-01`},
	{`calibrated = 2026-03-01`, `calibrated = «2026-03-01T10:00:00Z»`, Error, `is no date`},
	{`pin = "GPIO6"`, `pin = «"GPIO26"»`, Warning, `is pulled down at power-up, which switches this relay on`},
	{`pin = "GPIO6"`, `pin = «"GPIO4"»`, Warning, `usually the kernel's 1-Wire bus`},
	{`pin = "GPIO6"`, `pin = «"GPIO31"»`, Error, `no GPIO31`},
	{`pin = "GPIO6"`, `pin = «"six"»`, Error, `is no pin`},
	{`listen = "127.0.0.1:8460"`, `listen = «"8460"»`, Error, `is no address and port`},
	{`listen = "127.0.0.1:8460"`, "listen = \"127.0.0.1:8460\"\nsitter = «\"8461\"»", Error, `sitter "8461" is no address and port`},
	{`listen = "127.0.0.1:8460"`, "listen = \"127.0.0.1:8460\"\nsitter = «\"127.0.0.1:8460\"»", Error, `write another port for the sitter`},
	{`listen = "127.0.0.1:8460"`, `listen = «"0.0.0.0:8460"»`, Advice, `everybody in the network`},
	{`listen = "127.0.0.1:8460"`, `listen = «"192.0.2.7:8460"»`, Advice, `act there without a password`},
	{`listen = "127.0.0.1:8460"`, "listen = \"127.0.0.1:8460\"\nsitter = «\"0.0.0.0:8461\"»", Advice, `can open the sitter's page on port 8461`},
	{`name = "pad-north"`, `name = «"pad north"»`, Error, `is no name`},
	{"kind = \"kernel\"\npath = \"/sys/bus/w1/devices\"", `address = «0x1a»` + "\nkind = \"ds248x\"\ni2c = \"/dev/i2c-1\"", Error, `cannot use`},
	{`buzzer = "buzzer"`, `buzzer = «"bell"»`, Error, `names the output "bell", which is not in the file`},
	{`device = "/dev/watchdog"`, `device = «""»`, Error, `is empty`},
	{`name = "quarantine bench"`, `«name» = `, Error, `name has no value`},
	{`name = "quarantine bench"`, "name = «\"a\\tb\"»", Error, `control character`},
}

func TestOneMistakeIsOneProblemAtItsPlace(t *testing.T) {
	whole := example(t, "tub.toml")
	_, before := Parse("tub.toml", []byte(whole))
	for _, m := range mistakes {
		if !strings.Contains(whole, m.old) {
			t.Fatalf("the example has no %q", m.old)
		}
		text, places := marked(strings.Replace(whole, m.old, m.text, 1))
		_, problems := Parse("tub.toml", []byte(text))
		if m.want == "" {
			if len(problems) != len(before) {
				t.Errorf("%s:\n%s", m.text, listed(problems))
			}
			continue
		}
		found := false
		for _, p := range problems {
			if p.Severity == m.severity && strings.Contains(p.Message, m.want) {
				found = true
				if len(places) > 0 && (Place{p.Line, p.Column}) != places[0] {
					t.Errorf("%s: at %d:%d, want %d:%d", m.text, p.Line, p.Column, places[0].Line, places[0].Column)
				}
			} else if p.Severity == Error {
				t.Errorf("%s: a second mistake: %d:%d %s", m.text, p.Line, p.Column, p.Message)
			}
		}
		if !found {
			t.Errorf("%s: no %s %q in\n%s", m.text, m.severity, m.want, listed(problems))
		}
	}
}

// A pin that cannot be read is no pin, and not GPIO0: it is neither warned of
// nor taken twice.
func TestUnreadablePinsAreNotGPIO0(t *testing.T) {
	text := strings.NewReplacer(`"GPIO5"`, `"five"`, `"GPIO6"`, `"six"`, `on_when = "low"`, `on_when = "high"`).Replace(example(t, "tub.toml"))
	_, problems := Parse("", []byte(text))
	found := 0
	for _, p := range problems {
		if strings.Contains(p.Message, "GPIO0") {
			t.Errorf("%+v", p)
		}
		if strings.Contains(p.Message, "is no pin") {
			found++
		}
	}
	if found != 2 {
		t.Errorf("%d pins are told to be none, want 2:\n%s", found, listed(problems))
	}
}

func TestUnattendedAnimalNeedsMore(t *testing.T) {
	whole := example(t, "tub.toml")
	guard := whole[strings.Index(whole, "  # At the lowest level"):strings.LastIndex(whole, "  [[station.probe]]")]
	uncalibrated := whole
	for _, key := range []string{"offset", "uncertainty", "calibrated", "method", "due"} {
		var kept []string
		for _, line := range strings.Split(uncalibrated, "\n") {
			if !strings.HasPrefix(line, "  "+key+" = ") {
				kept = append(kept, line)
			}
		}
		uncalibrated = strings.Join(kept, "\n")
	}
	second := strings.NewReplacer(`name = "north"`, `name = "south"`, "pad-north", "pad-south",
		"2795cff", "2795d00", "2796b21", "2796b22", "279a0c8", "279a0c9").Replace(whole[strings.Index(whole, "[[station]]"):])
	shared := whole + "\n[[relay]]\nname = \"pad-south\"\npin = \"GPIO7\"\non_when = \"low\"\n" + second
	for want, text := range map[string]string{
		"one in-water probe cannot leave":      strings.Replace(whole, guard, "", 1),
		"without a series relay":               strings.Replace(whole, "series_relay = \"series-north\"\n", "", 1),
		"was never calibrated":                 uncalibrated,
		"needs a series relay of its own":      shared,
		"no probe has the role control":        strings.Replace(whole, `role = "control"`, `role = "room"`, 1),
		"is the relay \"pad-south\", which is": strings.Replace(shared, `pad_relay = "pad-north"`, `pad_relay = "pad-south"`, 1),
	} {
		_, problems := Parse("tub.toml", []byte(text))
		if !strings.Contains(listed(problems), "error") || !strings.Contains(listed(problems), want) {
			t.Errorf("no %q in\n%s", want, listed(problems))
		}
		if strings.Contains(want, "role control") || strings.Contains(want, "pad-south") {
			continue
		}
		attended := strings.ReplaceAll(text, "differential = ", "attended_only = true\ndifferential = ")
		cfg, problems := Parse("tub.toml", []byte(attended))
		if cfg == nil {
			t.Errorf("%s: attended only is refused too:\n%s", want, listed(problems))
		} else if cfg.Stations[0].SeriesShared != strings.Contains(want, "of its own") {
			t.Errorf("%s: shared is %v", want, cfg.Stations[0].SeriesShared)
		}
	}
}

func TestChamberMistakes(t *testing.T) {
	whole := example(t, "bench.toml")
	for _, m := range []struct{ old, text, want string }{
		{`set_point = "59C"`, `set_point = "66C"`, `is over 65 °C`},
		{`limit = "70C"`, `limit = "76C"`, `over the most that is allowed, 75C`},
		{`limit = "70C"`, `limit = "59C"`, `leaves no room over the set point`},
		{`limit = "70C"`, `species = "python"`, `species belongs to a tub`},
		{`heater = "250W"`, `freeze = true`, `does not belong to a freezer`},
		{`piece = "slate"`, `piece = "slat"`, `names "slat", which the station does not have`},
		{`role = "air"`, `role = "surface"`, `no probe has the role air`},
		{`diameter = "80mm"`, `thickness = "80mm"`, `thickness does not belong to a cylinder`},
		{`diameter = "80mm"`, ``, `diameter is missing, which a cylinder needs`},
		{`name = "slate"`, `name = "cork-branch"`, `the name is taken by a piece above`},
		{`cutout = "80C"`, `cutout = "50C"`, `would open in normal use`},
		{`door_input = "door-cabinet"`, `door_input = "airflow-cabinet"`, `already airflow_input of`},
		{`lamp = "lamp"`, `lamp = "buzzer"`, `already buzzer of notify`},
	} {
		if !strings.Contains(whole, m.old) {
			t.Fatalf("the example has no %q", m.old)
		}
		cfg, problems := Parse("bench.toml", []byte(strings.Replace(whole, m.old, m.text, 1)))
		if cfg != nil || !strings.Contains(listed(problems), m.want) {
			t.Errorf("%s: no %q in\n%s", m.text, m.want, listed(problems))
		}
	}
}

// What a chamber lacks that a person must know of before it heats.
func TestChamberThatLacksSomething(t *testing.T) {
	whole := example(t, "bench.toml")
	for _, m := range []struct{ old, want string }{
		{"buzzer = \"buzzer\"\n", "cabinet: no treatment of it will start, because nothing would sound"},
		{"series_relay = \"series-cabinet\"\n", "a heat relay that sticks is cut by nothing here"},
		{"airflow_input = \"airflow-cabinet\"\n", "a fan that stops leaves cold spots"},
		{"door_input = \"door-cabinet\"\n", "nobody sees it when the door is opened"},
		{"cutout = \"80C\"\n", "there is no independent cut-out"},
	} {
		if _, problems := Parse("bench.toml", []byte(whole)); strings.Contains(listed(problems), m.want) {
			t.Errorf("%s: told of a whole bench", m.want)
		}
		cfg, problems := Parse("bench.toml", []byte(strings.Replace(whole, m.old, "", 1)))
		if cfg == nil || !strings.Contains(listed(problems), m.want) {
			t.Errorf("without %s: no %q in\n%s", m.old, m.want, listed(problems))
		}
	}
}

func TestFilesThatAreNone(t *testing.T) {
	for what, text := range map[string]string{
		"empty":      "",
		"no station": "name = \"x\"\n[journal]\npath = \"x\"\n",
		"binary":     "\x7fELF\x00\x01",
		"nested":     "a = " + strings.Repeat("[", 5000) + strings.Repeat("]", 5000),
		"long":       "# " + strings.Repeat("x", LongestFile),
		"wrong kind": "station = 3\nbus = \"x\"\nrelay = [1, 2]\njournal = []\nnotify = { webhook = 4 }\n",
		"no header":  "[station\nname = \"x\"\n",
		"sentinel":   "name = \"\\u0000broken\"\nstation = \"\\u0000broken\"\n[journal]\npath = \"\\u0000broken\"\n",
	} {
		cfg, problems := Parse(what, []byte(text))
		if cfg != nil || !strings.Contains(listed(problems), "error") {
			t.Errorf("%s: was let through: %s", what, fmt.Sprint(problems))
		}
		for _, p := range problems {
			if p.Line < 1 || p.Column < 1 || p.Message == "" {
				t.Errorf("%s: %+v", what, p)
			}
		}
	}
}
