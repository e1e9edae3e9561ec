package treat

import (
	"flag"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

var update = flag.Bool("update", false, "write the records anew")

// golden compares a record with the one that is kept. Its chain value differs
// from run to run, because a journal begins with a random number.
func golden(t *testing.T, name, got string) {
	t.Helper()
	chain := regexp.MustCompile(`chain value +[0-9a-f]{64} over [0-9]+ entries`)
	if !chain.MatchString(got) {
		t.Error("the record has no chain value")
	}
	got = chain.ReplaceAllString(got, "chain value      (of the journal)")
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	a, b := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			t.Fatalf("%s, line %d:\n%s\nwant\n%s", name, i+1, a[i], b[i])
		}
	}
	t.Fatalf("%s: %d lines, want %d", name, len(a), len(b))
}

// lines are what every record says or says not to know.
var lines = []string{
	"number", "operator", "reviewer", "program", "configuration", "chamber", "load", "mass of the load", "mapping of cold spots",
	"typed before the start", "schedule", "source", "our own choice in it", "limit of the load", "calibration before", "calibration after",
	"uncertainty", "depth", "at the target", "longest at the target", "largest gap", "log interval", "clock", "started", "restarts of the clock",
	"deviations", "released by", "released at", "temperatures then", "label", "storage after", "journal's chain value",
}

func whole(t *testing.T, record string) {
	t.Helper()
	for _, name := range lines {
		if !regexp.MustCompile(`(?m)^ +` + regexp.QuoteMeta(name) + `( \(\d+\))? +\S`).MatchString(record) {
			t.Errorf("no line %q", name)
		}
	}
	if !strings.Contains(record, "moisture") || !strings.Contains(record, "CURVE") || strings.Count(record, "probe 28-") < 3 {
		t.Error("moisture, probes or curve are missing")
	}
	if strings.Contains(record, "%!") {
		t.Error("a line is not written right")
	}
}

// One heating, everything recorded.
func TestRecordOfAHeating(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("holding", 8*time.Hour)
	w.until("waits for release", 24*time.Hour)
	out, _, err := w.desk.Release(Release{
		Station: "cabinet", Who: "Ada Example", Reviewer: "Ben Example", Label: "heated (invented)", Storage: "closed box (invented)",
		After: []After{
			{"28-0000a2000001", "+0.10K", "ice point"}, {"28-0000a2000002", "-0.10K", "ice point"},
			{"28-0000a2000003", "0.03K", "ice point"}, {"28-0000a2000004", "0.12K", "ice point"},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	if out.Result != "PASS" || w.view() != nil {
		t.Errorf("%s: %s", out.Result, out.Reason)
	}
	whole(t, out.Record)
	golden(t, "heating.txt", out.Record)
	if number, text, err := w.desk.Record("cabinet"); err != nil || number != "cabinet-0001" || text != out.Record {
		t.Errorf("%s %v", number, err)
	}
}

func thin(st *config.Station) {
	st.Pieces[0].Thickness, st.Probes[1].Depth = 0.2, 0.1
}

// One freezing, of which little was recorded.
func TestRecordOfAFreezing(t *testing.T) {
	t.Parallel()
	// A thinner load, which is cold within hours.
	w := newWorld(t, "freezer", thin)
	w.step = time.Minute
	o := w.order("freeze-18-14d")
	o.Residents, o.NoResidents, o.Load, o.LongestGap = nil, true, "", "1h"
	ch, err := w.desk.Announce(o)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := w.desk.Start("freezer", ch.Type); err != nil {
		t.Fatal(err)
	}
	w.until("holding", 48*time.Hour)
	// The hold is a fortnight in which nothing moves.
	w.pass(time.Hour)
	w.frozen, w.step = true, 30*time.Minute
	if w.view().Together < 59*time.Minute {
		t.Errorf("%+v", w.view())
	}
	w.until("warming up again", 15*24*time.Hour)
	if d := w.last; d.Treatment.Target > 1 || d.Buzzer {
		t.Errorf("%+v", d)
	}
	// A person switches the freezer off.
	w.frozen, w.room = false, 45 // and puts it into the sun
	for w.view().Stage != "waits for release" {
		for range 600 {
			w.chamber.Step(sim.ChamberDrive{Fan: true, Room: w.room})
		}
		w.frozen = true
		w.tick()
		w.frozen = false
	}
	out, _, err := w.desk.Release(Release{Station: "freezer", Who: "Ada Example"})
	if err != nil {
		t.Fatal(err)
	}
	if out.Result != "PASS" {
		t.Errorf("%s: %s", out.Result, out.Reason)
	}
	whole(t, out.Record)
	for _, name := range []string{"reviewer", "mapping of cold spots", "label", "storage after", "calibration after", "load"} {
		if !regexp.MustCompile(`(?m)^ +` + name + ` +not recorded$`).MatchString(out.Record) {
			t.Errorf("%s is not said to be not recorded", name)
		}
	}
	golden(t, "freezing.txt", out.Record)
}

// A probe that shifted by more than its uncertainty makes a FAIL of any PASS.
func TestShiftMakesAFail(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("cooling down", 8*time.Hour)
	w.spoil = func(r []controller.Reading) {
		for i := range r {
			r[i].Value = 298_150_000_000
		}
	}
	w.until("waits for release", time.Minute)
	if v := w.view(); v.Result != "PASS" || v.Running {
		t.Fatalf("%+v", v)
	}
	out, _, err := w.desk.Release(Release{Station: "cabinet", Who: "Ada Example", After: []After{{"28-0000A2000002", "+0.39K", ""}}})
	if err != nil {
		t.Fatal(err)
	}
	if out.Result != "FAIL" || !strings.HasPrefix(out.Record, "TREATMENT cabinet-0001: FAIL\n28-0000A2000002 shifted by 0.51 K between the calibrations, more than its uncertainty") {
		t.Errorf("%s\n%.300s", out.Result, out.Record)
	}
}
