package page

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// bench is a page over a snapshot that a test changes, with a real clock that a
// test moves.
type bench struct {
	*Page
	snap  atomic.Pointer[loop.Snapshot]
	clock atomic.Int64
	acts  []loop.ActRequest
	reply loop.Answer
	fails error
}

func newBench(t *testing.T, change func(*Options)) *bench {
	t.Helper()
	b := &bench{reply: loop.Answer{Done: true}}
	opt := Options{
		Latest: b.snap.Load, Zone: time.UTC,
		Now: func() time.Time { return time.Unix(1000, b.clock.Load()) },
		Act: func(r loop.ActRequest) (loop.Answer, error) {
			b.acts = append(b.acts, r)
			return b.reply, b.fails
		},
	}
	if change != nil {
		change(&opt)
	}
	b.Page = New(opt)
	return b
}

// at publishes a snapshot and lets the page see it, as Watch would.
func (b *bench) at(s *loop.Snapshot) *bench {
	b.snap.Store(s)
	b.look()
	return b
}

func (b *bench) pass(d time.Duration) { b.clock.Add(int64(d)) }

func (b *bench) get(t *testing.T, path string) (int, string) {
	t.Helper()
	w := httptest.NewRecorder()
	b.ServeHTTP(w, httptest.NewRequest("GET", "http://localhost"+path, nil))
	return w.Code, w.Body.String()
}

func (b *bench) post(t *testing.T, path string, form url.Values, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", "http://localhost"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	b.ServeHTTP(w, r)
	return w
}

func TestNothingBeforeTheFirstTick(t *testing.T) {
	b := newBench(t, nil)
	for _, path := range []string{"/", "/station/north", "/station/north/reset?cause=no-rise", "/api/status", "/events?units=C", "/-/ready"} {
		code, body := b.get(t, path)
		if code != http.StatusServiceUnavailable || !strings.Contains(body, "starting") {
			t.Errorf("%s before the first tick: %d %q, want 503 and the word starting", path, code, body)
		}
	}
	if code, _ := b.get(t, "/-/healthy"); code != http.StatusServiceUnavailable {
		t.Errorf("healthy before the first tick: %d", code)
	}
}

func TestLiveOnlyWhileTicksCome(t *testing.T) {
	b := newBench(t, nil)
	b.snap.Store(fixture(time.Hour)) // nobody watches
	if _, body := b.get(t, "/"); !strings.Contains(body, `class="dead"`) {
		t.Error("a page that nobody watches for is shown as live")
	}
	b.look()
	if _, body := b.get(t, "/"); !strings.Contains(body, `class="live-a"`) {
		t.Error("a tick was just seen and the page is not live")
	}
	if code, _ := b.get(t, "/-/healthy"); code != http.StatusOK {
		t.Errorf("healthy with a fresh tick: %d", code)
	}
	b.pass(10 * time.Second)
	if code, _ := b.get(t, "/-/healthy"); code != http.StatusOK {
		t.Errorf("healthy at the limit itself: %d", code)
	}
	b.pass(time.Millisecond)
	b.look() // the same tick again proves nothing
	for _, path := range []string{"/-/healthy", "/api/status"} {
		if code, _ := b.get(t, path); code != http.StatusServiceUnavailable {
			t.Errorf("%s past the limit: %d", path, code)
		}
	}
	_, body := b.get(t, "/")
	if !strings.Contains(body, `class="dead"`) || !strings.Contains(body, "NOT LIVE since 20:00:00") {
		t.Error("a page of an old tick does not say since when")
	}
	b.at(fixture(time.Hour + time.Second))
	if _, body := b.get(t, "/"); !strings.Contains(body, `class="live-a"`) {
		t.Error("the page did not come back to life with the next tick")
	}
	b.stopWatching()
	if _, body := b.get(t, "/"); !strings.Contains(body, `class="dead"`) {
		t.Error("the page is live after Watch has ended")
	}
}

// The style sheet strikes old numbers without script; both clocks must do the
// same, or every other second would be without one.
func TestStyleSheetStrikesByItself(t *testing.T) {
	data, err := assets.ReadFile("assets/sheet.css")
	if err != nil {
		t.Fatal(err)
	}
	css := string(data)
	for _, part := range []string{"{ animation: old-%s 1ms 12s forwards; }", "@keyframes old-%s { to { text-decoration: line-through;", ".live-%s .alive { animation: hide-%s 1ms 12s forwards"} {
		for _, clock := range []string{"a", "b"} {
			if want := strings.ReplaceAll(part, "%s", clock); !strings.Contains(css, want) {
				t.Errorf("the style sheet lacks %q", want)
			}
		}
	}
	for _, file := range []string{"sheet.css", "sheet.js", "sheet.html", "cases.html", "mark.svg"} {
		data, err := assets.ReadFile("assets/" + file)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.ReplaceAll(string(data), `xmlns="http://www.w3.org/2000/svg"`, "")
		for _, outside := range []string{"http://", "https://", "@import", "//cdn", " style=", "onclick", "eval("} {
			if strings.Contains(text, outside) {
				t.Errorf("%s contains %q", file, outside)
			}
		}
	}
}

func TestNamesCannotBecomeMarkup(t *testing.T) {
	const evil = `"><script>alert(1)</script><img src=x onerror=alert(1)>'`
	s := tripped(time.Hour)
	s.Name, s.Version, s.Config = evil, evil, evil
	s.Demo = true
	for i := range s.Stations {
		v := &s.Stations[i]
		v.Name, v.Species, v.Stage = evil+string(rune('a'+i)), evil, evil
		v.Truth = &loop.TruthView{Faults: []string{evil}}
		v.Proofs = []loop.ProofView{{Name: evil}}
		for j := range v.Probes {
			v.Probes[j].ROM = evil
		}
	}
	s.Journal = loop.JournalView{Problem: evil}
	s.Buses[0].Fault, s.Buses[0].Name = evil, evil
	s.Relays[0].Written, s.Relays[0].Name = false, evil
	b := newBench(t, func(o *Options) { o.Demo = demoOf{evil} }).at(s)
	paths := []string{"/", stationPath(evil + "a"), stationPath(evil+"a") + "/reset?cause=probe-silent", "/?said=" + url.QueryEscape(evil) + "&refused=" + url.QueryEscape(evil), "/station/" + url.PathEscape(evil)}
	for _, path := range paths {
		_, body := b.get(t, path)
		if strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") {
			t.Errorf("%s: a name became markup", path)
		}
	}
	f := b.frame()
	regions, err := f.regions(status.Both, func(int) bool { return true }, nil)
	if err != nil || len(regions) == 0 {
		t.Fatalf("%d regions, %v", len(regions), err)
	}
	for _, r := range regions {
		if strings.Contains(r.html, "<script") || strings.Contains(r.html, "<img") {
			t.Errorf("region %s: a name became markup", r.id)
		}
	}
}

type demoOf struct{ word string }

func (d demoOf) Kinds() []FaultKind {
	return []FaultKind{{Name: d.word, Targets: []string{d.word}, Amount: d.word, Example: d.word}}
}
func (d demoOf) Inject(kind, target, amount string) error { return errors.New("no fault " + kind) }
func (d demoOf) Clear()                                   {}
func (d demoOf) Active() []string                         { return []string{d.word} }

func TestHeadersForbidWhatIsNotNeeded(t *testing.T) {
	b := newBench(t, nil).at(fixture(time.Hour))
	w := httptest.NewRecorder()
	b.ServeHTTP(w, httptest.NewRequest("GET", "http://192.0.2.7:8460/", nil))
	if got := w.Header().Get("Content-Security-Policy"); !strings.Contains(got, "default-src 'none'") || strings.Contains(got, "unsafe") {
		t.Errorf("policy %q", got)
	}
	if w.Header().Get("Cache-Control") != "no-store" {
		t.Error("old numbers may come from a cache")
	}
	body := w.Body.String()
	if strings.Contains(body, "style=") || strings.Contains(body, "<style") {
		t.Error("the page has a style of its own inside, which its policy forbids")
	}
	for host, want := range map[string]int{
		"localhost:8460": 200, "[::1]:8460": 200, "127.0.0.1": 200, "attacker.example": 421, "localhost.attacker.example": 421,
	} {
		r := httptest.NewRequest("GET", "http://localhost/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		b.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("asked under the name %q: %d, want %d", host, w.Code, want)
		}
	}
}

func TestStatusIsWhatScriptsRelyOn(t *testing.T) {
	b := newBench(t, nil).at(tripped(time.Hour))
	_, body := b.get(t, "/api/status")
	var got struct {
		Stations []struct {
			Name, Kind, Stage string
			SetPointC         *float64 `json:"set_point_c"`
			HeatOn            *bool    `json:"heat_on"`
			Permitted         *bool    `json:"permitted"`
			Probes            []struct {
				Name, Role, Quality string
				ValueC              *float64 `json:"value_c"`
				AgeS                *float64 `json:"age_s"`
			}
			Alarms []struct{ Name, State, Since string }
		}
	}
	if err := json.Unmarshal([]byte(body), &got); err != nil {
		t.Fatal(err)
	}
	n := got.Stations[0]
	if n.Name != "north" || n.Kind != "tub" || *n.SetPointC != 29.44 || *n.HeatOn || *n.Permitted {
		t.Errorf("north: %+v", n)
	}
	if n.Probes[1].ValueC != nil || n.Probes[1].Quality != "bad" {
		t.Error("a probe that is absent has a value")
	}
	if n.Alarms[0].Name != "over the cutoff" || n.Alarms[0].State != "unacknowledged" || n.Alarms[0].Since != "2024-11-09T19:57:00Z" {
		t.Errorf("alarm %+v", n.Alarms[0])
	}
}

func TestEveryAlarmBeginsWithOneVerb(t *testing.T) {
	for _, c := range status.Causes() {
		advice := c.Rule().Advice
		if first, _, _ := strings.Cut(advice, " "); len(first) < 3 || strings.ToUpper(first[:1]) != first[:1] {
			t.Errorf("%s: advice %q", c.Rule().Name, advice)
		}
	}
}

func TestDrawingsSurviveAnyReading(t *testing.T) {
	b := newBench(t, nil)
	for _, change := range []func(*loop.StationView){
		func(v *loop.StationView) { *v = loop.StationView{Name: v.Name, Governing: -1} },
		func(v *loop.StationView) { v.Governing = 99 },
		func(v *loop.StationView) { v.Probes = nil },
		func(v *loop.StationView) { v.Tub = loop.TubView{Depth: 40, PadPower: -3} },
		func(v *loop.StationView) { v.Probes[0].Reading.Value = celsius(125) },
		func(v *loop.StationView) { v.SetPoint, v.Cutoff, v.TooCold = celsius(-20), 0, 0 },
		func(v *loop.StationView) { v.Probes = append(v.Probes, v.Probes...) },
		func(v *loop.StationView) {
			v.Alarms = []loop.AlarmView{{Cause: controller.Cause(200), State: 77, Severity: 99}}
		},
	} {
		s := fixture(time.Hour)
		for i := range s.Stations {
			change(&s.Stations[i])
		}
		b.at(s)
		code, body := b.get(t, "/")
		if code != http.StatusOK || strings.Contains(body, "NaN") || strings.Contains(body, "Inf") {
			t.Errorf("code %d, or a number that is none in the drawing", code)
		}
	}
}

func TestManyStationsAreAList(t *testing.T) {
	s := fixture(time.Hour)
	for len(s.Stations) < 200 {
		v := s.Stations[0]
		v.Name = "tub " + string(rune('A'+len(s.Stations)/26)) + string(rune('a'+len(s.Stations)%26))
		s.Stations = append(s.Stations, v)
	}
	b := newBench(t, nil).at(s)
	_, body := b.get(t, "/")
	if strings.Contains(body, `class="drawing"`) || strings.Count(body, "<th scope=\"row\">") != 200 {
		t.Error("two hundred stations are not one list")
	}
	if code, body := b.get(t, stationPath(s.Stations[150].Name)); code != 200 || strings.Count(body, `class="drawing"`) < 1 {
		t.Error("a station of many has no sheet of its own")
	}
	if code, _ := b.get(t, "/station/nowhere"); code != 404 {
		t.Errorf("a station that is none: %d", code)
	}
}

// An alarm that the design or a person set aside is one line, not a call to act.
func TestWhatIsSetAsideDoesNotShout(t *testing.T) {
	s := fixture(time.Hour)
	n := &s.Stations[0]
	n.AnimalIn = false
	n.Probes[0].Reading.Value = celsius(20)
	n.Alarms = []loop.AlarmView{{Cause: controller.TooCold, State: alarm.SuppressedByDesign, Severity: controller.Warning}}
	b := newBench(t, nil).at(s)
	_, body := b.get(t, "/station/north")
	if strings.Contains(body, controller.TooCold.Rule().Advice) || !strings.Contains(body, "suppressed by design") {
		t.Error("a suppressed alarm shouts, or is not said at all")
	}
	if strings.Contains(body, `class="now bad"`) {
		t.Error("a tub that warms up without an animal is shown as abnormal")
	}
	n.AnimalIn = true
	b.at(s)
	if _, body := b.get(t, "/station/north"); !strings.Contains(body, `class="now bad"`) {
		t.Error("an animal in cold water is not shown as abnormal")
	}
}
