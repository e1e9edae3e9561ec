package status

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

var update = flag.Bool("update", false, "write the golden files anew")

// bench is invented.
func bench() *loop.Snapshot {
	c := func(milli int64) physic.Temperature {
		return physic.ZeroCelsius + physic.Temperature(milli)*physic.MilliKelvin
	}
	wall := time.Date(2024, 11, 9, 20, 0, 0, 0, time.UTC)
	return &loop.Snapshot{
		Name: "quarantine bench", Version: "0.1.0", Config: "9f2c4ab0", Wall: wall, Speed: 1, Missed: 2,
		Journal: loop.JournalView{Problem: "the card is nearly full", LastSync: wall.Add(-time.Minute)},
		Stations: []loop.StationView{{
			Name: "north", Kind: controller.Tub, Stage: "soak", SetPoint: c(29440), Reason: controller.OverCutoff, AnimalIn: true,
			Probes: []loop.ProbeView{
				{Role: controller.RoleControl, ROM: "28-000000000001", Age: 2 * time.Second, Reading: controller.Reading{Value: c(32062), Quality: controller.Good}},
				{Role: controller.RoleGuard, ROM: "28-000000000002", Reading: controller.Reading{Value: c(0), Quality: controller.Bad, Flaw: controller.Shorted}},
			},
			Alarms: []loop.AlarmView{
				{Cause: controller.OverCutoff, State: alarm.Unacknowledged, Severity: controller.Trip, Latched: true, Since: wall.Add(-time.Minute)},
				{Cause: controller.ProbeSilent, State: alarm.Returned, Severity: controller.HeatOff},
			},
			NeverAlone: "the configuration says attended_only",
			CaseAlarms: []loop.CaseAlarm{
				{Station: "north", Case: "north-1", Name: "round overdue", Advice: "Do the round.", State: alarm.Acknowledged, Since: wall.Add(-time.Hour)},
				{Station: "north", Case: "north-2", Name: "look overdue", Advice: "Look.", State: alarm.Unacknowledged, Medium: true, Since: wall.Add(-time.Hour)},
			},
		}, {Name: "cabinet", Kind: controller.Chamber, HeatOn: true, Permitted: true}, {Name: "south", Kind: controller.Tub, OutOfService: true}},
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("differs from %s:\n%s", path, got)
	}
}

func TestStatusAsJSONAndAsText(t *testing.T) {
	s := Of(bench())
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "status.json", append(data, '\n'))
	var text bytes.Buffer
	if err := Write(&text, s, Both); err != nil {
		t.Fatal(err)
	}
	golden(t, "status.txt", text.Bytes())
	if !s.Alarming() {
		t.Error("a trip is no active alarm")
	}
	back := Status{}
	if err := json.Unmarshal(data, &back); err != nil || !back.Alarming() {
		t.Errorf("the alarm is lost on the way through JSON: %v", err)
	}
}

func TestOnlyActiveAlarmsAreBadNews(t *testing.T) {
	want := map[alarm.State]bool{
		alarm.Unacknowledged: true, alarm.Acknowledged: true,
		alarm.LatchedUnacknowledged: true, alarm.LatchedAcknowledged: true,
	}
	for s := alarm.Normal; s <= alarm.OutOfService; s++ {
		st := Status{Stations: []Station{{Alarms: []Alarm{{State: s.String()}}}}}
		if st.Alarming() != want[s] {
			t.Errorf("%s: active %v", s, !want[s])
		}
	}
	if !(Status{Stations: []Station{{Alarms: []Alarm{{State: "a word of a later version"}}}}}).Alarming() {
		t.Error("a state without a known word counts as quiet")
	}
}

// An alarm of a case is acknowledged by its name like any other, and nothing
// else can be done to it than what it asks for.
func TestAlarmsOfCasesAreReadBack(t *testing.T) {
	for _, words := range []string{"round overdue", "Round-overdue", "water_change_overdue"} {
		r, err := Request{Station: "north", Act: "acknowledge", Cause: words, Who: "a sitter"}.Parse(controller.Page)
		if err != nil || plain(r.About) != plain(words) || r.Act.Kind != controller.Acknowledge || r.Act.Cause != controller.NoCause {
			t.Errorf("%q: %+v, %v", words, r, err)
		}
	}
	if _, err := (Request{Station: "north", Act: "present", Cause: "round overdue"}).Parse(controller.Page); err == nil {
		t.Error("present takes a cause")
	}
	for _, m := range procedure.Matters() {
		if c, err := ParseCause(m.String()); err == nil {
			t.Errorf("%s is a cause of the station, too: %d", m, c)
		}
	}
}

func TestOldStatusIsStale(t *testing.T) {
	s := Of(bench())
	at := time.Date(2024, 11, 9, 20, 0, 0, 0, time.UTC)
	for late, want := range map[time.Duration]bool{0: false, Stale: false, Stale + time.Second: true, -time.Hour: true} {
		if _, stale := s.Age(at.Add(late)); stale != want {
			t.Errorf("%s later: stale %v", late, stale)
		}
	}
	if _, stale := (Status{Time: "yesterday"}).Age(at); !stale {
		t.Error("a moment that cannot be read counts as now")
	}
}

// NIST SP 811 (2008), B.8: t/°C = (t/°F − 32)/1.8, exact.
func TestTemperaturesWithUnits(t *testing.T) {
	for in, want := range map[string]float64{
		"85F": (85 - 32) / 1.8, "29.4C": 29.4, "29.4 °C": 29.4, "32f": 0, "-40F": -40, "-40 C": -40, "212 °F": 100,
	} {
		got, err := ParseTemperature(in)
		if err != nil || math.Abs(DegreesC(got)-want) > 1e-6 {
			t.Errorf("%q: %v °C, %v; want %v", in, DegreesC(got), err, want)
		}
	}
	for _, in := range []string{"", "85", "C", "F", "°C", "85K", "85 CF", "1e3C", "0x10C", "NaNC", "infC", "--5C", "29,4C", "99999C"} {
		if got, err := ParseTemperature(in); err == nil || got != 0 {
			t.Errorf("%q was taken as %v", in, got)
		}
	}
	at := physic.ZeroCelsius + 29444*physic.MilliKelvin
	for u, want := range map[Units]string{Both: "29.4 °C / 85.0 °F", Celsius: "29.4 °C", Fahrenheit: "85.0 °F"} {
		if got := u.Temperature(at); got != want {
			t.Errorf("%q: %q, want %q", u, got, want)
		}
	}
	if got := Celsius.Temperature(physic.ZeroCelsius - physic.MilliKelvin); got != "0.0 °C" {
		t.Errorf("just under zero is written %q", got)
	}
}

func TestEveryCauseIsReadBack(t *testing.T) {
	for _, c := range Causes() {
		for _, word := range []string{c.Rule().Name, CauseArgument(c), strings.ToUpper(c.Rule().Name)} {
			if got, err := ParseCause(word); err != nil || got != c {
				t.Errorf("%q was read as %v, %v", word, got, err)
			}
		}
	}
	if _, err := ParseCause("too blue"); err == nil || !strings.Contains(err.Error(), "over-the-cutoff") {
		t.Errorf("the error does not say what to write: %v", err)
	}
}

func TestEveryValueHasAWord(t *testing.T) {
	for r := controller.RoleControl; r <= controller.RoleAir; r++ {
		if RoleWord(r) == "unknown" {
			t.Errorf("role %d has no word", r)
		}
	}
	for f := controller.Absent; f <= controller.Stale; f++ {
		if FlawWord(f) == "unknown" || FlawWord(f) == "" {
			t.Errorf("flaw %d has no word", f)
		}
	}
	for r := controller.CausePersists; r <= controller.NoMoreExtensions; r++ {
		if strings.Contains(RefusalWord(r), "no word") {
			t.Errorf("refusal %d has no word", r)
		}
	}
	for k := controller.Acknowledge; k <= controller.Prove; k++ {
		if ActWord(k) == "unknown" {
			t.Errorf("act %d has no word", k)
		}
	}
	for _, got := range []string{RoleWord(99), QualityWord(99), FlawWord(99), SeverityWord(99), KindWord(99), ActWord(99)} {
		if got != "unknown" {
			t.Errorf("a value that is none is called %q", got)
		}
	}
}

func TestRequestsSayWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		r   Request
		say string
	}{
		{Request{Act: "present"}, "no station"},
		{Request{Station: "n", Act: "reset"}, "needs the name of a cause"},
		{Request{Station: "n", Act: "present", Cause: "no rise"}, "takes no cause"},
		{Request{Station: "n", Act: "present", Seen: []string{"pad"}}, "only a reset"},
		{Request{Station: "n", Act: "reset", Cause: "no rise", Seen: []string{"moon"}}, "animal, level, probe or pad"},
		{Request{Station: "n", Act: "attended", Water: "26C"}, "only water-changed"},
		{Request{Station: "n", Act: "shelve", Cause: "no rise"}, "like 30m or 2h"},
		{Request{Station: "n", Act: "shelve", Cause: "no rise", For: "9h"}, "at most 8h"},
		{Request{Station: "n", Act: "present", For: "30m"}, "only shelve"},
		{Request{Station: "n", Act: "present", Who: "a\nb"}, "control character"},
		{Request{Station: "n", Act: "present", Why: "\xff"}, "UTF-8"},
	} {
		got, err := c.r.Parse(controller.Board)
		if err == nil || !strings.Contains(err.Error(), c.say) || got != (loop.ActRequest{}) {
			t.Errorf("%+v: %v, want something with %q", c.r, err, c.say)
		}
	}
	got, err := Request{Station: "n", Act: "shelve", Cause: "no-rise", For: "8h"}.Parse(controller.Board)
	if err != nil || got.Act.Span != 8*time.Hour || got.Act.Place != controller.Board {
		t.Errorf("%+v, %v", got, err)
	}
}

func FuzzParseTemperature(f *testing.F) {
	for _, s := range []string{"85F", "29.4 °C", "-40F", "", "°", "+.C", "1\u00a0C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseTemperature(s)
		if err != nil {
			return
		}
		if c := DegreesC(got); math.Abs(c) > 1100 {
			t.Errorf("%q was taken as %v °C", s, c)
		}
	})
}
