package page

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
	"soakwarden/internal/followup"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// shelf is a book that remembers what it was told.
type shelf struct {
	told  []casebook.Words
	place controller.Place
	reply casebook.Reply
	err   error
	stage string // of a second case
	topUp *float64
}

func (s *shelf) Do(_ context.Context, w casebook.Words, place controller.Place) (casebook.Reply, error) {
	s.told, s.place = append(s.told, w), place
	return s.reply, s.err
}

func (s *shelf) List() []casebook.Line {
	days, err := followup.Of(fixtureStart, celsius(27), status.Both)
	if err != nil {
		panic(err)
	}
	return []casebook.Line{{
		Case: "north-1", Station: "north", Animal: "carpet <python>", Stage: "watch", Next: "cleared (clear)", Paused: "Look at it.", FollowUp: &days,
		Due: []casebook.Due{{What: "Look at animal.", InS: -60, In: "-1 min", Priority: "low"}},
		Items: []casebook.Thing{
			{Name: "cork", Way: "heat", Record: "T-1"}, {Name: "slate", Way: "heat"}, {Name: "hide", Way: "wash", Record: "W-1", Sealed: true}, {Name: "moss", Way: "throw away"},
		},
		Used: []casebook.Used{{Product: "a spray (invented)", Where: "box", By: "a keeper"}, {Product: "another", Where: "room", By: "a keeper", Aired: "two days"}},
	}, {Case: "south-1", Station: "south", Animal: "corn snake", Stage: s.stage, TopUpL: s.topUp, Items: []casebook.Thing{
		{Name: "slate", Way: "heat"}, {Name: "cork", Way: "heat", Record: "T-2"}, {Name: "hide", Way: "wash", Record: "W-2", Sealed: true},
	}}}
}

func caseBench(t *testing.T, sitter bool) (*bench, *shelf) {
	s := &shelf{reply: casebook.Reply{Done: true}}
	b := newBench(t, func(o *Options) { o.Cases, o.Sitter = s, sitter })
	snap := tripped(time.Hour)
	snap.Stations[0].Case = &loop.CaseView{
		ID: "north-1", Animal: "carpet <python>", Stage: procedure.Soaking.String(), For: 3 * time.Hour, Lasts: "24 h", Next: "dry rest",
		Paused: "Look at the animal.",
		Due:    []loop.DueView{{What: "Do the round.", In: -2 * time.Hour, Alarm: "medium"}, {What: "Change the water.", In: time.Hour}, {What: "Look."}},
	}
	return b.at(snap), s
}

func TestSheetShowsTheCaseAndItsNextSteps(t *testing.T) {
	b, _ := caseBench(t, false)
	_, body := b.get(t, "/station/north")
	for _, words := range []string{
		"carpet &lt;python&gt;: soaking", "case north-1", "Look at the animal.", "Do the round. <span class=\"v\">overdue by 2 h</span> <b>(medium alarm)</b>",
		"in 1 h", `name="order" value="rest"`, `name="order" value="attended"`, `value="round"`, "head free, breathing quiet", `name="off"`, `href="/cases"`,
	} {
		if !strings.Contains(body, words) {
			t.Errorf("the sheet does not say %q", words)
		}
	}
	if _, body := b.get(t, "/station/south"); strings.Contains(body, `name="all_well"`) {
		t.Error("a tub without a case offers a round")
	}
	for stage, order := range map[procedure.Stage]string{
		procedure.Ready: "animal-in", procedure.Drinking: "rest", procedure.Attended: "detergent", procedure.DryRest: "fill", procedure.Rinse: "paper",
		procedure.Filling: "attended", procedure.OnPaper: "return", procedure.Watch: "clear",
	} {
		steps, asks := stepsOf(stage.String())
		found := false
		for _, s := range steps {
			found = found || s.Order == order
		}
		for _, a := range asks {
			found = found || a.Order == order
		}
		if !found {
			t.Errorf("%s does not offer %s", stage, order)
		}
	}
	if steps, asks := stepsOf("cleared"); steps != nil || asks != nil {
		t.Error("a case that is over has steps")
	}
}

// An alarm of a case stands among the station's, behind what takes heat away,
// and is acknowledged by one tap.
func TestAlarmOfACaseIsAcknowledgedByOneTap(t *testing.T) {
	b, _ := caseBench(t, true)
	snap := tripped(time.Hour)
	snap.Stations[0].CaseAlarms = []loop.CaseAlarm{
		{Station: "north", Case: "north-1", Name: "look overdue", Advice: "Look at animal, paper and water bowl.", State: alarm.SuppressedByDesign, Since: snap.Wall},
		{Station: "north", Case: "north-1", Name: "round overdue", Advice: "Do the round.", State: alarm.Unacknowledged, Medium: true, Since: snap.Wall.Add(-time.Minute)},
	}
	b.at(snap)
	_, body := b.get(t, "/station/north")
	for _, words := range []string{
		`<article class="alarm warning">`, "<h3>Do the round.</h3>", "medium alarm", `name="cause" value="round-overdue"`, "<b>look overdue</b>: suppressed by design",
	} {
		if !strings.Contains(body, words) {
			t.Errorf("the sheet does not say %q", words)
		}
	}
	if strings.Index(body, "<h3>Do the round.</h3>") < strings.Index(body, "probe silent") || strings.Contains(body, `value="look-overdue"`) {
		t.Error("what is overdue stands before a trip, or what is silent at night asks")
	}
	w := b.post(t, "/act", url.Values{"token": {b.token}, "station": {"north"}, "act": {"acknowledge"}, "cause": {"round-overdue"}})
	if w.Code != http.StatusSeeOther || len(b.acts) != 1 || b.acts[0].About != "round overdue" {
		t.Errorf("%d: %+v", w.Code, b.acts)
	}
}

func TestOneTapReachesTheBook(t *testing.T) {
	b, s := caseBench(t, false)
	w := b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {"round"}, "all_well": {"yes"}, "mites": {"3"}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/station/north" {
		t.Errorf("%d to %q: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	if len(s.told) != 1 || !s.told[0].AllWell || s.told[0].Mites == nil || *s.told[0].Mites != 3 || s.place != controller.Page {
		t.Errorf("%+v from %v", s.told, s.place)
	}
	w = b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "order": {"weigh"}, "grams": {"1600"}})
	if w.Header().Get("Location") != "/cases" || s.told[1].Grams != 1600 {
		t.Errorf("%q, %+v", w.Header().Get("Location"), s.told[1])
	}
	s.reply = casebook.Reply{Done: true, Says: "A round. NOT well: chin.", Do: []string{"Wipe it with a damp cloth."}}
	if w = b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {"round"}, "not": {"chin"}}); w.Code != 200 || !strings.Contains(w.Body.String(), "Wipe it") {
		t.Errorf("what to do about a round is not said: %d", w.Code)
	}
	s.reply = casebook.Reply{Refused: "refused, nothing was done: wait until the tub is ready"}
	if w = b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {"animal-in"}}); w.Code != 409 || !strings.Contains(w.Body.String(), "wait until the tub is ready") {
		t.Errorf("a refusal is not said: %d", w.Code)
	}
	s.err = errors.New("no tick for 2 s")
	if w = b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {"fill"}}); w.Code != 400 || !strings.Contains(w.Body.String(), "no tick for 2 s") {
		t.Errorf("an error is not said: %d", w.Code)
	}
	s.reply, s.err = casebook.Reply{Done: true, Says: "The tub is filled again."}, casebook.ErrNotOnDisk
	if w = b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {"fill"}}); w.Code != 503 || !strings.Contains(w.Body.String(), "Done: The tub is filled again. Look at the card") {
		t.Errorf("what is not on disk is not said: %d", w.Code)
	}
	told := len(s.told)
	for _, bad := range []url.Values{
		{"token": {"x"}, "order": {"fill"}}, {"token": {b.token}, "order": {"look"}, "mites": {"three"}}, {"token": {b.token}, "order": {"weigh"}, "grams": {"1.5"}},
	} {
		if w := b.post(t, "/case", bad); w.Code < 400 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	if w := b.post(t, "/case", url.Values{"token": {b.token}, "order": {"fill"}}, "Sec-Fetch-Site", "cross-site"); w.Code != 403 {
		t.Errorf("a form of another site: %d", w.Code)
	}
	if len(s.told) != told {
		t.Error("a bad form reached the book")
	}
}

// Every order that a keeper gives in a stage has its place on the page of
// cases, which needs no script and does not renew itself under a field.
func TestEveryOrderOfAStageIsOnThePage(t *testing.T) {
	b, s := caseBench(t, false)
	litres := 0.4
	s.topUp = &litres
	for stage, orders := range map[procedure.Stage]string{
		procedure.Filling:  "attended furnish treated sealed opened weigh place chemical stop",
		procedure.Ready:    "animal-in attended furnish",
		procedure.Drinking: "attended rest rinse", procedure.Soaking: "attended rest rinse",
		procedure.Attended: "water-changed detergent done extend rest rinse",
		procedure.DryRest:  "fill box rinse", procedure.Rinse: "paper",
		procedure.OnPaper: "look return again treated sealed opened", procedure.Watch: "look clear again",
	} {
		s.stage = stage.String()
		_, body := b.get(t, "/cases")
		_, body, _ = strings.Cut(body, `id="south-1"`)
		body, _, _ = strings.Cut(body, "Begin a case")
		for word := range strings.FieldsSeq(orders + " stop chemical weigh place") {
			if !strings.Contains(body, `name="order" value="`+word+`"`) {
				t.Errorf("%s does not offer %s", stage, word)
			}
		}
		if !strings.Contains(body, "Top up about 0.4 L") || !strings.Contains(body, `name="all_well"`) {
			t.Errorf("%s: no round or no top up", stage)
		}
	}
	for _, over := range []procedure.Stage{procedure.Cleared, procedure.Stopped} {
		s.stage = over.String()
		_, body := b.get(t, "/cases")
		_, body, _ = strings.Cut(body, `id="south-1"`)
		body, _, _ = strings.Cut(body, "Begin a case")
		if strings.Contains(body, "<button") {
			t.Errorf("a case that is %s takes orders", over)
		}
	}
	if _, body := b.get(t, "/cases"); strings.Contains(body, `http-equiv="refresh"`) || strings.Contains(body, "<script") {
		t.Error("the page of cases renews itself")
	}
	if _, body := b.get(t, "/station/north"); !strings.Contains(body, `<noscript><p><a class="button" href="/cases#north-1">`) {
		t.Error("without script the fields of the sheet are renewed away, and nothing says where else they are")
	}
}

func TestChemicalIsARecordOnThePage(t *testing.T) {
	b, s := caseBench(t, false)
	_, body := b.get(t, "/cases")
	for _, words := range []string{"NOT aired: no animal goes there", "aired: two days", "Ask the veterinarian first", `value="aired"`} {
		if !strings.Contains(body, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	s.reply = casebook.Reply{Done: true, Says: "A chemical was used.", Do: procedure.Cautions()}
	w := b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "back": {"/cases"}, "order": {"chemical"}, "item": {"box"}, "text": {"a spray (invented)"}, "who": {"a keeper"}})
	if w.Code != 200 || !strings.Contains(w.Body.String(), "Ask the veterinarian first") || !strings.Contains(w.Body.String(), `href="/cases"`) {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
	if got := s.told[0]; got.Item != "box" || got.Text != "a spray (invented)" || got.Who != "a keeper" {
		t.Errorf("%+v", got)
	}
	s.reply = casebook.Reply{Done: true}
	for back, want := range map[string]string{"/station/south": "/station/south", "https://elsewhere": "/cases", "": "/cases"} {
		w := b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "back": {back}, "order": {"water-changed"}, "water": {"26C"}})
		if got := w.Header().Get("Location"); got != want {
			t.Errorf("back to %q leads to %q, want %q", back, got, want)
		}
	}
	if got := s.told[1].Water; got != "26C" {
		t.Errorf("the new water has %q", got)
	}
}

func TestRefusalOfACaseIsSaidOnThePage(t *testing.T) {
	b, _ := caseBench(t, false)
	b.reply = loop.Answer{Why: "refused, nothing was done: fill it with plain water first"}
	w := b.post(t, "/act", url.Values{"token": {b.token}, "station": {"north"}, "act": {"animal-in"}})
	if w.Code != 409 || !strings.Contains(w.Body.String(), "fill it with plain water first") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
}

func TestPageOfCases(t *testing.T) {
	b, _ := caseBench(t, false)
	_, body := b.get(t, "/cases")
	for _, words := range []string{
		"carpet &lt;python&gt;", `case north-1, <a href="/station/north">tub north</a>`, "(low alarm)", "NOT sealed and labelled", "Begin a case", "<option>south</option>",
		"Veterinarian first", `name="order" value="look"`,
	} {
		if !strings.Contains(body, words) {
			t.Errorf("the page of cases does not say %q", words)
		}
	}
	if strings.Contains(body, "<option>north</option>") || strings.Contains(body, "<option>cabinet</option>") {
		t.Error("a case can be begun where one runs, or in a chamber")
	}
	if !strings.Contains(body, "Ophionyssus natricis") || !strings.Contains(body, "/cases/north-1/days.ics") {
		t.Error("the days to look are not on the page")
	}
	code, calendar := b.get(t, "/cases/north-1/days.ics")
	cal, err := ical.NewDecoder(strings.NewReader(calendar)).Decode()
	if code != 200 || err != nil || len(cal.Events()) != 6 {
		t.Errorf("%d, %v: %s", code, err, calendar)
	}
	if code, _ := b.get(t, "/cases/north-9/days.ics"); code != 404 {
		t.Errorf("the calendar of no case: %d", code)
	}
	none := newBench(t, nil).at(fixture(time.Hour))
	if code, _ := none.get(t, "/cases"); code != 404 {
		t.Errorf("cases without a book: %d", code)
	}
	starting := newBench(t, func(o *Options) { o.Cases = &shelf{} })
	if code, _ := starting.get(t, "/cases"); code != 503 {
		t.Errorf("before the first tick: %d", code)
	}
	if w := starting.post(t, "/case", url.Values{"token": {starting.token}, "order": {"fill"}}); w.Code != 503 {
		t.Errorf("an order before the first tick: %d", w.Code)
	}
}

// The sitter sees, acknowledges and does rounds.
func TestSitterMayDoLittle(t *testing.T) {
	b, s := caseBench(t, true)
	for _, path := range []string{"/", "/cases", "/station/north/reset?cause=probe-silent"} {
		_, body := b.get(t, path)
		for _, never := range []string{`value="reset"`, `value="attended"`, `value="rest"`, `value="look"`, `value="stop"`, `value="water-changed"`, "Begin a case", ">Reset …<"} {
			if strings.Contains(body, never) {
				t.Errorf("%s offers %s to a sitter", path, never)
			}
		}
	}
	_, body := b.get(t, "/station/north")
	for _, offered := range []string{`value="acknowledge"`, `value="present"`, `name="all_well"`} {
		if !strings.Contains(body, offered) {
			t.Errorf("the sitter's sheet lacks %s", offered)
		}
	}
	for _, act := range []url.Values{
		{"act": {"reset"}, "cause": {"probe-silent"}, "seen": {"probe"}}, {"act": {"attended"}}, {"act": {"animal-out"}}, {"act": {"in-service"}},
		{"act": {"shelve"}, "cause": {"too-cold"}}, {"act": {"prove"}},
	} {
		act.Set("token", b.token)
		act.Set("station", "north")
		if w := b.post(t, "/act", act); w.Code != 403 && w.Code != 400 {
			t.Errorf("%v: %d", act, w.Code)
		}
	}
	for _, o := range procedure.Orders() {
		if w := b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north"}, "order": {o.String()}}); (w.Code == 403) != (o != procedure.DoRound) {
			t.Errorf("%s: %d", o, w.Code)
		}
	}
	if len(b.acts) != 0 || len(s.told) != 1 {
		t.Errorf("%d acts and %d orders came through", len(b.acts), len(s.told))
	}
	for _, act := range []url.Values{{"act": {"acknowledge"}, "cause": {"over-the-cutoff"}}, {"act": {"present"}}} {
		act.Set("token", b.token)
		act.Set("station", "north")
		if w := b.post(t, "/act", act); w.Code != http.StatusSeeOther {
			t.Errorf("%v: %d", act, w.Code)
		}
	}
}

// A phone is told a name once; from then on it stands behind what is tapped on
// it, unless another is written.
func TestNameIsRememberedByThePhone(t *testing.T) {
	b, s := caseBench(t, false)
	w := b.post(t, "/who", url.Values{"token": {b.token}, "who": {" Ada <Example> "}})
	cookies := w.Result().Cookies()
	if w.Code != http.StatusSeeOther || len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteStrictMode {
		t.Fatalf("%d, %v", w.Code, cookies)
	}
	cookie := cookies[0].Name + "=" + cookies[0].Value
	b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "order": {"round"}, "all_well": {"yes"}}, "Cookie", cookie)
	b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "order": {"round"}, "all_well": {"yes"}, "who": {"another"}}, "Cookie", cookie)
	b.post(t, "/case", url.Values{"token": {b.token}, "case": {"north-1"}, "order": {"round"}, "all_well": {"yes"}}, "Cookie", "soakwarden-who=%zz")
	if s.told[0].Who != "Ada <Example>" || s.told[1].Who != "another" || s.told[2].Who != "" {
		t.Errorf("%q, %q, %q", s.told[0].Who, s.told[1].Who, s.told[2].Who)
	}
	b.post(t, "/act", url.Values{"token": {b.token}, "station": {"north"}, "act": {"present"}}, "Cookie", cookie)
	if len(b.acts) != 1 || b.acts[0].Who != "Ada <Example>" {
		t.Errorf("%+v", b.acts)
	}
	if w := b.post(t, "/who", url.Values{"token": {b.token}}); w.Result().Cookies()[0].MaxAge >= 0 {
		t.Error("an empty name is not forgotten")
	}
	for _, bad := range []url.Values{{"token": {"x"}, "who": {"a"}}, {"token": {b.token}, "who": {strings.Repeat("x", 81)}}} {
		if w := b.post(t, "/who", bad); w.Code < 400 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
}
