package metrics

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/prometheus/common/expfmt"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

var update = flag.Bool("update", false, "write the golden file anew")

// bench is invented: one tub with a tripped protective control, one cabinet.
func bench() *loop.Snapshot {
	c := func(milli int64) physic.Temperature {
		return physic.ZeroCelsius + physic.Temperature(milli)*physic.MilliKelvin
	}
	probe := func(r controller.Role, rom string, reading controller.Reading) loop.ProbeView {
		return loop.ProbeView{Role: r, Bus: "header", ROM: rom, Reading: reading, Age: 2 * time.Second, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true, Errors: 3}
	}
	wall := time.Date(2024, 11, 9, 20, 0, 0, 0, time.UTC)
	return &loop.Snapshot{
		Name: "bench", Version: "0.1.0", Config: "9f2c4ab0", Wall: wall, Trusted: true, Now: time.Hour, Tick: 3599, Missed: 1,
		Stations: []loop.StationView{{
			Name: "north", Kind: controller.Tub, Species: "python", SetPoint: c(29440), Effective: c(29440),
			Differential: 280 * controller.MilliKelvin, TooCold: c(26670), Cutoff: c(31670), AnimalIn: true, Governing: 0,
			Probes: []loop.ProbeView{
				probe(controller.RoleControl, "28-000000000001", controller.Reading{Value: c(32062), Quality: controller.Good}),
				probe(controller.RoleGuard, "28-000000000002", controller.Reading{Quality: controller.Bad, Flaw: controller.Shorted, Value: c(0)}),
			},
			Alarms: []loop.AlarmView{
				{Cause: controller.OverCutoff, State: alarm.Unacknowledged, Severity: controller.Trip, Latched: true, Since: wall},
				{Cause: controller.ProbeSilent, State: alarm.Returned, Since: wall},
			},
			CaseAlarms: []loop.CaseAlarm{
				{Station: "north", Case: "north-1", Name: "round overdue", State: alarm.Acknowledged},
				{Station: "north", Case: "north-2", Name: "look overdue", State: alarm.Unacknowledged, Medium: true},
			},
			Proofs: []loop.ProofView{{Name: "series relay", Passed: true, At: wall.Add(-time.Hour)}, {Name: "pairing"}},
		}, {
			Name: "cabinet", Kind: controller.Chamber, SetPoint: c(45000), HeatOn: true, Permitted: true, Governing: -1, ReadyAt: time.Minute,
		}},
		Buses:  []loop.BusView{{Name: "header", Cycle: 3500, At: time.Hour - time.Second, Length: 812 * time.Millisecond, Devices: 2}},
		Relays: []loop.RelayView{{Name: "pad-north", Written: true, Seen: controller.ContactClosed, Cycles: 17}, {Name: "series-north", On: true}},
		Journal: loop.JournalView{OK: true, Queue: 2, Entries: 4711, LastSync: wall.Add(-2 * time.Second),
			Durable: 4709, Lost: 3, Thinned: 5, Reopened: 1},
		Targets: []loop.TargetView{{Name: "phone", Sent: 12, Failed: 4, Dropped: 1, Waiting: 2}},
	}
}

func page(t *testing.T, s *loop.Snapshot) string {
	t.Helper()
	reg := prometheus.NewPedanticRegistry()
	reg.MustRegister(NewCollector(func() *loop.Snapshot { return s }))
	families, err := reg.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	for _, f := range families {
		if _, err := expfmt.MetricFamilyToText(&b, f); err != nil {
			t.Fatal(err)
		}
	}
	return b.String()
}

func TestWholePage(t *testing.T) {
	got := page(t, bench())
	golden := filepath.Join("testdata", "metrics.txt")
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the page differs from %s; look at the difference and run the test with -update if it is meant", golden)
	}
}

// The naming rules are those of the Prometheus project, in its own linter.
func TestLinterIsContent(t *testing.T) {
	problems, err := testutil.CollectAndLint(NewCollector(bench))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

func TestEveryCauseExistsAtZero(t *testing.T) {
	s := bench()
	for i := range s.Stations {
		s.Stations[i].Alarms = nil
	}
	text := page(t, s)
	for _, name := range []string{"alarm_active", "alarm_unanswered", "latched"} {
		for _, station := range []string{"north", "cabinet"} {
			for _, c := range status.Causes() {
				want := "soakwarden_" + name + `{cause="` + c.Rule().Name + `",station="` + station + `"} 0` + "\n"
				if !strings.Contains(text, want) {
					t.Errorf("missing: %s", want)
				}
			}
		}
	}
}

func TestUnknownTemperatureIsNotZero(t *testing.T) {
	text := page(t, bench())
	for _, want := range []string{
		`soakwarden_probe_celsius{role="guard",rom="28-000000000002",station="north"} NaN`,
		`soakwarden_probe_good{role="guard",rom="28-000000000002",station="north"} 0`,
		`soakwarden_water_celsius{station="cabinet"} NaN`,
		`soakwarden_water_believable{station="cabinet"} 0`,
		`soakwarden_alarm_active{cause="over the cutoff",station="north"} 1`,
		`soakwarden_alarm_active{cause="probe silent",station="north"} 0`,
		`soakwarden_alarm_unanswered{cause="probe silent",station="north"} 1`,
		`soakwarden_relay_disagrees{relay="pad-north"} 1`,
	} {
		if !strings.Contains(text, want+"\n") {
			t.Errorf("missing: %s", want)
		}
	}
}

func TestBeforeTheFirstTick(t *testing.T) {
	if got := page(t, nil); strings.Count(got, "\n") != 3 || !strings.Contains(got, "soakwarden_started 0\n") {
		t.Errorf("before the first tick:\n%s", got)
	}
}

// Rules and dashboard may only speak of metrics that exist.
func TestRulesAndDashboardKnowTheMetrics(t *testing.T) {
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^# TYPE (\S+)`).FindAllStringSubmatch(page(t, bench()), -1) {
		known[m[1]] = true
	}
	folder := filepath.Join("..", "..", "configs", "prometheus")
	seen := 0
	for _, file := range []string{"soakwarden.rules.yml", "soakwarden.rules.test.yml", "dashboard.json"} {
		data, err := os.ReadFile(filepath.Join(folder, file))
		if err != nil {
			t.Fatal(err)
		}
		names := regexp.MustCompile(`\bsoakwarden_[a-z_]+`).FindAllString(string(data), -1)
		slices.Sort(names)
		for _, name := range slices.Compact(names) {
			seen++
			if !known[name] {
				t.Errorf("%s speaks of %s, which does not exist", file, name)
			}
		}
		for _, m := range regexp.MustCompile(`cause=~?\\?"([^"\\]+)`).FindAllStringSubmatch(string(data), -1) {
			for _, name := range strings.Split(m[1], "|") {
				if _, err := status.ParseCause(name); err != nil {
					t.Errorf("%s: %v", file, err)
				}
			}
		}
	}
	if seen < 20 {
		t.Errorf("only %d names were looked at", seen)
	}
}

// An inhibition mutes everything when all of its equal labels are missing on
// both sides, so each must demand one of them of its targets; and a repeat
// interval is rounded up to the group interval, so each is written as one.
func TestRouteKeepsOutOfTraps(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "configs", "prometheus", "alertmanager.yml"))
	if err != nil {
		t.Fatal(err)
	}
	rules := regexp.MustCompile(`target_matchers: \[(.*)\]\n\s+equal: \[(.*)\]`).FindAllStringSubmatch(string(data), -1)
	if n := strings.Count(string(data), "source_matchers:"); len(rules) != n || n == 0 {
		t.Fatalf("%d of %d inhibitions could be read", len(rules), n)
	}
	for _, r := range rules {
		demanded := false
		for _, label := range strings.Split(r[2], ", ") {
			demanded = demanded || strings.Contains(r[1], label+` != ""`)
		}
		if !demanded {
			t.Errorf("an inhibition by [%s] demands none of these labels of its targets: %s", r[2], r[1])
		}
	}
	pairs := regexp.MustCompile(`group_interval: (\S+)\n\s+repeat_interval: (\S+)`).FindAllStringSubmatch(string(data), -1)
	if len(pairs) != 3 {
		t.Errorf("%d pairs of intervals", len(pairs))
	}
	for _, p := range pairs {
		group, err1 := time.ParseDuration(p[1])
		repeat, err2 := time.ParseDuration(p[2])
		if err1 != nil || err2 != nil || repeat%group != 0 {
			t.Errorf("repeat_interval %s is no multiple of group_interval %s", p[2], p[1])
		}
	}
}

func BenchmarkCollect64Stations(b *testing.B) {
	s := bench()
	for len(s.Stations) < 64 {
		v := s.Stations[0]
		v.Name += string(rune('A' + len(s.Stations)))
		s.Stations = append(s.Stations, v)
	}
	reg := prometheus.NewRegistry()
	reg.MustRegister(NewCollector(func() *loop.Snapshot { return s }))
	for b.Loop() {
		if _, err := reg.Gather(); err != nil {
			b.Fatal(err)
		}
	}
}
