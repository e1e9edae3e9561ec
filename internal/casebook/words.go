package casebook

import (
	"fmt"
	"strings"
	"time"

	"soakwarden/controller/procedure"
	"soakwarden/internal/status"
)

// Words is an order as a person or a script writes it. What an order does not
// need stays empty.
type Words struct {
	Case    string   `json:"case"` // number of a case, or its station
	Order   string   `json:"order"`
	Who     string   `json:"who,omitempty"`
	Why     string   `json:"why,omitempty"`
	Animal  string   `json:"animal,omitempty"` // begin: label
	Yes     []string `json:"yes,omitempty"`    // begin: questions answered with yes; all others are no
	Asked   bool     `json:"asked,omitempty"`  // begin: every question was asked
	Vet     string   `json:"vet,omitempty"`    // begin: who said what
	Soak    string   `json:"soak,omitempty"`   // begin: length, "6d" or "144h"
	Wet     string   `json:"wet,omitempty"`    // begin: longest in water
	Rest    string   `json:"rest,omitempty"`   // begin: dry rest
	Water   string   `json:"water,omitempty"`  // begin: water change at the latest; water-changed: temperature
	Rounds  string   `json:"rounds,omitempty"` // begin: a round at the latest
	Box     string   `json:"box,omitempty"`    // temperature of the dry box
	Room    string   `json:"room,omitempty"`   // temperature of the animal's room
	Grams   int      `json:"grams,omitempty"`  //
	Text    string   `json:"text,omitempty"`   // condition, place
	Item    string   `json:"item,omitempty"`   //
	Way     string   `json:"way,omitempty"`    // heat, freeze, wash, throw away
	Encl    bool     `json:"enclosure,omitempty"`
	Record  string   `json:"record,omitempty"`
	AllWell bool     `json:"all_well,omitempty"` // round: everything on the list was looked at
	Not     []string `json:"not,omitempty"`      // round: what is not well
	Mites   *int     `json:"mites,omitempty"`
	At      string   `json:"at,omitempty"`   // round: RFC 3339, when it was
	Date    string   `json:"date,omitempty"` // return, look, clear: 2031-10-04
	Off     string   `json:"off,omitempty"`  // outage: 5h, or unknown
}

// parse turns words into a request. Its errors say what to write instead.
func (w *Words) parse() (procedure.Request, error) {
	r := procedure.Request{Order: procedure.OrderOf(strings.TrimSpace(w.Order))}
	if r.Order == procedure.NoOrder {
		var all []string
		for _, o := range procedure.Orders() {
			all = append(all, o.String())
		}
		return r, fmt.Errorf("unknown order %q: write one of %s", w.Order, strings.Join(all, ", "))
	}
	for _, s := range []*string{&w.Who, &w.Why, &w.Animal, &w.Vet, &w.Text, &w.Item, &w.Record} {
		*s = strings.TrimSpace(*s)
	}
	for _, s := range [...]struct{ what, text string }{
		{"who", w.Who}, {"animal", w.Animal}, {"vet", w.Vet}, {"item", w.Item}, {"record", w.Record}, {"text", w.Text},
	} {
		if err := status.CheckText(s.what, s.text, status.MaxWho); err != nil {
			return r, err
		}
	}
	if err := status.CheckText("why", w.Why, status.MaxWhy); err != nil {
		return r, err
	}
	r.Who = w.Who
	r.Vet, r.Item, r.Record, r.Enclosure, r.Grams = w.Vet, w.Item, w.Record, w.Encl, w.Grams
	r.Words = w.Text
	if r.Words == "" && (r.Order == procedure.Stop || r.Order == procedure.DoRinse) {
		r.Words = w.Why
	}
	if w.Way != "" {
		way, ok := procedure.WayOf(w.Way)
		if !ok {
			return r, fmt.Errorf("way %q: write heat, freeze, wash or throw away", w.Way)
		}
		r.Way = way
	}
	for _, parse := range []func(*procedure.Request) error{w.temperatures, w.times, w.round, w.begin} {
		if err := parse(&r); err != nil {
			return r, err
		}
	}
	return r, nil
}

func (w *Words) temperatures(r *procedure.Request) error {
	text := w.Box
	if r.Order == procedure.Return {
		text = w.Room
	}
	if text == "" {
		return nil
	}
	t, err := status.ParseTemperature(text)
	r.Value = t
	return err
}

func (w *Words) times(r *procedure.Request) (err error) {
	if w.At != "" {
		if r.At, err = time.Parse(time.RFC3339, w.At); err != nil {
			return fmt.Errorf("time %q: write it as 2031-10-04T21:30:00Z", w.At)
		}
	}
	if w.Date != "" {
		if r.Date, err = time.Parse(time.DateOnly, w.Date); err != nil {
			return fmt.Errorf("date %q: write it as 2031-10-04", w.Date)
		}
	}
	switch {
	case w.Off == "unknown":
		r.Unknown = true
	case w.Off != "":
		if r.Off, err = span(w.Off); err != nil {
			return err
		}
	}
	return nil
}

func (w *Words) round(r *procedure.Request) error {
	if r.Order != procedure.DoRound {
		if w.Mites != nil {
			r.Mites = *w.Mites
		}
		return nil
	}
	if w.AllWell || len(w.Not) > 0 {
		r.Round = procedure.AllWell()
	}
	r.Round.Mites = -1
	if w.Mites != nil {
		r.Round.Mites = *w.Mites
	}
	for _, word := range w.Not {
		c, ok := procedure.CheckOf(strings.TrimSpace(word))
		if !ok {
			return fmt.Errorf("%q is not on the list of a round: write %s", word, strings.Join(CheckWords(), ", "))
		}
		r.Round.Seen[c] = procedure.No
	}
	return nil
}

func (w *Words) begin(r *procedure.Request) error {
	if r.Order != procedure.Begin {
		return nil
	}
	r.Plan = procedure.UsualPlan()
	for _, s := range []struct {
		text string
		into *time.Duration
	}{{w.Soak, &r.Plan.Soak}, {w.Wet, &r.Plan.LongestWet}, {w.Rest, &r.Plan.Rest}, {w.Water, &r.Plan.WaterEvery}, {w.Rounds, &r.Plan.RoundEvery}} {
		if s.text == "" {
			continue
		}
		d, err := span(s.text)
		if err != nil {
			return err
		}
		*s.into = d
	}
	if w.Asked {
		for i := range r.Answers {
			r.Answers[i] = procedure.No
		}
	}
	for _, word := range w.Yes {
		q, ok := procedure.QuestionOf(strings.TrimSpace(word))
		if !ok {
			return fmt.Errorf("%q is no question: write %s", word, strings.Join(QuestionWords(), ", "))
		}
		r.Answers[q] = procedure.Yes
	}
	return nil
}

// span reads "5h", "90m" or "6d".
func span(text string) (time.Duration, error) {
	bad := fmt.Errorf("length %q: write it as 90m, 5h or 6d", text)
	if n, isDays := strings.CutSuffix(text, "d"); isDays {
		var days int
		if _, err := fmt.Sscanf(n, "%d", &days); err != nil || days < 0 || days > 365 || fmt.Sprint(days) != n {
			return 0, bad
		}
		return time.Duration(days) * 24 * time.Hour, nil
	}
	d, err := time.ParseDuration(text)
	if err != nil || d < 0 || d > 365*24*time.Hour {
		return 0, bad
	}
	return d, nil
}

// CheckWords are the words of a round's list.
func CheckWords() []string {
	var all []string
	for c := range procedure.CheckCount {
		all = append(all, procedure.Check(c).See().Word)
	}
	return all
}

// QuestionWords are the words of the questions at the start.
func QuestionWords() []string {
	var all []string
	for q := range procedure.QuestionCount {
		all = append(all, procedure.Question(q).Ask().Word)
	}
	return all
}
