package daemon

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
)

// Each change of an alarm is told once, lamp and buzzer follow what nobody has
// answered, and what is over is told too.
func TestTell(t *testing.T) {
	t.Parallel()
	got := make(chan notify.Message, 16)
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		var m notify.Message
		if err := json.Unmarshal(body, &m); err != nil {
			t.Error(err)
		}
		got <- m
	}))
	defer server.Close()
	d := New(Options{})
	d.ctx = t.Context()
	d.cfg = &config.Config{Name: "bench", Notify: config.Notify{Webhooks: []config.Webhook{{Name: "keeper", URL: server.URL, From: "note"}}}}
	if err := d.startNotify(); err != nil {
		t.Fatal(err)
	}
	lamp, buzzer := &pin{}, &pin{}
	d.lamp.pin, d.buzzer.pin = lamp, buzzer

	steps := []struct {
		name         string
		alarms       []loop.AlarmView
		lamp, buzzer bool
		state        string // told; empty for nothing
	}{
		{"nothing", nil, false, false, ""},
		{"a note", []loop.AlarmView{{Cause: controller.ClockStepped, State: alarm.Unacknowledged, Severity: controller.Note}}, false, false, "unacknowledged"},
		{"a warning", []loop.AlarmView{{Cause: controller.TooCold, State: alarm.Unacknowledged, Severity: controller.Warning}}, true, false, "unacknowledged"},
		{"the same", []loop.AlarmView{{Cause: controller.TooCold, State: alarm.Unacknowledged, Severity: controller.Warning}}, true, false, ""},
		{"answered", []loop.AlarmView{{Cause: controller.TooCold, State: alarm.Acknowledged, Severity: controller.Warning}}, false, false, "acknowledged"},
		{"a trip", []loop.AlarmView{{Cause: controller.TooCold, State: alarm.Unacknowledged, Severity: controller.Trip, Latched: true, Value: physic.ZeroCelsius + 20*physic.Kelvin}}, true, true, "unacknowledged"},
		{"over", nil, false, false, "normal"},
	}
	for _, s := range steps {
		snap := &loop.Snapshot{Stations: []loop.StationView{{Name: "north", Alarms: s.alarms}}}
		d.tell(snap, nil)
		if lamp.last() != lampLevel(s.lamp) || buzzer.last() != lampLevel(s.buzzer) {
			t.Errorf("%s: lamp %v, buzzer %v", s.name, lamp.last(), buzzer.last())
		}
		for s.state != "" {
			select {
			case m := <-got:
				// The note that went away with the warning's coming is told too,
				// some time or other.
				if m.Cause == "clock stepped" && m.State == "normal" {
					continue
				}
				if m.State != s.state {
					t.Errorf("%s: told %q", s.name, m.State)
				}
				if s.name == "a trip" && (m.ValueC == nil || *m.ValueC != 20 || m.OnDisk) {
					t.Errorf("%s: %+v", s.name, m)
				}
			case <-time.After(5 * time.Second):
				t.Errorf("%s: nothing was told", s.name)
			}
			break
		}
	}
	if err := d.down.run(); err != nil {
		t.Error(err)
	}
	select {
	case m := <-got:
		if m.Cause != "clock stepped" {
			t.Errorf("told besides: %+v", m)
		}
	default:
	}
}

// Warming with everything off stops the heartbeat and nothing else does.
func TestWarmsOff(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a    loop.AlarmView
		want bool
	}{
		{loop.AlarmView{Cause: controller.BothWelded, Latched: true}, true},
		{loop.AlarmView{Cause: controller.BothWelded, State: alarm.Acknowledged, Severity: controller.Warning}, true},
		{loop.AlarmView{Cause: controller.BothWelded, State: alarm.Shelved}, true},
		{loop.AlarmView{Cause: controller.BothWelded, State: alarm.Returned, Severity: controller.Warning}, false},
		{loop.AlarmView{Cause: controller.SeriesWelded, Latched: true}, false},
		{loop.AlarmView{Cause: controller.OverCutoff, Latched: true, Severity: controller.Trip}, false},
	} {
		snap := &loop.Snapshot{Stations: []loop.StationView{{}, {Alarms: []loop.AlarmView{c.a}}}}
		if got := warmsOff(snap); got != c.want {
			t.Errorf("%+v: %v", c.a, got)
		}
	}
}
