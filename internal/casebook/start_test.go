package casebook

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// A trip that outlives the program is one trip in the record of the case.
func TestTripOverARestartIsOneTrip(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.snap.Stations[0].Alarms = []loop.AlarmView{{Cause: controller.OverCutoff, Latched: true}}
	d.pass(time.Minute)
	if err := d.open(); err != nil {
		t.Fatal(err)
	}
	d.snap.Now = 0
	d.pass(time.Minute)
	d.snap.Stations[0].Alarms = []loop.AlarmView{{Cause: controller.NoWater, Latched: true}, {Cause: controller.OverCutoff, Latched: true}}
	d.pass(time.Minute)
	d.snap.Stations[0].Alarms = d.snap.Stations[0].Alarms[:1]
	d.pass(time.Minute)
	d.snap.Stations[0].Alarms = nil
	d.pass(time.Minute)
	var told []string
	for _, e := range d.docs {
		if e.Order == "trip" {
			told = append(told, e.Says)
		}
	}
	want := []string{"The station tripped: over the cutoff.", "The station tripped: no water, over the cutoff.", "A part of the trip was reset; still held: no water.", "The trip was reset: no water."}
	if len(told) != len(want) {
		t.Fatalf("%q", told)
	}
	for i := range want {
		if !strings.HasPrefix(told[i], want[i]) {
			t.Errorf("%q, want %q", told[i], want[i])
		}
	}
}

// A tub that was taken out of the configuration holds no case for ever.
func TestCaseOfATubThatIsGoneCanBeEnded(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.snap.Stations = d.snap.Stations[1:]
	d.pass(7 * time.Hour)
	if a := d.only(); a.Name != "round overdue" {
		t.Errorf("%+v", a)
	}
	d.refused(Words{Order: "attended"}, "the configuration has no tub north any more")
	d.do(Words{Order: "rest", Box: "27C"})
	d.refused(Words{Order: "stop"}, "--why")
	d.do(Words{Order: "stop", Why: "the tub is gone"})
}

// A board without a clock of its own starts without the time and gets it from
// the network later: the outage is known then, over any number of starts.
func TestClockThatIsSetLaterSaysHowLongItWas(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.pass(time.Hour)
	d.b.Close()
	for range 2 { // the power comes back twice, and nobody knows the time
		d.moment.Trusted = false
		if err := d.open(); err != nil {
			t.Fatal(err)
		}
		d.snap.Now = 0
		d.pass(3 * time.Minute)
		if l := d.b.List()[0]; !strings.Contains(l.Paused, "say how long") {
			t.Fatalf("%+v", l)
		}
		d.b.Close()
	}
	before := d.b.List()[0]
	// The network says that four hours more have gone than the board thinks.
	d.moment.Trusted, d.moment.Wall = true, d.moment.Wall.Add(4*time.Hour)
	d.pass(time.Minute)
	l := d.b.List()[0]
	if !strings.Contains(l.Paused, "Then do a round") {
		t.Errorf("%+v", l)
	}
	due := func(l Line) float64 {
		for _, d := range l.Due {
			if strings.HasPrefix(d.What, "Do the round") {
				return d.InS
			}
		}
		return 0
	}
	if gone := due(before) - due(l); gone < 4*3600 || gone > 4*3600+120 {
		t.Errorf("the round came nearer by %.0f s", gone)
	}
	if e := d.docs[len(d.docs)-2]; !strings.Contains(e.Says+d.docs[len(d.docs)-1].Says, "The clock is set: the program was off for 4 h") {
		t.Errorf("%+v", e)
	}
}
