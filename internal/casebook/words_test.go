package casebook

import (
	"context"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
)

func TestWordsThatCannotBeRead(t *testing.T) {
	d := newDesk(t)
	for _, c := range []struct {
		w   Words
		say string
	}{
		{Words{Order: "dance"}, "write one of begin, animal-in"},
		{Words{Order: "rest", Box: "27"}, "like 26C or 79F"},
		{Words{Order: "return", Room: "85"}, "like 26C or 79F"},
		{Words{Order: "round", AllWell: true, At: "yesterday"}, "2031-10-04T21:30:00Z"},
		{Words{Order: "look", Date: "4.10."}, "2031-10-04"},
		{Words{Order: "outage", Off: "long"}, "90m, 5h or 6d"},
		{Words{Order: "outage", Off: "6.5d"}, "90m, 5h or 6d"},
		{Words{Order: "round", Not: []string{"tail"}}, "head, depth, eyes"},
		{Words{Order: "begin", Yes: []string{"old"}}, "hatchling, fed"},
		{Words{Order: "begin", Soak: "-6d"}, "90m, 5h or 6d"},
		{Words{Order: "furnish", Way: "spray"}, "heat, freeze, wash or throw away"},
		{Words{Order: "stop", Why: strings.Repeat("x", 501)}, "at most 500"},
		{Words{Order: "place", Text: "a\u202eb"}, "control character"},
		{Words{Order: "place", Who: strings.Repeat("x", 81)}, "at most 80"},
	} {
		c.w.Case = "north"
		if _, err := d.b.Do(context.Background(), c.w, controller.Board); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v: %v, want %q", c.w, err, c.say)
		}
	}
	if len(d.acts) != 0 || len(d.docs) != 0 {
		t.Error("words that cannot be read did something")
	}
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.do(Words{Order: "attended"})
	if _, err := d.b.Do(context.Background(), Words{Case: "north", Order: "water-changed", Water: "warm"}, controller.Board); err == nil {
		t.Error("water without a unit was taken")
	}
}

func TestSpans(t *testing.T) {
	for text, want := range map[string]time.Duration{"6d": 144 * time.Hour, "90m": 90 * time.Minute, "5h30m": 330 * time.Minute, "0d": 0} {
		if got, err := span(text); err != nil || got != want {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "6", "d", "400d", "1e3d", "-5h", "9000h", " 6d", "6dd"} {
		if got, err := span(text); err == nil {
			t.Errorf("%q was read as %v", text, got)
		}
	}
}

// Every order has its sentence, and no two orders share one.
func TestEveryOrderIsToldInItsOwnWords(t *testing.T) {
	seen := map[string]procedure.Order{}
	for _, o := range procedure.Orders() {
		r := procedure.Request{Order: o, Words: "words", Item: "cork", Record: "T-1", Grams: 5, Off: time.Hour, Way: procedure.HeatIt, Value: 300_150_000_000, Mites: 1}
		says := sentence(&procedure.Case{}, &r, &Words{})
		if says == "" || !strings.HasSuffix(says, ".") {
			t.Errorf("%s: %q", o, says)
		}
		if other, twice := seen[says]; twice {
			t.Errorf("%s and %s are told alike: %s", o, other, says)
		}
		seen[says] = o
	}
	v := procedure.Request{Order: procedure.Outage, Unknown: true}
	if s := sentence(&procedure.Case{}, &v, &Words{}); !strings.Contains(s, "Nobody knows") {
		t.Error(s)
	}
	f := procedure.Request{Order: procedure.Furnish, Item: "box", Way: procedure.WashIt, Enclosure: true}
	if s := sentence(&procedure.Case{}, &f, &Words{}); !strings.Contains(s, "the enclosure") {
		t.Error(s)
	}
	if mites(0) != "no mite" || mites(1) != "1 mite" || mites(7) != "7 mites" {
		t.Error("mites are counted oddly")
	}
}

func TestVeterinarianStandsInTheRecord(t *testing.T) {
	d := newDesk(t)
	d.refused(Words{Order: "begin", Animal: "boa", Asked: true, Yes: []string{"shed"}}, "Veterinarian first")
	d.do(Words{Order: "begin", Animal: "boa", Asked: true, Yes: []string{"shed"}, Vet: "Saturday's duty: two days", Soak: "4d", Wet: "12h", Rest: "10h", Water: "6h", Rounds: "4h"})
	for _, words := range []string{"Is it in shed", "Saturday's duty: two days", "soak 4 days", "at most 12 h in water", "dry rests of 10 h"} {
		if !strings.Contains(d.docs[0].Says, words) {
			t.Errorf("no %q in %s", words, d.docs[0].Says)
		}
	}
}

func TestReportIsOfOneCase(t *testing.T) {
	var rep Reporter
	if _, err := rep.Report(""); err == nil {
		t.Error("a report of nothing")
	}
	for _, bad := range []string{"{", `{"case":"x","state":{"age":1}}`} {
		if err := rep.Take(1, "north", []byte(bad)); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
	state := string((&procedure.Case{}).Save())
	for i, id := range []string{"a", "b"} {
		doc := `{"at":"2028-10-02T08:00:00Z","case":"` + id + `","order":"weigh","says":"Weighed.","why":"to know","who":"a keeper","state":` + state + `}`
		if err := rep.Take(uint64(i+2), "north", []byte(doc)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := rep.Report(""); err == nil || !strings.Contains(err.Error(), "a, b") {
		t.Errorf("%v", err)
	}
	if _, err := rep.Report("c"); err == nil || !strings.Contains(err.Error(), "a, b") {
		t.Errorf("%v", err)
	}
	r, err := rep.Report("b")
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	r.Before = 5
	if err := r.Write(&text, time.UTC); err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{"Case b", "08:00?  Weighed. to know. (a keeper)", "5 g before, not weighed after", "Monday 2028-10-02 UTC"} {
		if !strings.Contains(text.String(), words) {
			t.Errorf("no %q in\n%s", words, &text)
		}
	}
}
