package main

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"soakwarden/internal/casebook"
)

// list is what "case list --json" says of the only case.
func (w *world) list() casebook.Line {
	w.t.Helper()
	var all []casebook.Line
	if err := json.Unmarshal([]byte(w.tell(0, "case", "list", "--json")), &all); err != nil || len(all) != 1 {
		w.t.Fatalf("%d cases, %v", len(all), err)
	}
	return all[0]
}

// soaking brings a world into soak water.
func soaking(t *testing.T) *world {
	t.Helper()
	w := newWorld(t)
	n := w.station()
	w.tell(0, "case", "begin", n, "--animal", "carpet python", "--asked")
	w.until("ready", 12*time.Hour)
	w.tell(0, "stage", n, "animal-in")
	w.pass(31 * time.Minute)
	w.tell(0, "stage", n, "attended")
	w.tell(0, "stage", n, "detergent")
	w.tell(0, "stage", n, "done")
	w.pass(time.Hour)
	return w
}

// A restart at any moment goes on in the same stage with the right times.
func TestRestartGoesOnWhereItWas(t *testing.T) {
	w := newWorld(t)
	n := w.station()
	same := func() {
		t.Helper()
		before := w.list()
		w.restart(time.Minute)
		after := w.list()
		if before.Stage != after.Stage || after.Paused != "" || len(before.Due) != len(after.Due) {
			t.Fatalf("%+v\nbecame\n%+v", before, after)
		}
		for i := range after.Due {
			// A power cut may forget what passed since the last save; the clock gives
			// it back, and the minute without power counts too.
			gone := before.Due[i].InS - after.Due[i].InS
			if after.Due[i].What != before.Due[i].What || before.Due[i].InS != 0 && (gone < 49 || gone > 71) {
				t.Errorf("%s in %v s became %s in %v s", before.Due[i].What, before.Due[i].InS, after.Due[i].What, after.Due[i].InS)
			}
		}
	}
	w.tell(0, "case", "begin", n, "--animal", "carpet python", "--asked", "--soak", "24h", "--rest", "2h")
	same()
	w.until("ready", 12*time.Hour)
	same()
	w.tell(0, "stage", n, "animal-in")
	same()
	w.pass(17 * time.Minute)
	same()
	w.pass(17 * time.Minute)
	w.tell(0, "stage", n, "attended")
	same()
	w.tell(0, "stage", n, "detergent")
	w.pass(7 * time.Minute)
	same()
	w.tell(0, "stage", n, "done")
	w.pass(3*time.Hour + 7*time.Minute)
	same()
	w.tell(0, "stage", n, "rest", "--box", "27C")
	w.pass(59 * time.Minute)
	same()
	w.tell(0, "stage", n, "rinse", "--why", "short, for a test")
	same()
	w.tell(0, "stage", n, "paper")
	same()
}

func TestMainsLost(t *testing.T) {
	for _, c := range []struct {
		name    string
		off     time.Duration
		trusted bool
		paused  string
		story   string
	}{
		{"five minutes", 5 * time.Minute, true, "", "its last word was "},
		{"five hours", 5 * time.Hour, true, "Then do a round", "its last word was 5 h"},
		{"two days", 48 * time.Hour, true, "Lift the snake out. Dry box.", "its last word was 2 days ago"},
		{"unknown", 3 * time.Hour, false, "say how long the power was off", "it was off for an unknown time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := soaking(t)
			n := w.station()
			w.trusted = c.trusted
			w.restart(c.off)
			l := w.list()
			if l.Stage != "soaking" || !strings.Contains(l.Paused, c.paused) || (c.paused == "") != (l.Paused == "") {
				t.Errorf("%+v", l)
			}
			switch c.name {
			case "five hours":
				w.says(1, "the case is paused", "stage", n, "rinse", "--why", "x")
				w.tell(0, "round", n, "--all-well")
			case "two days":
				w.says(1, "Lift the snake out. Dry box.", "round", n, "--all-well")
				w.tell(0, "stage", n, "rest", "--box", "27C")
			case "unknown":
				w.says(1, "say how long", "round", n, "--all-well")
				w.says(0, "Lift the snake out. Dry box.", "stage", n, "outage", "--off", "unknown")
				w.tell(0, "stage", n, "rest", "--box", "27C")
			}
			if l := w.list(); l.Paused != "" {
				t.Errorf("still paused: %s", l.Paused)
			}
			if got := w.tell(0, "case", "report", w.journal()); !strings.Contains(got, c.story) {
				t.Errorf("the report does not say %q:\n%s", c.story, got)
			}
		})
	}
}

// The machine's own clock goes on while only the program restarts.
func TestSameBootNeedsNoWallClock(t *testing.T) {
	w := newWorld(t)
	w.trusted, w.boot = false, "a boot"
	w.tell(0, "case", "begin", w.station(), "--animal", "carpet python", "--asked")
	w.pass(5 * time.Minute)
	w.restart(0)
	if l := w.list(); l.Paused != "" || l.Since != "5 min" {
		t.Errorf("%+v", l)
	}
	w.boot = "another boot"
	w.restart(0)
	if l := w.list(); l.Paused == "" {
		t.Error("another boot without a clock does not ask")
	}
}
