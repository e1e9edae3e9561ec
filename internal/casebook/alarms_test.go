package casebook

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
)

// only is the one alarm that stands, the zero alarm when none does.
func (d *desk) only() loop.CaseAlarm {
	d.t.Helper()
	all := d.b.Alarms()
	switch len(all) {
	case 0:
		return loop.CaseAlarm{}
	case 1:
		return all[0]
	}
	d.t.Fatalf("several alarms: %+v", all)
	return loop.CaseAlarm{}
}

func (d *desk) answer(about string, kind controller.ActKind) loop.Answer {
	d.t.Helper()
	a, err := d.b.Act(loop.ActRequest{Station: "north", Act: controller.Act{Kind: kind, Place: controller.Page}, About: about, Who: "a sitter"})
	if err != nil {
		d.t.Fatal(err)
	}
	return a
}

// The states are those of ISA-18.2: what is overdue is unacknowledged, then
// acknowledged, asks anew when it climbs, and is normal when it was done.
func TestOverdueRoundIsAnAlarmLikeOthers(t *testing.T) {
	d := newDesk(t) // 08:00
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.pass(6*time.Hour - time.Minute)
	if a := d.only(); a.Name != "" {
		t.Errorf("%+v", a)
	}
	if a := d.answer("round overdue", controller.Acknowledge); a.Done || a.Refusal != controller.NotActive {
		t.Errorf("what is not there was acknowledged: %+v", a)
	}
	d.pass(2 * time.Minute)
	if a := d.only(); a.Name != "round overdue" || a.State != alarm.Unacknowledged || a.Medium || a.Advice != "Do the round." || a.Case != "north-1" {
		t.Errorf("%+v", a)
	}
	for _, kind := range []controller.ActKind{controller.Shelve, controller.Reset} {
		if a := d.answer("round overdue", kind); a.Done || !strings.Contains(a.Why, "acknowledge it") {
			t.Errorf("%+v", a)
		}
	}
	if a := d.answer("round overdue", controller.Acknowledge); !a.Done {
		t.Errorf("%+v", a)
	}
	if e := d.docs[len(d.docs)-1]; e.Order != "acknowledge" || e.Who != "a sitter" || e.Where != "page" || e.Says != "Acknowledged: round overdue." {
		t.Errorf("%+v", e)
	}
	// A restart wakes nobody about what was answered.
	d.moment.Boot = "a boot"
	d.b.Close()
	if err := d.open(); err != nil {
		t.Fatal(err)
	}
	d.snap.Now = 0
	d.pass(time.Minute)
	if a := d.only(); a.State != alarm.Acknowledged || a.Medium {
		t.Errorf("after a restart: %+v", a)
	}
	d.pass(time.Hour)
	if a := d.only(); a.State != alarm.Unacknowledged || !a.Medium {
		t.Errorf("an alarm that climbs does not ask anew: %+v", a)
	}
	if at := d.only().Since; d.moment.Wall.Sub(at) < time.Hour {
		t.Errorf("it began at %s", at)
	}
	d.do(Words{Order: "round", AllWell: true})
	if a := d.only(); a.Name != "" {
		t.Errorf("a round that was done still asks: %+v", a)
	}
	raised := 0
	for _, e := range d.docs {
		if e.Order == "alarm" {
			raised++
		}
	}
	if raised != 2 {
		t.Errorf("%d alarms in the journal, want the low one and the medium one", raised)
	}
}

// At night nothing low is told: the alarm is suppressed by design until the
// morning, unless it climbs before.
func TestLowAlarmWaitsForTheMorning(t *testing.T) {
	d := newDesk(t)
	d.moment.Wall = start.Add(15 * time.Hour) // 23:00, and the plan's night ends at 7
	d.begin()
	d.ready()
	d.do(Words{Order: "furnish", Item: "box", Way: "wash", Encl: true})
	d.do(Words{Order: "animal-in"})
	d.do(Words{Order: "rinse", Why: "short, for a test"})
	d.do(Words{Order: "paper"})
	d.do(Words{Order: "treated", Item: "box", Record: "washed"})
	d.do(Words{Order: "return", Room: "27C", Date: "2028-09-29"})
	d.pass(2 * time.Hour) // over midnight: the third day
	if a := d.only(); a.Name != "look overdue" || a.State != alarm.SuppressedByDesign || a.State.Asks() {
		t.Errorf("at night: %+v", a)
	}
	d.pass(6 * time.Hour)
	if a := d.only(); a.State != alarm.Unacknowledged {
		t.Errorf("in the morning: %+v", a)
	}
	zero := 0
	d.do(Words{Order: "look", Mites: &zero})
	if a := d.only(); a.Name != "" {
		t.Errorf("%+v", a)
	}
}

// Whoever answers at night what is still silent is asked anew when it climbs.
func TestAnswerBeforeItWasToldIsNoAnswerToMore(t *testing.T) {
	d := newDesk(t)
	d.moment.Wall = start.Add(15 * time.Hour) // 23:00
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.pass(6*time.Hour + 10*time.Minute)
	if a := d.only(); a.State != alarm.SuppressedByDesign {
		t.Fatalf("%+v", a)
	}
	if l := d.b.List()[0].Due[0]; !l.Quiet || l.Priority != "none" {
		t.Errorf("%+v", l)
	}
	if a := d.answer("round overdue", controller.Acknowledge); !a.Done {
		t.Errorf("%+v", a)
	}
	d.pass(time.Hour)
	if a := d.only(); a.State != alarm.Unacknowledged || !a.Medium {
		t.Errorf("%+v", a)
	}
}

// A case that waits for a person says so as an alarm at once, day and night,
// and every station shows the alarms of its cases.
func TestPausedCaseAsksAtOnce(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.b.Close()
	d.moment.Trusted = false
	if err := d.open(); err != nil {
		t.Fatal(err)
	}
	d.pass(time.Minute)
	if a := d.only(); a.Name != "case waits" || !a.Medium || a.State != alarm.Unacknowledged {
		t.Errorf("%+v", a)
	}
	snap := d.snap
	snap.Stations = append([]loop.StationView(nil), d.snap.Stations...)
	d.b.Show(&snap)
	if got := snap.Stations[0].CaseAlarms; len(got) != 1 || got[0].Name != "case waits" || len(snap.Stations[1].CaseAlarms) != 0 {
		t.Errorf("%+v", snap.Stations)
	}
	d.refused(Words{Order: "stop", Why: "for a test"}, "lift it into its dry box first")
	d.do(Words{Order: "rest", Box: "27C"})
	d.do(Words{Order: "stop", Why: "for a test"})
	if a := d.only(); a.Name != "" {
		t.Errorf("a case that was ended asks: %+v", a)
	}
}

// What a saved alarm cannot be is left out, and asks anew.
func TestAlarmsThatCannotBeRestored(t *testing.T) {
	var r running
	r.restoreBells([]savedBell{
		{"over the cutoff", alarm.Acknowledged, 1, start}, {"round overdue", alarm.Shelved, 1, start}, {"round overdue", alarm.Acknowledged, 9, start},
		{"look overdue", alarm.Acknowledged, 1, start},
	})
	standing := 0
	for i := range r.bells {
		if r.bells[i].machine.State() != alarm.Normal {
			standing++
		}
	}
	if standing != 1 {
		t.Errorf("%d alarms stand, want 1", standing)
	}
}
