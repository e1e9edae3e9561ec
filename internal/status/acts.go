package status

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

// Bounds of what a person may write.
const (
	MaxWho = 80  // runes of a name
	MaxWhy = 500 // runes of a reason
)

// Request is an act as a person or a script writes it.
type Request struct {
	Station string   `json:"station"`
	Act     string   `json:"act"`
	Cause   string   `json:"cause,omitempty"`
	Seen    []string `json:"seen,omitempty"`
	Water   string   `json:"water,omitempty"` // temperature of the new water, "26C"
	For     string   `json:"for,omitempty"`   // how long to shelve, "30m"
	Who     string   `json:"who,omitempty"`
	Why     string   `json:"why,omitempty"`
}

// actWords are the acts; the first word for a kind is the one that is shown.
var actWords = [...]struct {
	word     string
	kind     controller.ActKind
	ofCause  bool
	withSpan bool
}{
	{"acknowledge", controller.Acknowledge, true, false},
	{"reset", controller.Reset, true, false},
	{"attended", controller.BeginAttended, false, false},
	{"extend", controller.ExtendAttended, false, false},
	{"done", controller.EndAttended, false, false},
	{"water-changed", controller.WaterChanged, false, false},
	{"animal-in", controller.AnimalIn, false, false},
	{"animal-out", controller.AnimalOut, false, false},
	{"present", controller.Presence, false, false},
	{"shelve", controller.Shelve, true, true},
	{"unshelve", controller.Unshelve, true, false},
	{"out-of-service", controller.TakeOutOfService, false, false},
	{"in-service", controller.PutInService, false, false},
	{"fill-confirmed", controller.ConfirmFill, false, false},
	{"prove", controller.Prove, false, false},
}

// ActWord names a kind of act.
func ActWord(k controller.ActKind) string {
	for _, a := range actWords {
		if a.kind == k {
			return a.word
		}
	}
	return "unknown"
}

// Parse checks a request and turns it into what the loop takes. Its errors say
// what to write instead. Whether the act is allowed is the controller's answer.
func (r Request) Parse(place controller.Place) (loop.ActRequest, error) {
	var none loop.ActRequest
	out := loop.ActRequest{Station: r.Station, Who: strings.TrimSpace(r.Who), Why: strings.TrimSpace(r.Why)}
	if r.Station == "" {
		return none, fmt.Errorf("no station named: write the name of one, as soakwarden status lists them")
	}
	if err := CheckText("who", out.Who, MaxWho); err != nil {
		return none, err
	}
	if err := CheckText("why", out.Why, MaxWhy); err != nil {
		return none, err
	}
	out.Act.Place = place
	i := -1
	var known []string
	for j, a := range actWords {
		known = append(known, a.word)
		if plain(a.word) == plain(r.Act) {
			i = j
		}
	}
	if i < 0 {
		return none, fmt.Errorf("unknown act %q: write one of %s", r.Act, strings.Join(known, ", "))
	}
	act := actWords[i]
	out.Act.Kind = act.kind
	if m := procedure.MatterOf(plain(r.Cause)); m != procedure.NoMatter && act.ofCause {
		out.About = m.String()
		return out, nil
	}
	if err := r.parseRest(&out.Act, act.word, act.ofCause, act.withSpan); err != nil {
		return none, err
	}
	return out, nil
}

// parseRest reads what only some acts take.
func (r Request) parseRest(act *controller.Act, word string, ofCause, withSpan bool) error {
	var err error
	switch {
	case ofCause:
		if r.Cause == "" {
			return fmt.Errorf("%s needs the name of a cause, as soakwarden status lists it", word)
		}
		if act.Cause, err = ParseCause(r.Cause); err != nil {
			return err
		}
	case r.Cause != "":
		return fmt.Errorf("%s takes no cause: leave out %q", word, r.Cause)
	}
	if act.Seen, err = ParseSeen(r.Seen); err != nil {
		return err
	}
	if act.Seen != 0 && act.Kind != controller.Reset {
		return fmt.Errorf("only a reset takes what was seen: leave it out of %s", word)
	}
	switch {
	case r.Water != "" && act.Kind != controller.WaterChanged:
		return fmt.Errorf("only water-changed takes a water temperature: leave it out of %s", word)
	case r.Water != "":
		if act.Value, err = ParseTemperature(r.Water); err != nil {
			return err
		}
		if c := DegreesC(act.Value); c < 0 || c > 50 {
			return fmt.Errorf("water of %s: write a temperature between 0 and 50 °C (32 and 122 °F)", Both.Temperature(act.Value))
		}
	}
	switch {
	case withSpan:
		if act.Span, err = time.ParseDuration(r.For); err != nil || act.Span <= 0 || act.Span > alarm.ShelveMost {
			return fmt.Errorf("shelve for %q: write a time like 30m or 2h, at most %s", r.For, alarm.ShelveMost)
		}
	case r.For != "":
		return fmt.Errorf("only shelve takes a time: leave %q out of %s", r.For, word)
	}
	return nil
}

// ParseSeen reads the things that were looked at.
func ParseSeen(words []string) (controller.Seen, error) {
	var seen controller.Seen
next:
	for _, word := range words {
		for _, w := range seenWords {
			if w.word == plain(word) {
				seen |= w.seen
				continue next
			}
		}
		return 0, fmt.Errorf("%q cannot be seen: write animal, level, probe or pad (in a chamber: heater), with commas between", word)
	}
	return seen, nil
}

// ParseTemperature reads a temperature with its unit: "26C", "78.8 °F".
func ParseTemperature(s string) (physic.Temperature, error) {
	short := strings.NewReplacer(" ", "", "°", "", "\u00a0", "").Replace(s)
	fail := fmt.Errorf("temperature %q: write a number and its unit, like 26C or 79F", s)
	if short == "" {
		return 0, fail
	}
	number, unit := short[:len(short)-1], short[len(short)-1]
	// Sscanf would take "0x1p4" and leave rests unread; digits are all we take.
	for _, r := range number {
		if (r < '0' || r > '9') && r != '.' && r != '-' && r != '+' {
			return 0, fail
		}
	}
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || x < -1000 || x > 1000 {
		return 0, fail
	}
	switch unit {
	case 'c', 'C':
		return physic.ZeroCelsius + physic.Temperature(x*float64(physic.Kelvin)), nil
	case 'f', 'F':
		return physic.ZeroFahrenheit + physic.Temperature(x*float64(physic.Fahrenheit)), nil
	}
	return 0, fail
}

// CheckText refuses what does not belong into one line of a record. max is in
// runes.
func CheckText(what, s string, max int) error {
	if !utf8.ValidString(s) {
		return fmt.Errorf("%s is not valid UTF-8: write it again", what)
	}
	if n := utf8.RuneCountInString(s); n > max {
		return fmt.Errorf("%s has %d characters: write at most %d", what, n, max)
	}
	for _, r := range s {
		if r < ' ' || r == 0x7f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return fmt.Errorf("%s has a control character: write plain text in one line", what)
		}
	}
	return nil
}
