package report

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// kept adds an invented case to the day.
func kept(t *testing.T, m *journal.Memory) {
	t.Helper()
	m.Document("north", casebook.Topic, "north-0", []byte(`{"case":"north-0","state":{}}`))
	at := noon
	b, err := casebook.Open(casebook.Options{
		Tubs:      []casebook.Tub{{Name: "north", Species: "python", Upper: degrees(34)}},
		SaveState: func(key string, state []byte) casebook.Receipt { return m.SaveState(key, state) },
		Document: func(station, id string, doc []byte) casebook.Receipt {
			return m.Document(station, casebook.Topic, id, doc)
		},
		Act:    func(loop.ActRequest) (loop.Answer, error) { return loop.Answer{Done: true}, nil },
		Latest: func() *loop.Snapshot { return nil },
		Moment: func() casebook.Moment { return casebook.Moment{Wall: at, Trusted: true} },
		Budget: func(string) casebook.Budget { return casebook.Budget{Verdict: "fits"} }, Zone: time.UTC,
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []casebook.Words{
		{Order: "begin", Animal: "carpet <python>", Asked: true, Who: "A. Keeper"},
		{Order: "weigh", Grams: 1620, Text: "lively"},
		{Order: "chemical", Item: "the room", Text: "a spray (invented)", Who: "A. Keeper"},
		{Order: "stop", Why: "for a test"},
	} {
		w.Case = "north"
		if r, err := b.Do(t.Context(), w, controller.Board); err != nil || !r.Done {
			t.Fatalf("%+v, %v", r, err)
		}
		at = at.Add(9 * time.Hour)
	}
}

// The case is a section of its own, day by day, and its steps do not stand a
// second time among the events.
func TestReportTellsTheCase(t *testing.T) {
	m := day(t, kept)
	s, err := Collect(m, Query{Station: "north"})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(s.Deviation, "; "), "a step of a case cannot be read") {
		t.Errorf("what cannot be read is no deviation: %v", s.Deviation)
	}
	if len(s.Cases) != 1 || s.Cases[0].Stage != "stopped" || s.Cases[0].Before != 1620 || len(s.Treatments) != 1 {
		t.Fatalf("%d cases, %d treatments", len(s.Cases), len(s.Treatments))
	}
	for _, e := range s.Events {
		if strings.Contains(e.Text, "carpet") {
			t.Errorf("a step of the case stands among the events: %s", e.Text)
		}
	}
	var page, paper bytes.Buffer
	if err := errors.Join(HTML(&page, s, Paperwork{Paper: A4}), PDF(&paper, s, Paperwork{Paper: A4})); err != nil {
		t.Fatal(err)
	}
	last := 0
	for _, words := range []string{
		"Case north-1: carpet &lt;python&gt;, tub north", "Mass: 1620 g before", "Chemicals: a spray (invented) on the room, by A. Keeper",
		"Saturday 2031-10-04 UTC", "12:00", "A case begins for carpet", "21:00", "Weighed: 1620 g. Condition: lively.",
		"Sunday 2031-10-05 UTC", "06:00", "The case was ended: for a test.", "Alarms, acts, rounds and notes",
	} {
		i := strings.Index(page.String()[last:], words)
		if i < 0 {
			t.Fatalf("the report does not say %q after what comes before it", words)
		}
		last += i
	}
	if !bytes.HasPrefix(paper.Bytes(), []byte("%PDF-")) || paper.Len() < 20_000 {
		t.Errorf("%d bytes of PDF", paper.Len())
	}
	if s, err := Collect(m, Query{Station: "north", From: noon.Add(time.Hour)}); err != nil || len(s.Cases) != 1 {
		t.Errorf("from an hour on: %d cases, %v", len(s.Cases), err)
	}
}

// A person who thinks in one unit reads the whole sheet in it. 29.4 °C are
// 84.92 °F and 0.28 K are 0.504 °F (NIST SP 811, B.8).
func TestUnitsOfTheSheetAreAPersonsChoice(t *testing.T) {
	s, err := Collect(day(t), Query{Station: "north"})
	if err != nil {
		t.Fatal(err)
	}
	s.Events = nil // the record's own words keep the unit that they were written in
	for u, c := range map[status.Units]struct{ has, never []string }{
		status.Both:       {[]string{"29.40 °C / 84.92 °F", "0.28 K (0.5 °F)", ">°C<", ">°F<", "cutoff 31.7 °C", ">89.1 °F<"}, nil},
		status.Celsius:    {[]string{"29.40 °C", "0.28 K", "cutoff 31.7 °C"}, []string{"°F"}},
		status.Fahrenheit: {[]string{"84.92 °F", "0.5 °F", "cutoff 89.1 °F", "within 0.9 °F"}, []string{"°C", " K<", " K "}},
	} {
		var page bytes.Buffer
		if err := HTML(&page, s, Paperwork{Paper: A4, Units: u}); err != nil {
			t.Fatal(err)
		}
		for _, want := range c.has {
			if !strings.Contains(page.String(), want) {
				t.Errorf("%q: no %q", u, want)
			}
		}
		for _, never := range c.never {
			if strings.Contains(page.String(), never) {
				t.Errorf("%q: %q", u, never)
			}
		}
		drawingsAreSound(t, page.String(), A4)
	}
}
