package notify

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// An alarm that no cause of a station makes has words of its own, and two of
// them at one station do not replace one another.
func TestAlarmWithWordsOfItsOwn(t *testing.T) {
	n := New(Options{Bench: "bench", Targets: []Target{{Name: "keeper", URL: "http://127.0.0.1:1/", Least: controller.Warning}}})
	at := time.Date(2028, 10, 2, 8, 0, 0, 0, time.UTC)
	tell := func(name string, state alarm.State, severity controller.Severity) {
		n.Tell(Alarm{Station: "north", Name: name, Advice: "Do the round.", State: state, Severity: severity, At: at, Trusted: true})
	}
	tell("round overdue", alarm.Unacknowledged, controller.Warning)
	tell("water overdue", alarm.Unacknowledged, controller.Warning)
	tell("low", alarm.Unacknowledged, controller.Note)
	if got := len(n.lanes[0].items); got != 2 {
		t.Errorf("%d alarms wait, want 2: a low one is not sent", got)
	}
	for _, it := range n.lanes[0].items {
		m := alarmMessage(&n.options, *it)
		if !strings.HasPrefix(m.Text, "Do the round. north: "+it.alarm.Name+", since 2028-10-02 08:00:00 UTC.") || m.Cause != it.alarm.Name {
			t.Errorf("%+v", m)
		}
	}
}
