package page

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
	"soakwarden/internal/loop"
)

// diskWithin is how long a person waits for the record of an order.
const diskWithin = 5 * time.Second

// caseView is the case that has a tub, on the station's sheet.
type caseView struct {
	ID, Animal, Stage, For, Paused, Lasts, Confirms, Stops, Next string
	Due                                                          []dueView
	Steps                                                        []stepView // one tap each
	Asks                                                         []askView  // a field and a tap
	Round                                                        bool
	Checks                                                       []seenView
}

// dueView is one thing that is due.
type dueView struct {
	What, When, Alarm string
}

// stepView is an order that needs nothing but a tap.
type stepView struct{ Order, Words string }

// askView is an order that needs one answer.
type askView struct{ Order, Field, Label, Words string }

// caseOf is the case block of a station; nil when no case has it.
func caseOf(v *loop.StationView) *caseView {
	c := v.Case
	if c == nil {
		return nil
	}
	out := &caseView{
		ID: c.ID, Animal: c.Animal, Stage: c.Stage, For: procedure.Clock(c.For), Paused: c.Paused,
		Lasts: c.Lasts, Confirms: c.Confirms, Stops: c.Stops, Next: c.Next,
	}
	for _, d := range c.Due {
		out.Due = append(out.Due, dueView{d.What, whenWord(d.In), d.Alarm})
	}
	out.Steps, out.Asks = stepsOf(c.Stage)
	if c.Paused != "" {
		out.Asks = append(out.Asks, askView{"outage", "off", "how long the power was off: 30m, 5h, 2d, or unknown", "The power was off so long"})
	}
	out.Round = true
	for check := range procedure.CheckCount {
		s := procedure.Check(check).See()
		out.Checks = append(out.Checks, seenView{s.Word, s.Text})
	}
	return out
}

func whenWord(in time.Duration) string {
	switch {
	case in > 0:
		return "in " + procedure.Clock(in)
	case in > -time.Minute:
		return "now"
	}
	return "overdue by " + procedure.Clock(-in)
}

// stepsOf are the orders that the sheet offers in a stage; the simple acts at
// the tub stand below them for every station.
func stepsOf(stage string) ([]stepView, []askView) {
	box := askView{"rest", "box", "temperature of the dry box, with its unit (27C or 81F)", "The animal is in its dry box"}
	switch stage {
	case procedure.Ready.String():
		return []stepView{{"animal-in", "The animal is in, alone, in plain water"}}, nil
	case procedure.Drinking.String(), procedure.Soaking.String():
		return []stepView{{"attended", "Lid comes off: attended (unplug before you reach in)"}}, []askView{box}
	case procedure.Attended.String():
		return []stepView{
			{"water-changed", "The water was changed"}, {"detergent", "Soak water was made"}, {"done", "Lid is on, hands are out: done"},
		}, []askView{box}
	case procedure.DryRest.String():
		return []stepView{{"fill", "The tub is filled again with plain water"}, {"rinse", "Rinsed and looked over"}},
			[]askView{{"box", "box", "temperature of the dry box, with its unit (27C or 81F)", "The dry box has this now"}}
	case procedure.Rinse.String():
		return []stepView{{"paper", "Back on paper"}}, nil
	}
	return nil, nil
}

// casesView is the page of every case.
type casesView struct {
	Heading, Name, Key, Stream string
	Live, Sitter               bool
	Token                      string
	Lines                      []casebook.Line
	Tubs                       []string // without a case
	Questions                  []questionView
	Title                      titleView
}

// questionView is one question at the start.
type questionView struct{ Word, Text, Follow string }

func (p *Page) serveCases(w http.ResponseWriter, r *http.Request) {
	f := p.frame()
	if f.snap == nil {
		p.starting(w)
		return
	}
	v := casesView{Heading: "cases", Name: f.snap.Name, Live: f.live, Token: p.token, Sitter: p.opt.Sitter, Lines: p.opt.Cases.List(), Title: f.title()}
	for i := range f.snap.Stations {
		if s := &f.snap.Stations[i]; s.Kind == controller.Tub && s.Case == nil {
			v.Tubs = append(v.Tubs, s.Name)
		}
	}
	for q := range procedure.QuestionCount {
		a := procedure.Question(q).Ask()
		v.Questions = append(v.Questions, questionView{a.Word, a.Text, a.Follow})
	}
	render(w, http.StatusOK, "cases", v)
}

// serveDays is the follow-up of a case as an iCalendar file.
func (p *Page) serveDays(w http.ResponseWriter, r *http.Request) {
	for _, l := range p.opt.Cases.List() {
		if l.Case != r.PathValue("case") || l.FollowUp == nil {
			continue
		}
		var b bytes.Buffer
		if err := l.FollowUp.WriteCalendar(&b, l.Animal, p.opt.Now()); err != nil {
			http.Error(w, "the calendar could not be written: "+err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
		w.Header().Set("Content-Disposition", `attachment; filename="days.ics"`)
		w.Write(b.Bytes())
		return
	}
	http.Error(w, "no such case is in its watch", http.StatusNotFound)
}

// wordsOf reads an order from a form.
func wordsOf(form url.Values) (casebook.Words, string) {
	get := func(key string) string { return strings.TrimSpace(form.Get(key)) }
	words := casebook.Words{
		Case: get("case"), Order: get("order"), Who: get("who"), Why: get("why"), Animal: get("animal"), Yes: form["yes"],
		Asked: get("asked") != "", Vet: get("vet"), Soak: get("soak"), Box: get("box"), Room: get("room"), Text: get("text"),
		Item: get("item"), Way: get("way"), Encl: get("enclosure") != "", Record: get("record"),
		AllWell: get("all_well") != "", Not: form["not"], Date: get("date"), Off: get("off"),
	}
	for _, n := range []struct {
		key  string
		take func(int)
	}{{"mites", func(i int) { words.Mites = &i }}, {"grams", func(i int) { words.Grams = i }}} {
		if get(n.key) == "" {
			continue
		}
		i, err := strconv.Atoi(get(n.key))
		if err != nil {
			return words, n.key + " " + strconv.Quote(get(n.key)) + ": write a whole number"
		}
		n.take(i)
	}
	return words, ""
}

// postCase hands an order on. What was done shows on the sheet; a refusal, and
// what a round asks for, is told.
func (p *Page) postCase(w http.ResponseWriter, r *http.Request) {
	form, ok := p.form(w, r)
	if !ok {
		return
	}
	f := p.frame()
	words, bad := wordsOf(form)
	switch {
	case f.snap == nil:
		p.starting(w)
		return
	case bad != "":
		p.message(w, f, http.StatusBadRequest, "Nothing was done: "+bad+".")
		return
	case p.opt.Sitter && words.Order != procedure.DoRound.String():
		p.message(w, f, http.StatusForbidden, onlyKeeper)
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), diskWithin)
	defer cancel()
	reply, err := p.opt.Cases.Do(ctx, words, controller.Page)
	switch {
	case errors.Is(err, casebook.ErrNotOnDisk):
		p.message(w, f, http.StatusServiceUnavailable, "Done: "+reply.Says+" Look at the card: "+err.Error()+".")
	case err != nil:
		p.message(w, f, http.StatusBadRequest, "Look at the sheet before you press again: "+err.Error()+".")
	case !reply.Done:
		p.message(w, f, http.StatusConflict, reply.Refused)
	case len(words.Not) > 0:
		p.message(w, f, http.StatusOK, strings.Join(append([]string{reply.Says}, reply.Do...), " "))
	case stationIndex(f.snap, words.Case) >= 0:
		http.Redirect(w, r, stationPath(words.Case), http.StatusSeeOther)
	default:
		http.Redirect(w, r, "/cases", http.StatusSeeOther)
	}
}
