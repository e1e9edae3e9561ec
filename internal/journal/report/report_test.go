package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
)

var noon = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)

func degrees(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e9)
}

// day records an invented day of a tub: it warms up, holds, loses a probe for
// ten minutes, and is looked after.
func day(t *testing.T, also ...func(*testing.T, *journal.Memory)) *journal.Memory {
	t.Helper()
	var now time.Duration
	m := journal.NewMemory(journal.Options{Reason: "invented", Version: "1.0", Clock: func() journal.Moment {
		return journal.Moment{Now: now, Wall: noon.Add(now), Trusted: true}
	}})
	m.Config("tub.toml", []byte("name = \"invented\"\n"))
	m.Settings("north", "1.0", controller.Settings{
		Kind: controller.Tub, SetPoint: degrees(29.4), Differential: 280 * controller.MilliKelvin,
		TooCold: degrees(26.7), Cutoff: degrees(31.7),
		Probes: []controller.ProbeSettings{
			{Role: controller.RoleControl, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true},
			{Role: controller.RoleGuard, Uncertainty: 1200 * controller.MilliKelvin},
			{Role: controller.RoleFloor, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true, Overdue: true},
		},
	})
	in := &controller.Input{Readings: make([]controller.Reading, 3)}
	out := &controller.Output{Permitted: true}
	r := &loop.Result{Trusted: true, Stations: []loop.StationResult{{Name: "north", Input: in, Output: out}}}
	for i := range 8640 {
		now = time.Duration(i) * 10 * time.Second
		in.Now, r.Now, r.Wall = now, now, noon.Add(now)
		water := 29.4 - 6*math.Exp(-float64(i)/700)
		out.Command.Pad = i%60 < 30
		out.Events, r.Stations[0].Acts, in.Acts = out.Events[:0], nil, nil
		for p, v := range []float64{water, water - 0.2, water + 2} {
			in.Readings[p] = controller.Reading{Value: degrees(v), At: now, Code: int16(v * 16), Quality: controller.Good}
		}
		if i > 4000 && i < 4060 {
			in.Readings[1] = controller.Reading{Quality: controller.Bad, Flaw: controller.BadCRC, At: now}
		}
		if i == 4006 {
			out.Events = append(out.Events, controller.Event{Kind: controller.CauseRaised, Cause: controller.ProbeSilent, Probe: 1})
		}
		if i == 5000 {
			a := controller.Act{Kind: controller.WaterChanged, Place: controller.Board, Value: degrees(28)}
			in.Acts = []controller.Act{a}
			r.Stations[0].Acts = []loop.ActRequest{{Act: a, Who: "A. Keeper", Why: "soiled <water> & soap"}}
		}
		m.Tick(r)
	}
	m.Document("north", "treatment", "7", []byte(`{"result":"PASS","reason":"invented"}`))
	m.Note("north", "A. Keeper", strings.Repeat("a long note about the animal ", 40))
	for _, write := range also {
		write(t, m)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return m
}

func TestSheetSaysWhatTheRecordHolds(t *testing.T) {
	m := day(t)
	s, err := Collect(m, Query{Station: "north"})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Head.OK || len(s.Treatments) != 1 || s.Treatments[0].Number != "7" || s.Treatments[0].Result != "PASS" || !s.Sure || s.Version != "1.0" {
		t.Errorf("%+v %+v %v", s.Head, s.Treatments, s.Sure)
	}
	p := s.Probes[0]
	// The water follows 29.4 − 6·exp(−t/7000 s): within half a kelvin from
	// t = 7000 s · ln 12 on.
	if want := time.Duration((86390 - 7000*math.Log(12)) * 1e9); (p.Within - want).Abs() > 20*time.Second {
		t.Errorf("the control probe is at temperature for %s, want %s", p.Within, want)
	}
	if p.Calibrated != "yes" || s.Probes[1].Calibrated != "NO" || s.Probes[2].Calibrated != "OVERDUE" {
		t.Error("calibrations are mixed up")
	}
	if s.Probes[1].Bad != 59 || s.Probes[1].LargestGap != 600*time.Second || len(s.Deviation) != 1 {
		t.Errorf("bad %d, gap %s, %q", s.Probes[1].Bad, s.Probes[1].LargestGap, s.Deviation)
	}
	if math.Abs(s.HeatRatio-0.5) > 0.001 || math.Abs(p.Min-23.4) > 0.001 {
		t.Errorf("heat %.3f, lowest %.3f", s.HeatRatio, p.Min)
	}
	if _, err := Collect(m, Query{Station: "south"}); err == nil || !strings.Contains(err.Error(), "south") {
		t.Errorf("a station that is not there: %v", err)
	}
	if _, err := Collect(m, Query{Station: "north", From: noon.Add(48 * time.Hour)}); err == nil {
		t.Error("a time after the end was printed")
	}
}

func TestReportIsWholeAndTheSameAgain(t *testing.T) {
	s, err := Collect(day(t), Query{Station: "north"})
	if err != nil {
		t.Fatal(err)
	}
	for _, paper := range []Paper{A4, Letter} {
		work := Paperwork{Paper: paper, Printed: noon, Program: "1.0"}
		var page, again, pdf, pdfAgain bytes.Buffer
		if err := errors.Join(HTML(&page, s, work), HTML(&again, s, work), PDF(&pdf, s, work), PDF(&pdfAgain, s, work)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(page.Bytes(), again.Bytes()) || !bytes.Equal(pdf.Bytes(), pdfAgain.Bytes()) {
			t.Error("the same record gave other bytes")
		}
		for _, want := range []string{s.Head.Chain, "PASS", "OVERDUE", "probe silent", "&lt;water&gt; &amp; soap", "cutoff 31.7"} {
			if !strings.Contains(page.String(), want) {
				t.Errorf("%s: the page does not say %q", paper.Name, want)
			}
		}
		for _, outside := range []string{"http://", "https://", "url("} {
			if strings.Contains(strings.ReplaceAll(page.String(), "http://www.w3.org/2000/svg", ""), outside) {
				t.Errorf("the page needs something from outside: %s", outside)
			}
		}
		drawingsAreSound(t, page.String(), paper)
		if !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")) || !bytes.Contains(pdf.Bytes(), []byte("/FontFile2")) {
			t.Error("the PDF has no embedded font")
		}
		if dir := os.Getenv("SOAKWARDEN_REPORT_DIR"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, paper.Name+".pdf"), pdf.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, paper.Name+".html"), page.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// drawingsAreSound reads each drawing as XML, and checks that nothing leaves
// the paper.
func drawingsAreSound(t *testing.T, page string, paper Paper) {
	t.Helper()
	drawings := strings.Split(page, "<svg ")[1:]
	for _, d := range drawings {
		d, _, _ = strings.Cut(d, "</svg>")
		x := xml.NewDecoder(strings.NewReader("<svg " + d + "</svg>"))
		for {
			token, err := x.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			start, ok := token.(xml.StartElement)
			if !ok {
				continue
			}
			for _, a := range start.Attr {
				if a.Name.Local != "points" {
					continue
				}
				for _, p := range strings.Fields(a.Value) {
					var px, py float64
					if _, err := fmt.Sscanf(p, "%f,%f", &px, &py); err != nil || px < 0 || py < 0 || px > paper.Width || py > paper.Height {
						t.Fatalf("a point at %q is off the paper (%v)", p, err)
					}
				}
			}
		}
	}
	if len(drawings) < 1 {
		t.Error("no sheet was drawn")
	}
}
