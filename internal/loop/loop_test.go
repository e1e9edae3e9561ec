package loop_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/sim/rig"
)

// journalled is a pin that notes its level changes in a common list.
type journalled struct {
	*rig.Pin
	list *[]string
}

func (j journalled) Out(l gpio.Level) error {
	if was := j.Commanded(); was != bool(l) {
		*j.list = append(*j.list, map[bool]string{true: "close ", false: "open "}[bool(l)]+j.Name())
	}
	return j.Pin.Out(l)
}

// empty tells a station that no animal is in and the tub is filled, so that it
// may warm while it proves its relays.
func empty(t *testing.T, b *bench, station string) {
	t.Helper()
	for _, kind := range []controller.ActKind{controller.AnimalOut, controller.ConfirmFill, controller.Presence} {
		answer := submit(t, b, loop.ActRequest{Station: station, Act: controller.Act{Kind: kind, Place: controller.Board}})
		if !answer.Done {
			t.Fatalf("act %d was refused: %v", kind, answer.Refusal)
		}
	}
}

func submit(t *testing.T, b *bench, r loop.ActRequest) loop.Answer {
	t.Helper()
	ch, ok := b.loop.Submit(r)
	if !ok {
		t.Fatal("the queue of acts is full")
	}
	b.reads(25000)
	b.tick()
	select {
	case a := <-ch:
		return a
	default:
		t.Fatal("the act was not answered in its tick")
		return loop.Answer{}
	}
}

func TestEveryRelayIsOffBeforeAnythingElse(t *testing.T) {
	b := newBench(t, 2, func(p *loop.Plan) {
		for i := range p.Relays {
			if err := p.Relays[i].Pin.Out(gpio.High); err != nil {
				t.Fatal(err)
			}
		}
	})
	for _, p := range b.pins {
		if p.Closed() {
			t.Errorf("%s is closed after New", p.Name())
		}
	}
}

func TestRelayThatCannotBeSwitchedOffStopsTheStart(t *testing.T) {
	pin := rig.NewPin("stuck")
	pin.RefusesWrites(true)
	_, err := loop.New(loop.Plan{Relays: []loop.RelayPlan{{Name: "stuck", Pin: pin}}})
	if !errors.Is(err, loop.ErrNotOff) {
		t.Errorf("got %v, want ErrNotOff", err)
	}
}

func TestSeriesRelayMakesFirstAndBreaksLast(t *testing.T) {
	var list []string
	b := newBench(t, 1, func(p *loop.Plan) {
		for i := range p.Relays {
			p.Relays[i].Pin = journalled{p.Relays[i].Pin.(*rig.Pin), &list}
		}
	})
	empty(t, b, "tub-0")
	heats := func() bool { return b.pins[0].Commanded() && b.pins[1].Commanded() }
	if !b.run(time.Hour, 25000, heats) {
		t.Fatal("the station never heats")
	}
	// Whatever order proofs take, a closed pad relay never meets a series relay
	// that closes after it, except in the series proof, where it must not close.
	pad := false
	for _, what := range list {
		switch what {
		case "close pad-tub-0":
			pad = true
		case "open pad-tub-0":
			pad = false
		case "close series-tub-0":
			if pad {
				t.Errorf("the series relay closed on a closed pad relay: %v", list)
			}
		}
	}
	list = nil
	if !b.run(time.Hour, 31900, func() bool { return !b.pins[0].Commanded() && !b.pins[1].Commanded() }) {
		t.Fatal("the relays stay closed over the cutoff")
	}
	if len(list) != 2 || list[0] != "open pad-tub-0" || list[1] != "open series-tub-0" {
		t.Errorf("opened in the order %v", list)
	}
}

func TestRelayThatCannotBeWrittenDropsItsStation(t *testing.T) {
	for dead, other := range []int{1, 0} {
		b := newBench(t, 1, nil)
		empty(t, b, "tub-0")
		if !b.run(time.Hour, 25000, func() bool { return b.pins[0].Commanded() && b.pins[1].Commanded() }) {
			t.Fatal("the station never heats")
		}
		b.pins[dead].RefusesWrites(true)
		b.reads(25000)
		r := b.tick()
		name := b.pins[dead].Name()
		if b.pins[other].Commanded() {
			t.Errorf("%s is still closed beside %s, which cannot be written", b.pins[other].Name(), name)
		}
		failed := false
		for _, c := range r.Relays {
			failed = failed || c.Err != nil && c.Relay == name
		}
		if !failed || r.Quiet {
			t.Errorf("the failed write of %s is told: %v, quiet: %v", name, failed, r.Quiet)
		}
		b.reads(25000)
		if r = b.tick(); r.Stations[0].Output.Permitted || b.pins[other].Commanded() {
			t.Errorf("heat is still permitted beside %s, or its other relay closed", name)
		}
	}
}

// A tick is quiet that has no event, no act and no switched relay, and no other.
func TestQuietIsOnlyATickThatTellsNothing(t *testing.T) {
	b := newBench(t, 1, nil)
	empty(t, b, "tub-0")
	var quiet, events, acts, switched int
	for s := range 3600 {
		if s%100 == 0 {
			if _, ok := b.loop.Submit(loop.ActRequest{Station: "tub-0", Act: controller.Act{Kind: controller.Presence, Place: controller.Board}}); !ok {
				t.Fatal("the queue of acts is full")
			}
		}
		b.reads(25000)
		r := b.tick()
		st := &r.Stations[0]
		if r.Quiet != (len(st.Output.Events)+len(st.Acts)+len(r.Relays) == 0) {
			t.Fatalf("after %d s: quiet %v with %d events, %d acts, %d relays switched", s, r.Quiet, len(st.Output.Events), len(st.Acts), len(r.Relays))
		}
		if len(st.Acts) != b2i(s%100 == 0) {
			t.Fatalf("after %d s: %d acts", s, len(st.Acts))
		}
		quiet, events, acts, switched = quiet+b2i(r.Quiet), events+len(st.Output.Events), acts+len(st.Acts), switched+len(r.Relays)
	}
	if quiet < 3000 || events == 0 || acts != 36 || switched == 0 {
		t.Errorf("%d quiet ticks, %d events, %d acts, %d relays switched", quiet, events, acts, switched)
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// A heater must not glow in still air: a fan relay that cannot be written takes
// the heat of its station like any other relay of it.
func TestFanThatCannotBeWrittenDropsItsStation(t *testing.T) {
	fan := rig.NewPin("fan")
	b := newBench(t, 1, func(p *loop.Plan) {
		p.Relays = append(p.Relays, loop.RelayPlan{Name: "fan", Pin: fan})
		p.Stations[0].Fan = len(p.Relays) - 1
	})
	empty(t, b, "tub-0")
	if !b.run(time.Hour, 25000, func() bool { return b.pins[0].Commanded() && b.pins[1].Commanded() }) {
		t.Fatal("the station never heats")
	}
	fan.RefusesWrites(true)
	b.reads(25000)
	b.tick()
	if b.pins[0].Commanded() || b.pins[1].Commanded() {
		t.Error("heat beside a fan that cannot be written")
	}
	b.reads(25000)
	if r := b.tick(); r.Stations[0].Output.Permitted {
		t.Error("heat is still permitted")
	}
}

// A station that must have the shared series relay open wins over one that
// needs it closed.
func TestSharedSeriesRelayOpensForAnyTrip(t *testing.T) {
	b := newBench(t, 2, func(p *loop.Plan) {
		p.Stations[1].Series = p.Stations[0].Series
		for i := range p.Stations {
			p.Stations[i].Settings.SeriesShared = true
		}
	})
	empty(t, b, "tub-0")
	empty(t, b, "tub-1")
	if !b.run(3*time.Hour, 25000, func() bool { return b.pins[1].Commanded() }) {
		t.Fatal("the shared series relay never closes")
	}
	for end := b.now + 10*time.Second; b.now < end; {
		b.reads(25000)
		for i := 4; i < 8; i++ { // the probes of tub-1
			b.bus.cycle.Samples[i].Reading.Value += 8 * 1_000_000_000
			b.bus.cycle.Samples[i].Reading.Code += 8 * 16
		}
		b.tick()
	}
	if b.pins[1].Commanded() {
		t.Error("the shared series relay is closed while one of its stations has tripped")
	}
}

func TestProbeOutsideTheCycleDoesNotExist(t *testing.T) {
	b := newBench(t, 1, nil)
	b.reads(25000)
	b.bus.cycle.Samples = b.bus.cycle.Samples[1:]
	r := b.tick()
	got := r.Stations[0].Input.Readings
	if got[0].Quality != controller.Bad || got[0].Flaw != controller.Absent {
		t.Errorf("the missing probe reads %+v", got[0])
	}
	if got[1].Quality != controller.Good {
		t.Errorf("the probe beside it reads %+v", got[1])
	}
}

// Where the samples of the last tick stood proves nothing: the same cycle may hold
// others, and their memory another probe's.
func TestASampleIsItsProbesAndOfThisTick(t *testing.T) {
	b := newBench(t, 1, nil)
	b.reads(25000)
	b.tick()
	read := func() []controller.Reading { return b.tick().Stations[0].Input.Readings }
	b.bus.cycle.Samples = slices.Clone(b.bus.cycle.Samples)
	b.reads(26000)
	if got := read()[0]; got.Code != 26*16 {
		t.Errorf("of a new list the code %d is read, want %d", got.Code, 26*16)
	}
	first := b.bus.cycle.Samples[0]
	b.bus.cycle.Samples = slices.Clone(b.bus.cycle.Samples)
	slices.Reverse(b.bus.cycle.Samples)
	b.bus.cycle.Samples[3].Reading.Code = 7
	if got := read()[0]; got.Code != 7 {
		t.Errorf("of a list in another order the code %d is read, want 7", got.Code)
	}
	b.bus.cycle.Samples[3].Address++
	if got := read()[0]; got.Quality != controller.Bad || got.Flaw != controller.Absent {
		t.Errorf("%x reads %+v where another probe stands now", first.Address, got)
	}
}

func TestNoCycleYetIsUnknownAndNotAbsent(t *testing.T) {
	b := newBench(t, 1, nil)
	b.bus.cycle = nil
	if got := b.tick().Stations[0].Input.Readings[0]; got.Quality != controller.Unknown {
		t.Errorf("before the first cycle a probe reads %+v", got)
	}
}

func TestActsAreAnsweredInTheirTick(t *testing.T) {
	b := newBench(t, 1, nil)
	if a := submit(t, b, loop.ActRequest{Station: "tub-0", Act: controller.Act{Kind: controller.BeginAttended, Place: controller.Page}}); !a.Done {
		t.Errorf("attended mode was refused: %v", a.Refusal)
	}
	if a := submit(t, b, loop.ActRequest{Station: "tub-0", Act: controller.Act{Kind: controller.Reset, Cause: controller.OverCutoff, Place: controller.Board}}); a.Done || a.Refusal != controller.NothingLatched {
		t.Errorf("a reset of nothing was answered %+v", a)
	}
	ch, ok := b.loop.Submit(loop.ActRequest{Station: "nowhere", Act: controller.Act{Kind: controller.Presence}})
	if !ok {
		t.Fatal("refused by the queue")
	}
	b.tick()
	if a := <-ch; a.Done {
		t.Error("an act at a station that does not exist was done")
	}
}

func TestQueueOfActsIsBounded(t *testing.T) {
	b := newBench(t, 1, nil)
	taken := 0
	for range 1000 {
		if _, ok := b.loop.Submit(loop.ActRequest{Station: "tub-0", Act: controller.Act{Kind: controller.Presence}}); ok {
			taken++
		}
	}
	if taken == 0 || taken == 1000 {
		t.Errorf("%d of 1000 acts were taken without a tick", taken)
	}
	b.tick()
	if _, ok := b.loop.Submit(loop.ActRequest{Station: "tub-0"}); !ok {
		t.Error("after a tick there is no room")
	}
}

func TestTickDoesNotAllocate(t *testing.T) {
	b := newBench(t, 4, nil)
	b.run(30*time.Minute, 25000, func() bool { return false })
	if n := testing.AllocsPerRun(200, func() { b.reads(25000); b.tick() }); n != 0 {
		t.Errorf("%.1f allocations a tick", n)
	}
}

func TestSnapshotIsNotTouchedAgain(t *testing.T) {
	b := newBench(t, 1, nil)
	b.reads(25000)
	b.tick()
	before := b.loop.Snapshot()
	value := before.Stations[0].Probes[0].Reading.Value
	b.reads(27000)
	b.tick()
	if before.Stations[0].Probes[0].Reading.Value != value || before.Tick != 1 {
		t.Error("a snapshot changed after it was made")
	}
}

func TestOtherProgramsHandOnALineIsPutRight(t *testing.T) {
	b := newBench(t, 1, nil)
	b.reads(25000)
	b.tick()
	if err := b.pins[0].Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	b.reads(25000)
	b.tick()
	if b.pins[0].Closed() {
		t.Error("a relay that somebody else closed stays closed")
	}
}

func TestPlanWithWrongIndicesIsRefused(t *testing.T) {
	_, err := loop.New(loop.Plan{Stations: []loop.StationPlan{{Name: "x", Pad: 3, Series: -1, Fan: -1, Buzzer: -1, Probes: []loop.ProbePlan{{Bus: 2}}}}})
	if err == nil {
		t.Error("a plan that names relays and buses that are not there was taken")
	}
}
