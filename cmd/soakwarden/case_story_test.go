package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"soakwarden/internal/casebook"
	"soakwarden/internal/config"
	"soakwarden/internal/rehearsal"
	"soakwarden/internal/treat"
	"soakwarden/sim/rig"
)

// A whole case through the command line: a soak of six days with water changes
// and dry rests, a trip and its reset, a treatment, return, looks, all-clear.
func TestWholeCaseThroughTheCommandLine(t *testing.T) {
	w := newWorld(t)
	n := w.station()
	w.says(1, "answer every question", "case", "begin", n, "--animal", "carpet python")
	w.says(1, "Veterinarian first", "case", "begin", n, "--animal", "carpet python", "--asked", "--yes", "shed")
	w.says(0, "A case begins for carpet python", "case", "begin", n, "--animal", "carpet python", "--asked", "--who", "first keeper")
	w.says(1, "one animal a tub", "case", "begin", n, "--animal", "corn snake", "--asked")
	w.says(1, "wait until the tub is ready", "stage", n, "animal-in")
	w.tell(0, "stage", n, "weigh", "--grams", "1620", "--text", "lively")
	w.tell(0, "stage", n, "furnish", "--item", "cork branch", "--way", "heat")
	w.tell(0, "stage", n, "furnish", "--item", "enclosure", "--way", "wash", "--enclosure")
	w.tell(0, "stage", n, "place", "--text", "in a carrier on the shelf")

	detergent := func() {
		t.Helper()
		w.says(0, "Unplug before you reach in", "stage", n, "attended")
		w.tell(0, "stage", n, "detergent")
		w.pass(2 * time.Minute)
		w.says(0, "done", "stage", n, "done")
	}
	for day := 1; ; day++ {
		w.until("ready", 12*time.Hour)
		w.says(0, "done", "stage", n, "animal-in")
		w.says(0, "Unplug", "stage", n, "attended")
		w.says(1, "wait another", "stage", n, "detergent")
		w.tell(0, "stage", n, "done")
		w.pass(35 * time.Minute)
		detergent()
		w.pass(5 * time.Hour)
		w.says(0, "A round: all well; 12 mites", "round", n, "--all-well", "--mites", "12", "--who", "first keeper")
		if day == 2 {
			w.fault(rig.ProbeSilent, n+"/control", 5*time.Minute)
			w.pass(6 * time.Minute)
			if got := w.tell(1, "status"); !strings.Contains(got, "probe silent") {
				t.Fatalf("no trip:\n%s", got)
			}
			w.says(0, "dry box", "stage", n, "animal-out", "--who", "first keeper")
			w.says(0, "The dry box has 27.0 °C / 80.6 °F", "stage", n, "box", "--box", "80.6F")
			w.says(0, "done: reset", "reset", n, "probe-silent", "--seen", "probe", "--who", "first keeper", "--why", "plug was wet")
		} else {
			w.pass(5 * time.Hour)
			w.says(0, "Unplug", "stage", n, "attended")
			w.tell(0, "stage", n, "water-changed", "--water", "84F")
			w.pass(5 * time.Minute)
			w.tell(0, "stage", n, "done")
			w.pass(35 * time.Minute)
			detergent()
			w.says(1, "in the future", "round", n, "--all-well", "--at", w.wall().Add(time.Hour).Format(time.RFC3339))
			w.tell(0, "round", n, "--not", "chin", "--mites", "3")
			w.pass(4 * time.Hour)
			w.says(1, "--box 27C or --box 81F", "stage", n, "rest")
			w.says(0, "in its dry box", "stage", n, "rest", "--box", "28C")
		}
		w.says(1, "fill it with plain water first", "stage", n, "in-service")
		w.pass(8*time.Hour + 10*time.Minute)
		if w.run.Bench().Heats(0) {
			t.Fatal("the tub heats in a dry rest")
		}
		if strings.Contains(w.tell(0, "case", "list"), "Rinse the animal") {
			break
		}
		w.tell(0, "stage", n, "fill")
		if day > 9 {
			t.Fatal("the soak does not end")
		}
	}
	w.tell(0, "stage", n, "rinse")
	w.tell(0, "stage", n, "weigh", "--grams", "1601", "--text", "calm")
	w.tell(0, "stage", n, "paper")
	w.says(1, "not known as passed and released", "stage", n, "treated", "--item", "cork branch", "--record", "cabinet-0009")
	number := w.treat()
	w.tell(0, "stage", n, "treated", "--item", "cork branch", "--record", number)
	w.says(1, "only into a treated enclosure", "stage", n, "return", "--room", "27C")
	w.tell(0, "stage", n, "sealed", "--item", "cork branch", "--record", number)
	w.tell(0, "stage", n, "treated", "--item", "enclosure", "--record", "washed at 60 °C")
	w.says(0, "back in the treated enclosure", "stage", n, "return", "--room", "80F")
	w.says(1, "go on looking until", "stage", n, "clear")
	for _, days := range []int{3, 10, 27} {
		w.jumped += time.Duration(days) * 24 * time.Hour
		w.says(0, "no mite", "stage", n, "look", "--mites", "0")
	}
	w.says(0, "All-clear", "stage", n, "clear", "--who", "first keeper")

	w.report(t)
	var out bytes.Buffer
	if code := run([]string{"journal", "verify", w.journal()}, &out, &out); code != 0 {
		t.Errorf("the record does not verify: %s", &out)
	}
}

// treat heats the furnishings in a cabinet of the model and releases them. The
// tub stands empty meanwhile, so its hours are skipped.
func (w *world) treat() string {
	w.t.Helper()
	text, err := os.ReadFile("../../testdata/treatments/cabinet.toml")
	if err != nil {
		w.t.Fatal(err)
	}
	cfg, problems := config.Parse("cabinet.toml", text)
	if cfg == nil {
		w.t.Fatal(problems)
	}
	s := &rehearsal.Scenario{Name: "treatment", Config: cfg, Duration: 9 * 24 * time.Hour, Seed: 5, Room: 19*1e9 + 273_150_000_000}
	cabinet, err := s.NewRun(rehearsal.Options{Recorder: w.passed})
	if err != nil {
		w.t.Fatal(err)
	}
	pass := func(d time.Duration) {
		for end := cabinet.Bench().Now() + d; cabinet.Bench().Now() < end; w.jumped += time.Second {
			if err := cabinet.Step(); err != nil {
				w.t.Fatal(err)
			}
		}
	}
	pass(time.Minute)
	station := cfg.Stations[0].Name
	challenge, err := cabinet.Desk().Announce(treat.Order{
		Station: station, Schedule: "core-56-30min", Operator: "first keeper", Load: "cork branch and what else is in the cabinet",
		Residents: []treat.Resident{{Name: "carpet python", Now: "on paper, in a bare box"}},
	})
	if err != nil {
		w.t.Fatal(err)
	}
	number, _, err := cabinet.Desk().Start(station, challenge.Type)
	if err != nil {
		w.t.Fatal(err)
	}
	for cabinet.Bench().Now() < s.Duration {
		pass(10 * time.Minute)
		if r, _, err := cabinet.Desk().Release(treat.Release{Station: station, Who: "second keeper"}); err == nil {
			if r.Result != "PASS" {
				w.t.Fatalf("%s: %s", r.Result, r.Reason)
			}
			return number
		}
	}
	w.t.Fatal("the treatment does not end")
	return ""
}

// report reads the case back from the journal.
func (w *world) report(t *testing.T) {
	t.Helper()
	text := w.tell(0, "case", "report", w.journal())
	if testing.Verbose() {
		t.Log(text)
	}
	last := 0
	for _, words := range []string{
		"Case north-1: carpet python", "A case begins for carpet python", "The tub is ready", "plain water for drinking", "Soak water was made",
		"A round: all well; 12 mites", "dry box of 28.0 °C / 82.4 °F", "The station tripped: probe silent", "The trip was reset: probe silent",
		"rinsed and looked over", "back on paper", "cork branch is treated, record cabinet-0001", "back in the treated enclosure", "A look: no mite", "All-clear",
	} {
		i := strings.Index(text[last:], words)
		if i < 0 {
			t.Errorf("the report does not say %q after %q", words, text[max(0, last-60):last])
			continue
		}
		last += i
	}
	var r casebook.Report
	if err := json.Unmarshal([]byte(w.tell(0, "case", "report", w.journal(), "--json")), &r); err != nil {
		t.Fatal(err)
	}
	if r.Stage != "cleared" || r.Trips != 1 || r.Looks != 3 || r.Rests < 4 || r.Changes < 4 || r.Before != 1620 || r.After != 1601 {
		r.Steps = nil
		t.Errorf("%+v", r)
	}
	if fmt.Sprint(r.Records) != "[cabinet-0001 washed at 60 °C]" {
		t.Errorf("%v", r.Records)
	}
}
