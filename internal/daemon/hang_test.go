package daemon

import (
	"errors"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
)

// A tick that is found under way again and again hangs; ticks that go on, and
// the time between two of them, do not.
func TestLooksFindOnlyAHungTick(t *testing.T) {
	t.Parallel()
	var l looks
	for n := range uint64(20 * hungLooks) {
		if l.hung(n/hungLooks + 1) {
			t.Fatalf("look %d: ticks go on", n)
		}
	}
	for range 3 * hungLooks {
		if l.hung(0) {
			t.Fatal("no tick is under way, and it hangs")
		}
	}
	for n := range hungLooks {
		if l.hung(7) {
			t.Fatalf("after %d looks", n)
		}
	}
	if !l.hung(7) {
		t.Error("a tick that hangs was not found")
	}
}

// A tick that never ends: the relays open, stay open, and the daemon ends.
func TestHungTickDropsRelays(t *testing.T) {
	t.Parallel()
	d := New(Options{})
	p := &pin{}
	if err := d.gate.guard(p).Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	d.underway.Store(1000)
	d.watchTicks(t.Context(), time.Millisecond)
	<-d.Done()
	if p.last() == gpio.High || !errors.Is(d.why, errHung) {
		t.Errorf("a hung tick: relay closed %v, %v", p.last(), d.why)
	}
	if err := d.gate.pins[0].Out(gpio.High); !errors.Is(err, errShut) {
		t.Errorf("the relay could be closed again: %v", err)
	}
}
