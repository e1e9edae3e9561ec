package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/loop"
)

// started is the first step of an invented treatment, as a chamber writes it.
const started = `{"step":"started","says":"started, ten minutes of warning","stage":"ten minutes of warning","result":"open","reason":"",
	"order":{"operator":"Ada Example","load":"a branch (invented)","mapping":"","residents":[{"name":"corn snake","now":"tub south"}],"no_residents":false},
	"typed":"nothing alive is inside cabinet 1234",
	"plan":{"schedule":"core-56-30min","freeze":FREEZE,"target_c":TARGET,"pieces":[{"name":"branch","material":"cork bark","moisture":0}],
	"probes":[{"rom":"28-0000a2000001","role":"core","piece":"branch","depth_m":0.04,"uncertainty_k":0.5}]}}`

// text is a record as a chamber makes it when a treatment is over; shortened.
const text = `TREATMENT cabinet-0001: PASS
all 1 probes at 56.0 °C or above
INVENTED: made by the model of a demonstration, no real treatment.

WHO AND WITH WHAT
  operator                   Ada Example
  reviewer                   not recorded

PROBES
  probe 28-0000a2000001      core of branch
    calibration before       +0.06 K, ice point, on 2025-09-01
    calibration after        not recorded

LETHALITY (decides nothing)
  28-0000a2000002 (core of plank) 73.76 min

CURVE (°C)
       after          branch
          5s           19.00

RELEASE
  released by                not recorded
`

// chamber records a chamber whose one probe stands at from °C for an hour and at
// to °C for an hour.
func chamber(t *testing.T, freeze string, target string, from, to float64, over bool) *journal.Memory {
	t.Helper()
	var now time.Duration
	m := journal.NewMemory(journal.Options{Reason: "invented", Version: "1.0", Clock: func() journal.Moment {
		return journal.Moment{Now: now, Wall: noon.Add(now), Trusted: true}
	}})
	m.Settings("cabinet", "core", controller.Settings{Kind: controller.Chamber, SetPoint: degrees(59), Limit: degrees(70),
		Probes: []controller.ProbeSettings{{Role: controller.RoleCore, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true}}})
	in := &controller.Input{Readings: make([]controller.Reading, 1)}
	r := &loop.Result{Trusted: true, Stations: []loop.StationResult{{Name: "cabinet", Input: in, Output: &controller.Output{}}}}
	tick := func(n int, c float64) {
		for range n {
			now += 10 * time.Second
			in.Now, r.Now, r.Wall = now, now, noon.Add(now)
			in.Readings[0] = controller.Reading{Value: degrees(c), At: now, Quality: controller.Good}
			m.Tick(r)
		}
	}
	tick(60, 20) // before the treatment
	m.Document("cabinet", "treatment", "cabinet-0001", []byte(strings.NewReplacer("FREEZE", freeze, "TARGET", target).Replace(started)))
	tick(360, from)
	tick(360, to)
	if over {
		doc := `{"step":"over: PASS","says":"over: PASS","stage":"cooling down","result":"PASS","reason":"held","record":` + quoted(text) + `}`
		m.Document("cabinet", "treatment", "cabinet-0001", []byte(doc))
		tick(60, 20)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return m
}

func quoted(s string) string {
	return `"` + strings.NewReplacer("\n", `\n`, `"`, `\"`).Replace(s) + `"`
}

func printed(t *testing.T, m *journal.Memory, q Query) (*Sheet, string) {
	t.Helper()
	s, err := Collect(m, q)
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := HTML(&page, s, Paperwork{Paper: Letter}); err != nil {
		t.Fatal(err)
	}
	return s, page.String()
}

// The time at temperature is counted against the target of the treatment, not
// against the air that the chamber holds, and the uncertainty counts against it.
func TestTimeAtTheTargetOfTheTreatment(t *testing.T) {
	for _, c := range []struct {
		name, freeze, target string
		from, to             float64
		want                 time.Duration
	}{
		{"heating", "false", "56", 40, 57, time.Hour},
		{"heating, within the uncertainty", "false", "56", 40, 56.4, 0},
		{"freezing", "true", "-18", -10, -19, time.Hour},
		{"freezing, within the uncertainty", "true", "-18", -10, -18.4, 0},
	} {
		s, page := printed(t, chamber(t, c.freeze, c.target, c.from, c.to, true), Query{Station: "cabinet"})
		if got := s.Probes[0].Within; (got - c.want).Abs() > 10*time.Second {
			t.Errorf("%s: %s at the target, want %s", c.name, got, c.want)
		}
		if !strings.Contains(page, "treatment&#39;s target") {
			t.Errorf("%s: it is not said what at temperature means", c.name)
		}
	}
}

// A treatment that is over is printed with its whole record; one that is not, with
// what is known and with the rest as not recorded.
func TestTreatmentIsPrintedWhole(t *testing.T) {
	s, page := printed(t, chamber(t, "false", "56", 40, 57, true), Query{Station: "cabinet", Treatment: "cabinet-0001"})
	for _, want := range []string{"Treatment cabinet-0001: PASS", "WHO AND WITH WHAT", ">Ada Example<", ">  calibration before<", ">+0.06 K, ice point, on 2025-09-01<",
		"73.76 min", "INVENTED", ">released by<", ">not recorded<", "over: PASS", "target 56.0"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(page, ">19.00<") || strings.Contains(page, ">5s<") {
		t.Error("the table of the curve is printed beside the curve")
	}
	if got := s.To.Sub(s.From); (got - 2*time.Hour).Abs() > 11*time.Second {
		t.Errorf("the report covers %s, the treatment took two hours", got)
	}
	_, page = printed(t, chamber(t, "false", "56", 40, 57, false), Query{Station: "cabinet"})
	for _, want := range []string{"It is not over", ">Ada Example<", "tub south", "nothing alive is inside cabinet 1234", "cork bark; moisture not recorded",
		"core of branch; depth 40 mm; U 0.50 K", ">reviewer<", ">storage after<"} {
		if !strings.Contains(page, want) {
			t.Errorf("under way: the page does not say %q", want)
		}
	}
	if _, err := Collect(chamber(t, "false", "56", 40, 57, true), Query{Station: "cabinet", Treatment: "7"}); err == nil || !strings.Contains(err.Error(), "cabinet-0001") {
		t.Errorf("a treatment that is not there: %v", err)
	}
}

// No text leaves the frame: each is measured where it stands.
func TestTextStaysInsideTheFrame(t *testing.T) {
	m := chamber(t, "false", "56", 40, 57, true)
	for _, paper := range []Paper{A4, Letter} {
		s, err := Collect(m, Query{Station: "cabinet"})
		if err != nil {
			t.Fatal(err)
		}
		s.Treatments[0].Reason = strings.Repeat("all 3 probes at 56.0 °C together for long ", 5)
		c := layout(s, Paperwork{Paper: paper})
		for _, marks := range c.sheets {
			for _, k := range marks {
				if k.text == "" {
					continue
				}
				left, w := k.points[0].x, c.width(k.text, k.size, k.bold)
				switch k.anchor {
				case 'm':
					left -= w / 2
				case 'r':
					left -= w
				}
				if left < margin-0.01 || left+w > paper.Width-margin+0.01 {
					t.Errorf("%s: %q goes from %.1f to %.1f mm", paper.Name, k.text, left, left+w)
				}
			}
		}
	}
}

// A week of one station, every second, on paper: the time of it is told as a
// multiple of the time that reading and checking the record alone takes.
func BenchmarkReportOfAWeek(b *testing.B) {
	m := journal.NewMemory(journal.Options{})
	in := &controller.Input{Readings: make([]controller.Reading, 3)}
	out := &controller.Output{Permitted: true}
	r := &loop.Result{Trusted: true, Stations: []loop.StationResult{{Name: "north", Input: in, Output: out}}}
	m.Settings("north", "core", controller.Settings{Kind: controller.Tub, SetPoint: degrees(29.4), TooCold: degrees(26.7), Cutoff: degrees(31.7),
		Probes: make([]controller.ProbeSettings, 3)})
	wild := uint32(1)
	for i := range 7 * 86400 {
		now := time.Duration(i) * time.Second
		in.Now, r.Now, r.Wall = now, now, noon.Add(now)
		out.Command.Pad = i%900 < 300
		for p := range in.Readings {
			wild = wild*1664525 + 1013904223
			code := int16(470 + p + int(wild>>30))
			in.Readings[p] = controller.Reading{Value: degrees(float64(code) / 16), At: now, Code: code, Quality: controller.Good}
		}
		m.Tick(r)
	}
	if err := m.Close(); err != nil {
		b.Fatal(err)
	}
	var whole, bare time.Duration
	for b.Loop() {
		began := time.Now()
		if _, err := verify.Check(m); err != nil {
			b.Fatal(err)
		}
		read := time.Now()
		s, err := Collect(m, Query{Station: "north"})
		if err != nil {
			b.Fatal(err)
		}
		var page, pdf bytes.Buffer
		if err := HTML(&page, s, Paperwork{Paper: A4}); err != nil {
			b.Fatal(err)
		}
		if err := PDF(&pdf, s, Paperwork{Paper: A4}); err != nil {
			b.Fatal(err)
		}
		bare += read.Sub(began)
		whole += time.Since(read)
	}
	b.ReportMetric(float64(whole)/float64(bare), "x-verify")
	b.ReportMetric(whole.Seconds()/float64(b.N), "s/report")
}
