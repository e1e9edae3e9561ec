package handover

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"soakwarden/configs"
	"soakwarden/internal/casebook"
	"soakwarden/internal/config"
	"soakwarden/internal/status"
)

func bench(t *testing.T) *config.Config {
	t.Helper()
	cfg, problems := config.Parse("bench.toml", configs.Bench)
	if cfg == nil {
		t.Fatal(problems)
	}
	return cfg
}

// The numbers are invented.
var keeper = Options{Phones: []Phone{{"keeper", "0 <1> 2"}}, At: time.Date(2028, 10, 2, 18, 0, 0, 0, time.UTC)}

func TestWallSheetSaysWhatMatters(t *testing.T) {
	sheets, err := Sheets(bench(t), "", keeper)
	if err != nil {
		t.Fatal(err)
	}
	if len(sheets) != 2 {
		t.Fatalf("%d sheets for two tubs", len(sheets))
	}
	s := sheets[0]
	// 85 °F with a differential of 0.5 °F: 84.75 to 85.25 °F.
	if s.Band != "29.3 °C / 84.7 °F to 29.6 °C / 85.2 °F" || s.Animal != "carpet python" || s.SetPoint != "29.4 °C / 85.0 °F" {
		t.Errorf("%+v", s)
	}
	if len(s.Alarms) != 6 || s.Alarms[0].Verb != "PULL THE PLUG" || s.Alarms[1].Verb != "Lift" {
		t.Errorf("%+v", s.Alarms)
	}
	for _, a := range s.Alarms {
		if a.Verb == "" || !strings.HasPrefix(a.Whole, a.Verb) {
			t.Errorf("%+v", a)
		}
	}
	var b bytes.Buffer
	if err := WriteSheets(&b, sheets); err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{"size: 210mm 297mm", "0 &lt;1&gt; 2", "plug labelled pad-north", "28-0000a1000001", "lamp on", "INVENTED", "licensed electrician", "Unplug before you reach in", "the water is too cold after 1 h"} {
		if !strings.Contains(b.String(), words) {
			t.Errorf("the sheet does not say %q", words)
		}
	}
	if n := strings.Count(b.String(), `<section class="sheet">`); n != 2 {
		t.Errorf("%d pages", n)
	}
	balanced(t, b.String())
}

func TestUnitsAreThePersonsChoice(t *testing.T) {
	o := keeper
	o.Units = status.Fahrenheit
	sheets, err := Sheets(bench(t), "south", o)
	if err != nil || len(sheets) != 1 {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WriteSheets(&b, sheets); err != nil || strings.Contains(b.String(), "°C") || !strings.Contains(b.String(), "95.0 °F") {
		t.Errorf("a sheet in °F: %v\n%s", err, &b)
	}
}

func TestSheetThatHelpsNobodyIsNotMade(t *testing.T) {
	if _, err := Sheets(bench(t), "", Options{}); err == nil || !strings.Contains(err.Error(), "--phone") {
		t.Errorf("without a number: %v", err)
	}
	for _, name := range []string{"east", "cabinet"} {
		if _, err := Sheets(bench(t), name, keeper); err == nil || !strings.Contains(err.Error(), "north, south") {
			t.Errorf("%s: %v", name, err)
		}
	}
	cfg := bench(t)
	cfg.Stations = cfg.Stations[2:]
	if _, err := Sheets(cfg, "", keeper); err == nil {
		t.Error("a wall sheet of no tub")
	}
}

func TestLabelsNameEveryThingAlike(t *testing.T) {
	cfg := bench(t)
	labels := Labels(cfg)
	for i := range cfg.Stations[:2] {
		st := &cfg.Stations[i]
		want := map[string]bool{"tub": true, "enclosure": true}
		for _, p := range st.Probes {
			want["probe "+status.RoleWord(p.Role)] = true
		}
		for _, l := range labels {
			if l.Station == st.Name {
				delete(want, l.On)
				if l.Animal == "" || l.What == "" {
					t.Errorf("%+v", l)
				}
			}
		}
		if len(want) > 0 {
			t.Errorf("%s: no label for %v", st.Name, want)
		}
	}
	var b bytes.Buffer
	if err := WriteLabels(&b, labels); err != nil {
		t.Fatal(err)
	}
	balanced(t, b.String())
	if err := WriteLabels(broken{}, labels); err == nil {
		t.Error("a full card was not noticed")
	}
}

func TestBenchWithHeartbeatAndWithout(t *testing.T) {
	cfg := bench(t)
	cfg.Notify.Lamp, cfg.Notify.Buzzer = "", ""
	if got := lamps(cfg); len(got) != 1 || got[0].Name != "no lamp" {
		t.Errorf("%+v", got)
	}
	cfg.Heartbeat.Output, cfg.Notify.SitterPhone = "beat", "on the note"
	if got := lamps(cfg); len(got) != 2 || !strings.Contains(got[1].Text, "unplug the pads") {
		t.Errorf("%+v", got)
	}
	s, err := Sheets(cfg, "north", Options{At: keeper.At})
	if err != nil || s[0].Phones[0].Number != "on the note" {
		t.Errorf("%v", err)
	}
	st := cfg.Stations[0]
	st.Animal, st.SeriesRelay, st.Cutout, st.PadRelay = "", "", 0, "gone"
	if animal(&st) != "python" || len(plugs(cfg, &st, status.Both)) != 1 || plug(cfg, "gone") != "none" {
		t.Error("a station without names")
	}
}

func TestNoteSaysWhereEverythingStands(t *testing.T) {
	litres, set, water := 0.3, 29.444, 26.0
	now := status.Status{Invented: true, Stations: []status.Station{{
		Name: "north", Kind: "tub", Stage: "soaking", Alarms: []status.Alarm{{Name: "too cold", State: "unacknowledged", Advice: "Warm the animal."}},
		SetPointC: &set, Probes: []status.Probe{{Role: "control", ValueC: &water}, {Role: "guard", ValueC: &set}, {Role: "control"}},
	}}}
	cases := []casebook.Line{{
		Case: "north-1", Station: "north", Animal: "carpet python", Stage: "soaking", Since: "3 h", Paused: "Look at the animal.", Place: "in the tub", TopUpL: &litres,
		Due: []casebook.Due{{What: "Do the round.", InS: -60, In: "-1 min"}, {What: "Change the water.", InS: 60, In: "1 min"}, {What: "Rinse.", In: "0 min"}},
	}, {Case: "south-1", Station: "south"}}
	text := Note("bench", now, cases, keeper)
	for _, words := range []string{
		"INVENTED", "Call keeper: 0 <1> 2", "north (tub): soaking", "ALARM too cold (unacknowledged): Warm the animal.", "water 26.0 °C / 78.8 °F, set point 29.4 °C / 85.0 °F", "case north-1, carpet python", "PAUSED: Look",
		"OVERDUE by 1 min: Do the round.", "in 1 min: Change the water.", "now: Rinse.", "0.3 L", "No reset, no treatment",
	} {
		if !strings.Contains(text, words) {
			t.Errorf("the note does not say %q:\n%s", words, text)
		}
	}
	{
		in := keeper
		in.Units = status.Fahrenheit
		if text := Note("bench", now, cases, in); strings.Contains(text, "°C") || !strings.Contains(text, "78.8 °F") {
			t.Errorf("a note in °F:\n%s", text)
		}
	}
	if strings.Contains(text, "south-1") {
		t.Error("a case of another bench")
	}
}

// balanced reads the page with the standard library's parser as HTML that is
// also well-formed as far as its elements go.
func balanced(t *testing.T, page string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Errorf("the page is not well-formed: %v", err)
			return
		}
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// pages counts the pages of a PDF: ISO 32000-1, 7.7.3.3, each is an object of
// the type Page.
func pages(t *testing.T, pdf []byte) int {
	t.Helper()
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) || !bytes.Contains(pdf, []byte("/FontFile2")) {
		t.Fatal("no PDF with its fonts in it")
	}
	return bytes.Count(pdf, []byte("<</Type /Page\n"))
}

// However much a keeper writes on it, a wall sheet is one page a tub.
func TestWallSheetIsOnePage(t *testing.T) {
	long := keeper
	for range 6 {
		long.Phones = append(long.Phones, Phone{"a neighbour with a long name who has a key to the house", "00 00 0000000 000000"})
	}
	for name, o := range map[string]Options{"usual": keeper, "long": long} {
		sheets, err := Sheets(bench(t), "", o)
		if err != nil {
			t.Fatal(err)
		}
		var b, again bytes.Buffer
		if err := errors.Join(PDFSheets(&b, sheets), PDFSheets(&again, sheets)); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if n := pages(t, b.Bytes()); n != len(sheets) {
			t.Errorf("%s: %d pages for %d tubs", name, n, len(sheets))
		}
		if !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("%s: the same sheets give other bytes", name)
		}
	}
	for range 60 {
		long.Phones = append(long.Phones, Phone{"somebody", "0"})
	}
	sheets, err := Sheets(bench(t), "north", long)
	if err != nil {
		t.Fatal(err)
	}
	if err := PDFSheets(&bytes.Buffer{}, sheets); err == nil || !strings.Contains(err.Error(), "write fewer telephone numbers") {
		t.Errorf("more than a page holds: %v", err)
	}
	if err := PDFSheets(&bytes.Buffer{}, nil); err == nil {
		t.Error("no sheet is a paper")
	}
}

func TestLabelsAreCutFromA4(t *testing.T) {
	labels := Labels(bench(t))
	for len(labels) <= 27 { // one page holds 27
		labels = append(labels, Label{"a tub with a name that is as long as a name may be, and a little more", "corn snake", "tub", "one animal, always"})
	}
	var b bytes.Buffer
	if err := PDFLabels(&b, labels); err != nil || pages(t, b.Bytes()) != 2 {
		t.Errorf("%d pages, %v", pages(t, b.Bytes()), err)
	}
	if err := PDFLabels(broken{}, labels); err == nil {
		t.Error("a full card was not noticed")
	}
}
