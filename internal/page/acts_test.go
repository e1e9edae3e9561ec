package page

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

func TestActIsHandedOnAsAPersonAtThePage(t *testing.T) {
	b := newBench(t, nil).at(tripped(time.Hour))
	w := b.post(t, "/act", url.Values{
		"token": {b.token}, "station": {"north"}, "act": {"reset"}, "cause": {"probe-silent"},
		"seen": {"probe"}, "who": {"keeper on duty"}, "why": {"cable was off"},
	})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/station/north?said=reset" {
		t.Fatalf("%d to %q: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	want := loop.ActRequest{Station: "north", Who: "keeper on duty", Why: "cable was off", Act: controller.Act{
		Kind: controller.Reset, Cause: controller.ProbeSilent, Place: controller.Page, Seen: controller.SeenProbe,
	}}
	if len(b.acts) != 1 || b.acts[0] != want {
		t.Errorf("handed on %+v, want %+v", b.acts, want)
	}
	if _, body := b.get(t, w.Header().Get("Location")); !strings.Contains(body, "Done: reset.") {
		t.Error("the sheet does not say that it was done")
	}
}

func TestRefusalSaysWhatToDo(t *testing.T) {
	b := newBench(t, nil).at(tripped(time.Hour))
	b.reply = loop.Answer{Refusal: controller.CausePersists}
	w := b.post(t, "/act", url.Values{"token": {b.token}, "station": {"north"}, "act": {"reset"}, "cause": {"probe silent"}})
	_, body := b.get(t, w.Header().Get("Location"))
	if !strings.Contains(body, "Refused, nothing was done: reset") || !strings.Contains(body, "put that right first") {
		t.Error("the refusal does not say what to do instead")
	}
}

func TestFormsOfOthersAreRefused(t *testing.T) {
	b := newBench(t, func(o *Options) { o.Demo = demoOf{"relay welded"} }).at(tripped(time.Hour))
	good := url.Values{"token": {b.token}, "station": {"north"}, "act": {"acknowledge"}, "cause": {"over-the-cutoff"}}
	if w := b.post(t, "/act", good, "Sec-Fetch-Site", "cross-site"); w.Code != http.StatusForbidden {
		t.Errorf("a form of another site: %d", w.Code)
	}
	if w := b.post(t, "/act", good, "Sec-Fetch-Site", "", "Origin", "http://attacker.example"); w.Code != http.StatusForbidden {
		t.Errorf("a form of another origin: %d", w.Code)
	}
	for _, path := range []string{"/act", "/demo/inject", "/demo/clear"} {
		for _, token := range []string{"", b.token + "x", b.token[1:]} {
			bad := url.Values{"token": {token}, "station": {"north"}, "act": {"acknowledge"}, "cause": {"over-the-cutoff"}}
			if w := b.post(t, path, bad); w.Code != http.StatusForbidden {
				t.Errorf("%s with a wrong token: %d", path, w.Code)
			}
		}
	}
	if code, _ := b.get(t, "/act?"+good.Encode()); code == http.StatusSeeOther || code == http.StatusOK {
		t.Errorf("an act by GET: %d", code)
	}
	if len(b.acts) != 0 {
		t.Errorf("%d acts came through", len(b.acts))
	}
}

func TestBadFormsSayWhatIsWrong(t *testing.T) {
	b := newBench(t, nil).at(fixture(time.Hour))
	for _, c := range []struct {
		form url.Values
		code int
		say  string
	}{
		{url.Values{"station": {"north"}, "act": {"fly"}}, 400, "unknown act"},
		{url.Values{"station": {"north"}, "act": {"reset"}, "cause": {"too blue"}}, 400, "unknown cause"},
		{url.Values{"station": {"north"}, "act": {"water-changed"}, "water": {"85"}}, 400, "like 26C or 79F"},
		{url.Values{"station": {"north"}, "act": {"water-changed"}, "water": {"85C"}}, 400, "between 0 and 50"},
		{url.Values{"station": {"nowhere"}, "act": {"attended"}}, 404, "no station"},
		{url.Values{"act": {"attended"}}, 400, "no station named"},
		{url.Values{"station": {"north"}, "act": {"attended"}, "who": {strings.Repeat("x", 81)}}, 400, "at most 80"},
		{url.Values{"station": {"north"}, "act": {"attended"}, "who": {"a\u202eb"}}, 400, "control character"},
	} {
		c.form.Set("token", b.token)
		w := b.post(t, "/act", c.form)
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.say) {
			t.Errorf("%v: %d without %q", c.form, w.Code, c.say)
		}
	}
	if w := b.post(t, "/act", url.Values{"token": {b.token}, "why": {strings.Repeat("x", maxForm)}}); w.Code != 400 {
		t.Errorf("a form past its bound: %d", w.Code)
	}
	if len(b.acts) != 0 {
		t.Errorf("%d acts came through", len(b.acts))
	}
	b.fails = errors.New("no tick for 2 s")
	w := b.post(t, "/act", url.Values{"token": {b.token}, "station": {"north"}, "act": {"attended"}})
	if w.Code != 503 || !strings.Contains(w.Body.String(), "Look at the sheet before you press again") {
		t.Errorf("an act without an answer: %d", w.Code)
	}
}

func TestWaterFieldOnlyCountsForWater(t *testing.T) {
	b := newBench(t, nil).at(fixture(time.Hour))
	b.post(t, "/act", url.Values{"token": {b.token}, "station": {"south"}, "act": {"present"}, "water": {"26C"}})
	b.post(t, "/act", url.Values{"token": {b.token}, "station": {"south"}, "act": {"water-changed"}, "water": {"78.8 °F"}})
	if len(b.acts) != 2 || b.acts[0].Act.Value != 0 {
		t.Fatalf("%+v", b.acts)
	}
	if got := b.acts[1].Act.Value; got < celsius(25.999) || got > celsius(26.001) {
		t.Errorf("78.8 °F was handed on as %v", got)
	}
}

func TestBoardOnlyResetIsExplained(t *testing.T) {
	b := newBench(t, nil).at(tripped(time.Hour))
	const want = "soakwarden reset north over-the-cutoff --seen animal,level,probe --who NAME --why REASON"
	for _, path := range []string{"/", "/station/north/reset?cause=over-the-cutoff"} {
		_, body := b.get(t, path)
		if !strings.Contains(body, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	if _, body := b.get(t, "/station/north/reset?cause=over-the-cutoff"); strings.Contains(body, "<form") {
		t.Error("the page offers a reset that only the board may do")
	}
	_, body := b.get(t, "/station/north/reset?cause=probe-silent")
	if !strings.Contains(body, `name="seen" value="probe"`) || strings.Contains(body, `value="animal"`) {
		t.Error("the reset of a silent probe asks for the wrong things")
	}
}

func TestWordsForAShell(t *testing.T) {
	for in, want := range map[string]string{"north": "north", "tub 2": "'tub 2'", "o'k; rm -rf": `'o'\''k; rm -rf'`} {
		if got := shellWord(in); got != want {
			t.Errorf("%q is written %s, want %s", in, got, want)
		}
	}
}

func FuzzAct(f *testing.F) {
	for _, s := range []string{
		"station=north&act=attended", "station=north&act=reset&cause=probe-silent&seen=probe&seen=animal",
		"station=north&act=water-changed&water=26C", "act=%ff&station=%00", "%zz", "seen=a;b", strings.Repeat("a=&", 500),
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		form, err := url.ParseQuery(body)
		if err != nil && form == nil {
			return
		}
		req, err := requestOf(form).Parse(controller.Page)
		if err != nil {
			if req != (loop.ActRequest{}) {
				t.Errorf("%q: an error and a request", body)
			}
			return
		}
		if req.Station == "" || req.Act.Kind == controller.NoAct || req.Act.Place != controller.Page {
			t.Errorf("%q was taken as %+v", body, req)
		}
		if req.Act.Seen != 0 && req.Act.Kind != controller.Reset {
			t.Errorf("%q: seen without a reset", body)
		}
	})
}
