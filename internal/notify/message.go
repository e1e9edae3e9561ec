package notify

import (
	"fmt"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// Message is the body of a webhook's POST, as JSON.
type Message struct {
	Bench        string    `json:"bench"`
	Station      string    `json:"station,omitempty"`
	Cause        string    `json:"cause,omitempty"`
	State        string    `json:"state"`
	Severity     string    `json:"severity,omitempty"`
	Latched      bool      `json:"latched"`
	Text         string    `json:"text"` // whole, for a person; an alarm's begins with what to do
	Phone        string    `json:"phone,omitempty"`
	ValueC       *float64  `json:"value_c"`
	At           time.Time `json:"at"`
	ClockTrusted bool      `json:"clock_trusted"`
	OnDisk       bool      `json:"on_disk"` // false: not yet in the journal
	Repeat       int       `json:"repeat"`  // how often this was said before
	Invented     bool      `json:"invented,omitempty"`
}

func severityWord(s controller.Severity) string {
	switch s {
	case controller.Note:
		return "note"
	case controller.Warning:
		return "warning"
	case controller.HeatOff:
		return "heat off"
	case controller.Trip:
		return "trip"
	}
	return "none"
}

// ParseSeverity reads the least severity of a target: "note", "warning",
// "heat off" or "trip".
func ParseSeverity(word string) (controller.Severity, error) {
	for s := controller.Note; s <= controller.Trip; s++ {
		if severityWord(s) == word {
			return s, nil
		}
	}
	return 0, fmt.Errorf("unknown severity %q: write note, warning, heat off or trip", word)
}

// alarmMessage words an alarm. Who reads it may be in the dark with wet hands:
// what to do comes first, then where and why.
func alarmMessage(o *Options, it item) Message {
	a := it.alarm
	rule := a.Cause.At(a.Kind)
	if a.Name != "" {
		rule.Name, rule.Advice = a.Name, a.Advice
	}
	m := Message{
		Bench: o.Bench, Station: a.Station, Cause: rule.Name, State: a.State.String(),
		Severity: severityWord(a.Severity), Latched: a.Latched, Phone: o.Phone,
		At: a.At.UTC().Truncate(time.Second), ClockTrusted: a.Trusted,
		OnDisk: a.Receipt != nil && done(a.Receipt) && a.Receipt.Err() == nil,
		Repeat: it.repeat, Invented: o.Demo,
	}
	if a.HasValue {
		c := a.Celsius
		m.ValueC = &c
	}
	var b strings.Builder
	switch {
	case a.State == alarm.Normal || a.State == alarm.Returned:
		fmt.Fprintf(&b, "Over: %s, %s", a.Station, rule.Name)
	case a.State.Asks():
		fmt.Fprintf(&b, "%s %s: %s", sentence(rule.Advice), a.Station, rule.Name)
	default:
		fmt.Fprintf(&b, "Answered: %s, %s", a.Station, rule.Name)
	}
	if a.HasValue {
		fmt.Fprintf(&b, ", %.1f °C (%.1f °F)", a.Celsius, a.Celsius*9/5+32)
	}
	fmt.Fprintf(&b, ", since %s UTC", m.At.Format("2006-01-02 15:04:05"))
	if !a.Trusted {
		b.WriteString(" by a clock that nobody set")
	}
	b.WriteByte('.')
	if a.Why != "" && a.State.Asks() {
		b.WriteString(" " + sentence(short(a.Why)))
	}
	if a.Latched {
		b.WriteString(" The heat stays off until somebody resets it.")
	}
	if a.Severity >= controller.Trip && !m.OnDisk {
		b.WriteString(" Not yet on disk.")
	}
	if it.repeat > 0 {
		fmt.Fprintf(&b, " Nobody has answered; said %d times before.", it.repeat)
	}
	if o.Phone != "" {
		fmt.Fprintf(&b, " Call %s.", o.Phone)
	}
	m.Text = invented(o, b.String())
	return m
}

func testMessage(o *Options, at time.Time) Message {
	return Message{
		Bench: o.Bench, State: "test", At: at.UTC().Truncate(time.Second), Phone: o.Phone, Invented: o.Demo,
		Text: invented(o, fmt.Sprintf("Ignore this: a test message of %s. If you read it, alarms reach you.", o.Bench)),
	}
}

func invented(o *Options, text string) string {
	if o.Demo {
		return text + " (Demonstration with invented data.)"
	}
	return text
}

// mostWhy bounds what is said beyond the rule, in characters.
const mostWhy = 300

func short(s string) string {
	if r := []rune(s); len(r) > mostWhy {
		return string(r[:mostWhy]) + " …"
	}
	return s
}

func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s != "" && !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}
