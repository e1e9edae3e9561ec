package loop_test

import (
	"testing"

	"soakwarden/internal/loop"
	"soakwarden/sim/rig"
)

// asks is a driver that asks for the buzzer and remembers what it was told.
type asks struct {
	buzzer bool
	warned bool
}

func (a *asks) Drive(l loop.Looked) loop.Drive {
	a.warned = l.Warned
	return loop.Drive{Buzzer: a.buzzer}
}

func (a *asks) View() *loop.TreatmentView { return nil }

// A driver is told whether the buzzer that it asked for took the order: not
// when it was not asked for, not when the line refuses, not when there is none.
// A buzzer that refuses takes no heat from anybody.
func TestDriverIsToldWhetherTheBuzzerSounds(t *testing.T) {
	buzzer, driver := rig.NewPin("buzzer"), &asks{}
	b := newBench(t, 1, func(p *loop.Plan) {
		p.Relays = append(p.Relays, loop.RelayPlan{Name: "buzzer", Pin: buzzer, Tells: true})
		p.Stations[0].Buzzer, p.Stations[0].Treat = len(p.Relays)-1, driver
	})
	want := func(why string, warned bool) {
		t.Helper()
		if b.tick(); driver.warned != warned {
			t.Errorf("%s: warned %v", why, driver.warned)
		}
	}
	want("not asked for", false)
	driver.buzzer = true
	want("asked for in this tick", false)
	want("asked for before", true)
	buzzer.RefusesWrites(true)
	want("before the line refused", true)
	r := b.tick()
	if driver.warned {
		t.Error("the line refused")
	}
	failed := false
	for _, c := range r.Relays {
		failed = failed || c.Relay == "buzzer" && c.Err != nil && c.Tells
	}
	if !failed {
		t.Errorf("the failed write is not in the result: %+v", r.Relays)
	}
	b.reads(25000)
	if r = b.tick(); r.Stations[0].Input.Health.RelayUnwritten {
		t.Error("a buzzer counts as a relay of the station")
	}
	buzzer.RefusesWrites(false)
	b.tick()
	want("mended", true)
	driver.buzzer = false
	b.tick()
	want("no more asked for", false)

	none := &asks{buzzer: true}
	b = newBench(t, 1, func(p *loop.Plan) { p.Stations[0].Treat = none })
	b.tick()
	if b.tick(); none.warned {
		t.Error("a bench without a buzzer warned")
	}
}
