package daemon

import (
	"errors"
	"log/slog"
	"strings"
	"testing"
	"testing/synctest"
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
	if err := d.gate.guard("pad", p).Out(gpio.High); err != nil {
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

// hangs is a line whose write never comes back from the kernel once it does so.
type hangs struct {
	pin
	from, until chan struct{}
}

func (h *hangs) Out(l gpio.Level) error {
	select {
	case <-h.from:
		<-h.until
	default:
	}
	return h.pin.Out(l)
}

// throws is a line whose write panics once told to.
type throws struct {
	pin
	now bool
}

func (p *throws) Out(l gpio.Level) error {
	if p.now {
		panic("oh")
	}
	return p.pin.Out(l)
}

// A tick is inside a write that the kernel never ends, and another line's write
// panics: every other line opens all the same, within a bound, and the late
// write closes nothing for good.
func TestLineThatHangsKeepsNoOtherClosed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var g gate
		h := &hangs{from: make(chan struct{}), until: make(chan struct{})}
		x, last := &throws{}, &pin{}
		a, b, c := g.guard("hangs", h), g.guard("throws", x), g.guard("last", last)
		for _, p := range []gpio.PinOut{a, b, c} {
			if err := p.Out(gpio.High); err != nil {
				t.Fatal(err)
			}
		}
		close(h.from)
		x.now = true
		go a.Out(gpio.High) // the tick
		synctest.Wait()
		began := time.Now()
		errs := g.drop()
		if took := time.Since(began); took > 3*time.Second {
			t.Errorf("the drop took %v", took)
		}
		if last.last() {
			t.Error("a line stayed closed because another one hangs")
		}
		if len(errs) != 2 || !strings.Contains(errs[0].Error(), "hangs: the line does not answer") || !strings.Contains(errs[1].Error(), "throws: panic: oh") {
			t.Errorf("%v", errs)
		}
		close(h.until)
		synctest.Wait()
		if h.last() {
			t.Error("a write that was let through before the drop had the last word")
		}
	})
}

// A step of the teardown that never ends is left behind, and the next is done.
func TestTeardownLeavesAHungStepBehind(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		down := teardown{log: slog.New(slog.DiscardHandler)}
		first, never := false, make(chan struct{})
		down.add("lines", func() error { first = true; return nil })
		down.add("bus", func() error { <-never; return nil })
		err := down.run()
		if !first || err == nil || !strings.Contains(err.Error(), "stop bus: it does not end: left behind after 3s") {
			t.Errorf("first undone: %v; %v", first, err)
		}
		close(never)
	})
}
