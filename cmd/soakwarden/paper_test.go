package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"
)

func TestFollowupCommand(t *testing.T) {
	file := filepath.Join(t.TempDir(), "days.ics")
	code, out, errOut := ask("followup", "--treated", "2028-02-20", "--room", "80.6F", "--ics", file, "--json")
	var got struct {
		Events []struct{ Date, What, Why string }
	}
	if err := json.Unmarshal([]byte(out), &got); code != 0 || err != nil || errOut != "" {
		t.Fatalf("%d, %v, %q", code, err, errOut)
	}
	if len(got.Events) != 6 || got.Events[0].Date != "2028-02-20" || got.Events[5].Date != "2028-03-31" {
		t.Errorf("%+v", got)
	}
	for _, e := range got.Events {
		if e.What == "" || e.Why == "" {
			t.Errorf("%+v", e)
		}
	}
	data, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer data.Close()
	cal, err := ical.NewDecoder(data).Decode()
	if err != nil || len(cal.Events()) != 6 {
		t.Errorf("the calendar file: %v", err)
	}
	for _, c := range []struct {
		args []string
		say  string
	}{
		{[]string{"--treated", "20.2.2028", "--room", "27C"}, "2031-10-04"},
		{[]string{"--treated", "2028-02-20"}, "--room 27C or --room 80F"},
		{[]string{"--treated", "2028-02-20", "--room", "27"}, "like 26C or 79F"},
		{[]string{"--treated", "2028-02-20", "--room", "85C"}, "between 5C and 40C"},
		{[]string{"--treated", "2028-02-20", "--room", "27C", "--units", "K"}, "C, F or both"},
		{[]string{"--treated", "2028-02-20", "--room", "27C", "--ics", file}, "exists"},
	} {
		if code, _, errOut := ask(append([]string{"followup"}, c.args...)...); code != 2 || !strings.Contains(errOut, c.say) {
			t.Errorf("%v: %d %q", c.args, code, errOut)
		}
	}
	if _, out, _ := ask("followup", "--treated", "2028-02-20", "--room", "27C", "--units", "F"); strings.Contains(out, "°C") || !strings.Contains(out, "80.6 °F") {
		t.Errorf("in Fahrenheit: %s", out)
	}
}

func TestPapers(t *testing.T) {
	const bench = "../../configs/bench.toml"
	file := filepath.Join(t.TempDir(), "wall.html")
	if code, _, errOut := ask("handover", "sheet", bench, "--phone", "keeper=0 1 2", "--out", file); code != 0 {
		t.Fatal(errOut)
	}
	if text, err := os.ReadFile(file); err != nil || strings.Count(string(text), `class="sheet"`) != 2 {
		t.Errorf("%v: %s", err, text)
	}
	if code, out, _ := ask("handover", "labels", bench); code != 0 || !strings.Contains(out, "plug of the heat pad") {
		t.Errorf("%d: %s", code, out)
	}
	for _, c := range []struct {
		args []string
		say  string
	}{
		{[]string{"sheet", bench}, "--phone"}, {[]string{"sheet", bench, "--phone", "0 1 2"}, "keeper=number"}, {[]string{"sheet", bench, "--units", "K"}, "C, F or both"},
		{[]string{"sheet", bench, "--phone", "a\u202eb=1"}, "control character"},
		{[]string{"sheet", bench, "--phone", "keeper=1", "--station", "east"}, "north, south"}, {[]string{"labels", "nowhere.toml"}, "nowhere.toml"},
		{[]string{"note", "--socket", "nowhere"}, "no daemon answers"}, {[]string{"note", "--phone", "x"}, "keeper=number"},
	} {
		if code, _, errOut := ask(append([]string{"handover"}, c.args...)...); code != 2 || !strings.Contains(errOut, c.say) {
			t.Errorf("%v: %d %q", c.args, code, errOut)
		}
	}
	broken := filepath.Join(t.TempDir(), "broken.toml")
	if err := os.WriteFile(broken, []byte("name = 1"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errOut := ask("handover", "labels", broken); code != 2 || !strings.Contains(errOut, "soakwarden check") {
		t.Errorf("%d %q", code, errOut)
	}
}

func TestRoomIsWorkedInOrder(t *testing.T) {
	code, out, _ := ask("case", "room", "--infested", "rack-3=2,rack-1=40", "--quarantine", "rack-2=14", "--settled", "hall")
	want := "  1. hall\n  2. rack-2\n  3. rack-1\n  4. rack-3\n"
	if code != 0 || !strings.HasPrefix(out, want) || !strings.Contains(out, "This program gives no dose") {
		t.Errorf("%d:\n%s", code, out)
	}
	if code, out, _ := ask("case", "room", "--json"); code != 0 || !json.Valid([]byte(out)) {
		t.Errorf("%d: %s", code, out)
	}
	if code, _, errOut := ask("case", "room", "--infested", "rack-3"); code != 2 || !strings.Contains(errOut, "rack-2=14") {
		t.Errorf("%d %q", code, errOut)
	}
}

func TestNoteOfARunningCase(t *testing.T) {
	w := newWorld(t)
	w.tell(0, "case", "begin", w.station(), "--animal", "carpet python", "--asked")
	w.says(0, "case north-1, carpet python: filling and warming", "handover", "note", "--phone", "keeper=0 1 2")
	w.says(0, "looking in is no round yet", "round", w.station())
	w.pass(20 * time.Second)
	w.says(0, "\"stage\": \"filling and warming\"", "status", "--json")
}
