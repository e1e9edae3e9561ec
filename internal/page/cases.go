package page

import (
	"bytes"
	"context"
	"errors"
	"fmt"
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
	Orders                                                       ordersView
}

// dueView is one thing that is due.
type dueView struct {
	What, When, Alarm string
}

// caseOf is the case block of a station; nil when no case has it.
func (f *frame) caseOf(v *loop.StationView, id string) *caseView {
	c := v.Case
	if c == nil {
		return nil
	}
	out := &caseView{
		ID: c.ID, Animal: c.Animal, Stage: c.Stage, For: procedure.Clock(c.For), Paused: c.Paused,
		Lasts: c.Lasts, Confirms: c.Confirms, Stops: c.Stops, Next: c.Next,
		Orders: ordersOf(c.Stage, c.Paused != "", ordersView{ID: id, Case: c.ID, Back: stationPath(v.Name), Token: f.token, Sitter: f.sitter}),
	}
	for _, d := range c.Due {
		out.Due = append(out.Due, dueView{d.What, whenWord(d.In), d.Alarm})
	}
	return out
}

func whenWord(in time.Duration) string {
	switch {
	case in >= time.Minute:
		return "in " + procedure.Clock(in)
	case in > -time.Minute:
		return "now"
	}
	return "overdue by " + procedure.Clock(-in)
}

// casesView is the page of every case. It does not renew itself, so that
// whoever writes into a field without script is left in peace.
type casesView struct {
	Heading, Name, Key, Stream string
	Live, Sitter               bool
	Token, Who                 string
	Cases                      []caseSheet
	Tubs                       []string // without a case
	Questions                  []questionView
	Cautions                   []string
	Room                       []procedure.Advice
	Title                      titleView
}

// caseSheet is one case on that page.
type caseSheet struct {
	Line               casebook.Line
	Path               string // of the tub's sheet, while the case has it
	Due                []dueView
	TopUp              string
	Orders             ordersView
	Over               bool
	Keeper             bool // not a sitter, and the case is not over
	MayTreat, MayAgain bool
}

// questionView is one question at the start.
type questionView struct{ Word, Text, Follow string }

func (p *Page) serveCases(w http.ResponseWriter, r *http.Request) {
	f := p.frame()
	if f.snap == nil {
		p.starting(w)
		return
	}
	v := casesView{
		Heading: "cases", Name: f.snap.Name, Live: f.live, Token: p.token, Sitter: p.opt.Sitter, Title: f.title(),
		Cautions: procedure.Cautions(), Room: procedure.RoomAdvice(), Who: who(r, nil),
	}
	has := map[string]string{} // case → its tub's sheet
	for i := range f.snap.Stations {
		switch s := &f.snap.Stations[i]; {
		case s.Case != nil:
			has[s.Case.ID] = stationPath(s.Name)
		case s.Kind == controller.Tub:
			v.Tubs = append(v.Tubs, s.Name)
		}
	}
	for _, l := range p.opt.Cases.List() {
		v.Cases = append(v.Cases, f.caseSheet(l, has[l.Case]))
	}
	for q := range procedure.QuestionCount {
		a := procedure.Question(q).Ask()
		v.Questions = append(v.Questions, questionView{a.Word, a.Text, a.Follow})
	}
	render(w, http.StatusOK, "cases", v)
}

func (f *frame) caseSheet(l casebook.Line, path string) caseSheet {
	over := l.Stage == procedure.Cleared.String() || l.Stage == procedure.Stopped.String()
	c := caseSheet{
		Line: l, Path: path, Over: over, Keeper: !f.sitter && !over,
		MayAgain: l.Stage == procedure.OnPaper.String() || l.Stage == procedure.Watch.String(),
		Orders:   ordersOf(l.Stage, l.Paused != "", ordersView{ID: l.Case, Case: l.Case, Back: "/cases", Token: f.token, Sitter: f.sitter}),
	}
	c.MayTreat = c.Keeper && l.Stage != procedure.Watch.String()
	for _, d := range l.Due {
		due := dueView{What: d.What, When: whenWord(time.Duration(d.InS * float64(time.Second)))}
		if d.Priority != procedure.NoPriority.String() {
			due.Alarm = d.Priority
		}
		c.Due = append(c.Due, due)
	}
	if l.TopUpL != nil && *l.TopUpL >= 0.1 {
		c.TopUp = fmt.Sprintf("Top up about %.1f L: attended first, unplug before you reach in, plain water of the set point.", *l.TopUpL)
	}
	return c
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
	if words.Order == procedure.Change.String() {
		words.Water = get("water")
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
	words.Who = who(r, form)
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
		p.messageBack(w, f, http.StatusConflict, reply.Refused, p.backTo(f, form.Get("back"), words.Case))
	case len(words.Not) > 0, words.Order == procedure.UseChemical.String():
		p.messageBack(w, f, http.StatusOK, strings.Join(append([]string{reply.Says}, reply.Do...), " "), p.backTo(f, form.Get("back"), words.Case))
	default:
		http.Redirect(w, r, p.backTo(f, form.Get("back"), words.Case), http.StatusSeeOther)
	}
}

// backTo is where an order came from, when that is a page of ours.
func (p *Page) backTo(f *frame, back, name string) string {
	for i := range f.snap.Stations {
		path := stationPath(f.snap.Stations[i].Name)
		if back == path || back == "" && f.snap.Stations[i].Name == name {
			return path
		}
	}
	return "/cases"
}
