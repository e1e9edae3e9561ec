package page

import (
	"net/http"
	"net/url"
	"strconv"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// form reads a form within its bound and checks the token. It answers itself
// when something is wrong.
func (p *Page) form(w http.ResponseWriter, r *http.Request) (url.Values, bool) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		p.message(w, p.frame(), http.StatusBadRequest, "The form could not be read. Load the page anew and press again.")
		return nil, false
	}
	if !tokenIs(p.token, r.PostForm.Get("token")) {
		p.message(w, p.frame(), http.StatusForbidden, "Nothing was done: the page was from before the program was started anew. Go back to the sheet and press again.")
		return nil, false
	}
	return r.PostForm, true
}

// requestOf reads an act from a form of the page.
func requestOf(form url.Values) status.Request {
	r := status.Request{
		Station: form.Get("station"), Act: form.Get("act"), Cause: form.Get("cause"),
		Seen: form["seen"], Who: form.Get("who"), Why: form.Get("why"),
	}
	// The field for the new water stands in the same form as the other acts.
	if r.Act == status.ActWord(controller.WaterChanged) {
		r.Water = form.Get("water")
	}
	return r
}

// postAct hands an act on and says on the station's sheet what became of it.
func (p *Page) postAct(w http.ResponseWriter, r *http.Request) {
	form, ok := p.form(w, r)
	if !ok {
		return
	}
	f := p.frame()
	switch {
	case f.snap == nil:
		p.starting(w)
		return
	case p.opt.Act == nil:
		p.message(w, f, http.StatusForbidden, "This page only shows. Act at the board: soakwarden stage.")
		return
	}
	words := requestOf(form)
	words.Who = who(r, form)
	req, err := words.Parse(controller.Page)
	if err == nil && stationIndex(f.snap, req.Station) < 0 {
		p.message(w, f, http.StatusNotFound, "There is no station of that name.")
		return
	}
	if err != nil {
		p.message(w, f, http.StatusBadRequest, "Nothing was done: "+err.Error()+".")
		return
	}
	if k := req.Act.Kind; p.opt.Sitter && k != controller.Acknowledge && k != controller.Presence {
		p.message(w, f, http.StatusForbidden, onlyKeeper)
		return
	}
	answer, err := p.opt.Act(req)
	if err != nil {
		p.message(w, f, http.StatusServiceUnavailable, "Nothing is known to be done: "+err.Error()+". Look at the sheet before you press again.")
		return
	}
	if answer.Why != "" {
		p.message(w, f, http.StatusConflict, answer.Why)
		return
	}
	http.Redirect(w, r, stationPath(req.Station)+"?"+saidQuery(req, answer).Encode(), http.StatusSeeOther)
}

// onlyKeeper is what a sitter reads who asks for more.
const onlyKeeper = "Nothing was done: this page is the sitter's. It takes acknowledgements, presence and rounds. Call the keeper for everything else."

// saidQuery carries the answer over the redirect in words of our tables only,
// so that nobody can make the page say something by a link.
func saidQuery(req loop.ActRequest, a loop.Answer) url.Values {
	q := url.Values{"said": {status.ActWord(req.Act.Kind)}}
	if !a.Done {
		q.Set("refused", strconv.Itoa(int(a.Refusal)))
	}
	return q
}

// saidWord is the sentence for what saidQuery carried, empty for nothing.
func saidWord(r *http.Request) string {
	q := r.URL.Query()
	if !q.Has("said") {
		return ""
	}
	act := ""
	for k := controller.Acknowledge; k <= controller.Prove; k++ {
		if status.ActWord(k) == q.Get("said") {
			act = status.ActWord(k)
		}
	}
	if act == "" {
		return ""
	}
	if !q.Has("refused") {
		return "Done: " + act + "."
	}
	n, err := strconv.ParseUint(q.Get("refused"), 10, 8)
	if err != nil {
		n = 255
	}
	why := status.RefusalWord(controller.Refusal(n))
	if why == "" {
		why = "no reason was given"
	}
	return "Refused, nothing was done: " + act + ". The reason: " + why + "."
}

// resetView is the sheet on which a latch is reset.
type resetView struct {
	Heading, Name, Key, Stream string
	Live                       bool
	Station                    stationView
	Alarm                      *alarmView
	Cause, Argument, Board     string
	Seen                       []seenView
	Token                      string
	Title                      titleView
}

// seenView is one thing to have looked at.
type seenView struct{ Word, Sentence string }

func (p *Page) serveReset(w http.ResponseWriter, r *http.Request) {
	f := p.frame()
	if f.snap == nil {
		p.starting(w)
		return
	}
	i := stationIndex(f.snap, r.PathValue("name"))
	cause, err := status.ParseCause(r.URL.Query().Get("cause"))
	if i < 0 || err != nil {
		p.message(w, f, http.StatusNotFound, "There is no such station or cause.")
		return
	}
	kind := f.snap.Stations[i].Kind
	u, rule := p.units(w, r), cause.At(kind)
	v := resetView{
		Heading: "reset " + rule.Name, Name: f.snap.Name, Live: f.live, Token: p.token,
		Station: f.station(i, u), Cause: rule.Name, Argument: status.CauseArgument(cause), Title: f.title(),
	}
	for j := range v.Station.Alarms {
		if v.Station.Alarms[j].Name == rule.Name {
			v.Alarm = &v.Station.Alarms[j]
		}
	}
	if rule.Reset != controller.Page || !f.acts || f.sitter {
		v.Board = boardCommand(v.Station.Name, kind, cause)
	}
	for _, word := range status.SeenWords(rule.Seen, kind) {
		v.Seen = append(v.Seen, seenView{word, seenSentence(word)})
	}
	render(w, http.StatusOK, "reset", v)
}

func seenSentence(word string) string {
	switch word {
	case "animal":
		return "the animal: it is well"
	case "level":
		return "the water level: it is where it should be"
	case "probe":
		return "the probe: it is in its place and whole"
	case "heater":
		return "the heater and its relay: cold when off, whole, nothing scorched"
	}
	return "the pad and its relay: cold when off, whole, not wet"
}
