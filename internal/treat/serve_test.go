package treat

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
)

// A whole treatment over the way that people have to it, and requests that
// cannot be.
func TestHandler(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	server := httptest.NewServer(w.desk.Handler())
	defer server.Close()
	ask := func(path, body string, code int, into any) string {
		t.Helper()
		var r *http.Response
		var err error
		if body == "" {
			r, err = http.Get(server.URL + path)
		} else {
			r, err = http.Post(server.URL+path, "application/json", strings.NewReader(body))
		}
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		data, err := io.ReadAll(r.Body)
		if err != nil || r.StatusCode != code {
			t.Fatalf("%s: %d %s %v", path, r.StatusCode, data, err)
		}
		if into != nil {
			if err := json.Unmarshal(data, into); err != nil {
				t.Fatalf("%s: %v", data, err)
			}
		}
		return string(data)
	}
	var l List
	ask("/treat/list", "", 200, &l)
	if len(l.Schedules) < 7 || len(l.Refused) != 3 {
		t.Errorf("%+v", l)
	}
	var standing []Standing
	ask("/treat/status", "", 200, &standing)
	if len(standing) != 1 || standing[0].Stage != "none" || standing[0].LeftS != nil {
		t.Errorf("%+v", standing)
	}
	if text := ask("/treat/status?station=oven", "", 409, nil); !strings.Contains(text, `there is no chamber \"oven\": write one of cabinet`) {
		t.Error(text)
	}
	order := `{"station":"cabinet","schedule":"core-56-30min","operator":"Ada Example","residents":[{"name":"corn snake","now":"tub south"}]`
	if text := ask("/treat/plan", order+"}", 200, nil); !strings.Contains(text, `"fits":true`) || w.view() != nil {
		t.Error(text)
	}
	// No key of a request skips the typing.
	for _, key := range []string{`,"yes":true}`, `,"force":true}`, `,"typed":"nothing alive is inside cabinet 1234"}`} {
		if text := ask("/treat/announce", order+key, 409, nil); !strings.Contains(text, "unknown field") {
			t.Error(text)
		}
	}
	for _, body := range []string{"{", order + "}{}", "[]"} {
		if text := ask("/treat/announce", body, 409, nil); !strings.Contains(text, "the request could not be read") {
			t.Error(text)
		}
	}
	ask("/treat/start", `{"station":"cabinet"}`, 409, nil)
	var ch Challenge
	ask("/treat/announce", order+"}", 200, &ch)
	ask("/treat/start", `{"station":"cabinet","typed":"`+ch.Type+`"}`, 200, nil)
	w.pass(time.Hour)
	ask("/treat/status?station=cabinet", "", 200, &standing)
	if s := standing[0]; s.Number != "cabinet-0001" || s.Stage != "heating to the target" || s.BehindK == nil || s.LeftS == nil || s.Slowest != "plank" {
		t.Errorf("%+v", s)
	}
	ask("/treat/release", `{"station":"cabinet","who":"Ada Example"}`, 409, nil)
	ask("/treat/stop", `{"station":"cabinet","who":"Ada Example","why":"a test"}`, 200, nil)
	w.spoil = func(r []controller.Reading) {
		for i := range r {
			r[i].Value = 298_150_000_000
		}
	}
	w.until("waits for release", time.Hour)
	var out Released
	ask("/treat/release", `{"station":"cabinet","who":"Ada Example"}`, 200, &out)
	if out.Result != "FAIL" || !strings.Contains(out.Record, "stopped by Ada Example: a test") {
		t.Errorf("%+v", out)
	}
}

// A plan needs no daemon.
func TestPlanOf(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	if p, err := PlanOf(w.cfg, Order{Station: "cabinet", Target: "60C", Hold: "1h"}, 20); err != nil || p.Fits {
		t.Errorf("%+v %v", p, err)
	}
	if p, err := PlanOf(w.cfg, Order{Station: "cabinet", Target: "57C", Hold: "1h"}, 20); err != nil || !p.Fits {
		t.Errorf("%+v %v", p, err)
	}
	for words, c := range map[string]struct {
		o     Order
		start float64
	}{
		"no chamber \"x\"": {Order{Station: "x", Schedule: "core-56-30min"}, 20},
		"is refused":       {Order{Station: "cabinet", Schedule: "freezer-2d"}, 20},
		"write −40 to 60":  {Order{Station: "cabinet", Schedule: "core-56-30min"}, 90},
	} {
		if _, err := PlanOf(w.cfg, c.o, c.start); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v", words, err)
		}
	}
}
