package main

import (
	"strings"
	"testing"
	"time"

	"soakwarden/sim/rig"
)

// mains takes the mains away from pads and board for so long, in the model: no
// program lives meanwhile, the water cools, and afterwards it starts by itself.
// It returns the coldest and the hottest water.
func (w *world) mains(off time.Duration) (cold, hot float64) {
	w.t.Helper()
	// Virtual time runs ahead of the card; what was handed to it is on it now.
	if err := w.record.Prove(); err != nil {
		w.t.Fatal(err)
	}
	w.fault(rig.MainsLost, "", off)
	cold, hot = 99, 0
	for end := w.now() + off; w.now() < end; {
		if err := w.run.Step(); err != nil {
			w.t.Fatal(err)
		}
		if w.run.Bench().Heats(0) {
			w.t.Fatal("heat without mains")
		}
		water := w.run.Bench().Truth(0).Water
		cold, hot = min(cold, water), max(hot, water)
	}
	w.snap = nil // a program that starts has not ticked yet
	w.open()
	for began := w.now(); w.now() < began+4*time.Minute; w.pass(10 * time.Second) {
		if w.run.Bench().Heats(0) {
			w.t.Fatalf("heat %s after an unclean start, before its five minutes", w.now()-began)
		}
	}
	return cold, hot
}

// Mains lost for five minutes, five hours, two days and an unknown time, in the
// stages in which it matters: what the program does is what the text of
// procedure.Case.Resume says.
func TestMainsLost(t *testing.T) {
	const (
		round = "Then do a round"
		rest  = "Lift the snake out. Dry box."
		box   = "Then write its temperature"
		long  = "say how long the power was off"
	)
	resting := func(w *world) {
		w.tell(0, "stage", w.station(), "rest", "--box", "27C")
		w.pass(time.Hour)
	}
	for _, c := range []struct {
		name    string
		bring   func(*world) // from soaking, nil: stay there
		off     time.Duration
		unknown bool
		stage   string
		paused  string
		story   string
		cold    float64 // the water gets at least this cold, °C
		answer  []string
	}{
		{name: "soaking, 5 min", off: 5 * time.Minute, stage: "soaking", story: "its last word was", cold: 30},
		{name: "soaking, 5 h", off: 5 * time.Hour, stage: "soaking", paused: round, story: "its last word was 5 h", cold: 27, answer: []string{"round", "--all-well"}},
		{name: "soaking, 2 days", off: 48 * time.Hour, stage: "soaking", paused: rest, story: "its last word was 2 days", cold: 21, answer: []string{"stage", "rest", "--box", "27C"}},
		{name: "soaking, unknown", off: 3 * time.Hour, unknown: true, stage: "soaking", paused: long, story: "it was off for an unknown time", cold: 28, answer: []string{"stage", "outage", "--off", "5h"}},
		{name: "dry rest, 5 min", bring: resting, off: 5 * time.Minute, stage: "dry rest", story: "its last word was", cold: 30},
		{name: "dry rest, 5 h", bring: resting, off: 5 * time.Hour, stage: "dry rest", paused: box, story: "its last word was 5 h", cold: 28, answer: []string{"stage", "box", "--box", "26C"}},
		{name: "dry rest, unknown", bring: resting, off: time.Hour, unknown: true, stage: "dry rest", paused: long, story: "unknown time", cold: 29, answer: []string{"stage", "outage", "--off", "10m"}},
		{name: "attended, 5 h", bring: func(w *world) { w.tell(0, "stage", w.station(), "attended") }, off: 5 * time.Hour, stage: "attended", paused: round, story: "5 h", cold: 26, answer: []string{"round", "--all-well"}},
		{name: "rinse, 2 days", bring: func(w *world) { w.tell(0, "stage", w.station(), "rinse", "--why", "for a test") }, off: 48 * time.Hour, stage: "rinse", story: "2 days", cold: 21},
		{name: "on paper, unknown", bring: func(w *world) {
			w.tell(0, "stage", w.station(), "rinse", "--why", "for a test")
			w.tell(0, "stage", w.station(), "paper")
		}, off: time.Hour, unknown: true, stage: "back on paper", story: "unknown time", cold: 29},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := soaking(t)
			n := w.station()
			if c.bring != nil {
				c.bring(w)
			}
			w.trusted = !c.unknown
			cold, hot := w.mains(c.off)
			if cold > c.cold || hot > 29.9 {
				t.Errorf("water from %.1f to %.1f °C", cold, hot)
			}
			l := w.list()
			if l.Stage != c.stage || !strings.Contains(l.Paused, c.paused) || (c.paused == "") != (l.Paused == "") {
				t.Errorf("%s, paused %q", l.Stage, l.Paused)
			}
			if l.Paused != "" {
				if got := w.tell(1, "status"); !strings.Contains(got, "case waits") {
					t.Errorf("a case that waits is no alarm:\n%s", got)
				}
				w.says(1, "the case is paused", "stage", n, "rinse", "--why", "x")
				w.tell(0, append([]string{c.answer[0], n}, c.answer[1:]...)...)
				if l := w.list(); strings.Contains(l.Paused, c.paused) {
					t.Errorf("still paused: %s", l.Paused)
				}
			}
			if got := w.tell(0, "case", "report", w.journal()); !strings.Contains(got, c.story) {
				t.Errorf("the report does not say %q:\n%s", c.story, got)
			}
		})
	}
}

// Nobody knows how long it was: the worst is taken, the animal comes out and the
// water is not used again.
func TestOutageOfWhichNobodyKnowsTheLength(t *testing.T) {
	w := soaking(t)
	n := w.station()
	w.trusted = false
	w.mains(20 * time.Minute)
	w.says(1, "say how long", "round", n, "--all-well")
	w.says(1, "write how long it was, such as 5h", "stage", n, "outage")
	w.says(0, "Lift the snake out. Dry box.", "stage", n, "outage", "--off", "unknown")
	w.tell(0, "stage", n, "rest", "--box", "27C")
	if l := w.list(); l.Paused != "" || l.Stage != "dry rest" {
		t.Errorf("%+v", l)
	}
}

// After five minutes the soak simply goes on: heat comes back, the band is held,
// and the times have moved on by the outage.
func TestShortOutageGoesOn(t *testing.T) {
	w := soaking(t)
	due := func(what string) float64 {
		t.Helper()
		for _, d := range w.list().Due {
			if strings.HasPrefix(d.What, what) {
				return d.InS
			}
		}
		t.Fatalf("%q is not due", what)
		return 0
	}
	before, began := due("Do the round"), w.now()
	w.mains(5 * time.Minute)
	if gone, passed := before-due("Do the round"), (w.now() - began).Seconds(); gone < passed-45 || gone > passed+45 {
		t.Errorf("the round came nearer by %.0f s in %.0f s", gone, passed)
	}
	w.pass(40 * time.Minute)
	water := w.run.Bench().Truth(0).Water
	if set := w.snap.Stations[0].SetPoint.Celsius(); water < set-0.3 || water > set+0.3 || w.stage() != "soaking" {
		t.Errorf("%s with water of %.2f °C, set point %.2f °C", w.stage(), water, set)
	}
}
