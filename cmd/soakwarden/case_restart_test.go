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
			days := strings.HasPrefix(after.Due[i].What, "Look at animal") // are counted by date
			if after.Due[i].What != before.Due[i].What || before.Due[i].InS != 0 && !days && (gone < 49 || gone > 71) || days && gone != 0 {
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
	w.tell(0, "stage", n, "furnish", "--item", "enclosure", "--way", "wash", "--enclosure")
	w.tell(0, "stage", n, "treated", "--item", "enclosure", "--record", "washed hot")
	w.tell(0, "stage", n, "return", "--room", "27C")
	same()
	w.jumped += 3 * 24 * time.Hour
	w.tell(0, "stage", n, "look", "--mites", "0")
	same()
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

// The program may die between what a station was told and what the case took.
// The case then stands where it was, and the same order carries it on: nobody
// has to find out how far it got.
func TestProgramThatDiesInAnOrder(t *testing.T) {
	w := newWorld(t)
	n := w.station()
	deaths := 0
	order := func(args ...string) {
		t.Helper()
		for died := 1; ; died++ {
			before := w.stage()
			w.dies = died
			if w.step(args) == 0 {
				w.dies = 0
				return
			}
			if w.dies > 0 {
				t.Fatalf("%v is refused in %s: %s", args, before, w.tell(1, args...))
			}
			deaths++
			w.restart(time.Second)
			if got := w.stage(); got != before {
				t.Fatalf("%v: died in %s, came back in %s", args, before, got)
			}
			w.pass(20 * time.Second)
		}
	}
	order("case", "begin", n, "--animal", "carpet python", "--asked", "--rest", "2h")
	w.until("ready", 12*time.Hour)
	order("stage", n, "animal-in")
	w.pass(31 * time.Minute)
	order("stage", n, "attended")
	order("stage", n, "extend")
	order("stage", n, "water-changed", "--water", "29C")
	order("stage", n, "done")
	w.pass(31 * time.Minute)
	order("stage", n, "attended")
	order("stage", n, "detergent")
	order("stage", n, "done")
	order("round", n, "--all-well")
	w.pass(time.Hour)
	order("stage", n, "rest", "--box", "27C")
	w.pass(2*time.Hour + 5*time.Minute)
	order("stage", n, "fill")
	w.until("ready", 12*time.Hour)
	order("stage", n, "animal-in")
	order("stage", n, "rinse", "--why", "for a test")
	order("stage", n, "paper")
	order("stage", n, "again")
	w.pass(time.Minute)
	order("stage", n, "stop", "--why", "for a test")
	if deaths < 20 {
		t.Errorf("it died %d times in all", deaths)
	}
}
