package journal

import (
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"go.uber.org/goleak"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/loop"
)

// A session that is left behind after a panic inside the library cannot be
// closed, so the goroutine that its pool keeps stays until the program ends.
func TestMain(m *testing.M) {
	goleak.VerifyTestMain(m, goleak.IgnoreTopFunction("database/sql.(*DB).connectionOpener"))
}

// noon is an invented moment.
var noon = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)

// bench makes results as a bench of tubs gives them. The values are invented.
type bench struct {
	now  time.Duration
	step time.Duration
	res  loop.Result
	n    uint32
}

func newBench(stations, probes int) *bench {
	b := &bench{n: 1, step: time.Second}
	for i := range stations {
		b.res.Stations = append(b.res.Stations, loop.StationResult{
			Name:   fmt.Sprintf("tub-%d", i+1),
			Input:  &controller.Input{Readings: make([]controller.Reading, probes)},
			Output: &controller.Output{Permitted: true},
		})
	}
	return b
}

// chance is a small generator, so that the same test gives the same bytes.
func (b *bench) chance(of uint32) bool {
	b.n ^= b.n << 13
	b.n ^= b.n >> 17
	b.n ^= b.n << 5
	return b.n%of == 0
}

// tick makes the next second: codes wander as those of quiet sensors do, the
// tick trembles by some milliseconds, conversions run on a clock of their own.
func (b *bench) tick() *loop.Result {
	b.now += b.step
	b.n++
	tremble := time.Duration(b.n*2654435761>>29) * time.Millisecond
	r := &b.res
	r.Now, r.Wall, r.Trusted, r.Urgent = b.now+tremble, noon.Add(b.now+tremble), true, false
	r.Relays = r.Relays[:0]
	for i := range r.Stations {
		s := &r.Stations[i]
		s.Input.Now = r.Now
		s.Input.Health = controller.Health{StoreProven: true, Permit: true, LateBy: tremble}
		s.Input.Acts, s.Acts, s.Output.Events = s.Input.Acts[:0], s.Acts[:0], s.Output.Events[:0]
		at := r.Now - r.Now%(811*time.Millisecond)
		for p := range s.Input.Readings {
			rd := &s.Input.Readings[p]
			if rd.Code == 0 {
				rd.Code = int16(470 + 3*p)
			}
			if b.chance(6) {
				rd.Code += int16(1 - 2*(b.n>>8&1))
			}
			rd.Value = physic.ZeroCelsius + physic.Temperature(rd.Code)*62_500*physic.MicroKelvin + 120*physic.MilliKelvin
			rd.At, rd.Quality = at, controller.Good
		}
		if s.Output.Effective == 0 {
			s.Output.Effective = physic.ZeroCelsius + 29*physic.Kelvin
		}
		if (int(b.now/time.Second)+37*i)%300 == 0 {
			on := !s.Output.Command.Pad
			s.Output.Command = controller.Command{Pad: on, Series: on}
			s.Output.Events = append(s.Output.Events, controller.Event{Kind: controller.HeatSwitched, On: on, Probe: -1})
			r.Relays = append(r.Relays, loop.RelayChange{Relay: "pad-" + s.Name, On: on})
		}
	}
	return r
}

// trip makes the next tick an urgent one of station i.
func (b *bench) trip(i int) *loop.Result {
	r := b.tick()
	b.latch(i)
	return r
}

func (b *bench) latch(i int) {
	s := &b.res.Stations[i]
	s.Output.Events = append(s.Output.Events, controller.Event{
		Kind: controller.Latched, Cause: controller.OverCutoff, Probe: 0, Number: uint32(b.now / time.Second)})
	b.res.Urgent = true
}

func (b *bench) act(i int, who, why string) *loop.Result {
	r := b.tick()
	s := &r.Stations[i]
	a := controller.Act{Kind: controller.Acknowledge, Cause: controller.TooCold, Place: controller.Board, Number: uint32(b.now / time.Second)}
	s.Input.Acts = append(s.Input.Acts, a)
	s.Acts = append(s.Acts, loop.ActRequest{Station: s.Name, Act: a, Who: who, Why: why})
	r.Urgent = true
	return r
}

func mustOpen(t testing.TB, path string, o Options) *Journal {
	t.Helper()
	j, err := Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// await waits for a receipt and fails when it came to nothing.
func await(t testing.TB, r Receipt) {
	t.Helper()
	select {
	case <-r.Done():
	case <-time.After(30 * time.Second):
		t.Fatal("no answer from the writer")
	}
	if err := r.Err(); err != nil {
		t.Fatal(err)
	}
}

func mustVerify(t testing.TB, path string) verify.Report {
	t.Helper()
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	rep, err := verify.Check(r)
	if err := errors.Join(err, r.Close()); err != nil {
		t.Fatal(err)
	}
	if !rep.OK {
		t.Fatalf("the journal does not verify: %q", rep.Problems)
	}
	return rep
}

func TestEverythingIsThereAfterwards(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j := mustOpen(t, path, Options{Reason: "test", Version: "v", Boot: "boot-1"})
	b := newBench(2, 3)
	if err := j.Prove(); err != nil {
		t.Fatal(err)
	}
	await(t, j.Config("tub.toml", []byte("name = \"bench\"\n")))
	await(t, j.Settings("tub-1", "core-1", controller.Settings{Kind: controller.Tub}))
	for range 700 {
		await(t, j.Tick(b.tick()))
	}
	await(t, j.Tick(b.trip(1)))
	await(t, j.Tick(b.act(0, "A. Keeper", "saw it")))
	await(t, j.SaveState("tub-1", []byte("state one")))
	await(t, j.SaveState("tub-1", []byte("state two")))
	await(t, j.SaveState("tub-1", []byte("state two")))
	await(t, j.Note("tub-1", "A. Keeper", "drank well"))
	await(t, j.Document("tub-1", "case", "1", []byte(`{"b":1.50, "a":"x"}`)))
	if r := j.Document("tub-1", "case", "1", []byte(`{"b":`)); r.Err() == nil {
		t.Error("broken JSON was taken")
	}
	await(t, j.Stop("test over"))
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if err := j.Tick(b.tick()).Err(); !errors.Is(err, ErrClosed) {
		t.Errorf("a tick after the end: %v", err)
	}
	rep := mustVerify(t, path)
	counts := map[entry.Kind]int{}
	ticks := 0
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	err = r.Entries(func(e *entry.Entry) error {
		counts[e.Body.Kind()]++
		if b, ok := e.Body.(*entry.Ticks); ok {
			ticks += b.Len()
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if ticks != 2*702 {
		t.Errorf("%d ticks are there, want %d", ticks, 2*702)
	}
	for kind, want := range map[entry.Kind]int{
		entry.KindStart: 1, entry.KindStop: 1, entry.KindConfig: 1, entry.KindSettings: 1, entry.KindAct: 1,
		entry.KindState: 2, entry.KindNote: 1, entry.KindDocument: 1, entry.KindProof: 1,
	} {
		if counts[kind] != want {
			t.Errorf("%d entries of %s, want %d", counts[kind], kind, want)
		}
	}
	states, err := r.States()
	if err != nil || string(states["tub-1"]) != "state two" {
		t.Errorf("the saved states are %q, %v", states, err)
	}
	if rep.Entries != j.Health().Entries {
		t.Errorf("%d entries verify, %d were counted", rep.Entries, j.Health().Entries)
	}
}

func TestTheRunsBeforeAreKnown(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	for i, want := range []Previous{{First: true}, {}, {Unclean: true, Restarts: 1}, {Unclean: true, Restarts: 2}, {Restarts: 2}} {
		var now time.Duration
		j := mustOpen(t, path, Options{Clock: func() Moment { return Moment{Now: now, Wall: noon} }})
		if got := j.Previous(); got != want {
			t.Errorf("start %d: %+v, want %+v", i, got, want)
		}
		now = 10 * time.Minute
		await(t, j.Note("", "x", "alive"))
		if i != 1 && i != 2 {
			await(t, j.Stop("in order"))
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	}
	mustVerify(t, path)
}

func TestMemoryVerifies(t *testing.T) {
	m := NewMemory(Options{})
	b := newBench(2, 3)
	for range 400 {
		m.Tick(b.tick())
	}
	m.Tick(b.trip(0))
	m.SaveState("tub-1", []byte("s"))
	if err := m.Prove(); err != nil {
		t.Fatal(err)
	}
	m.Stop("over")
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	rep, err := verify.Check(m)
	if err != nil || !rep.OK || rep.Entries != m.Health().Entries {
		t.Fatalf("%+v, %v", rep, err)
	}
	states, err := m.LoadStates()
	if err != nil || string(states["tub-1"]) != "s" {
		t.Errorf("%q, %v", states, err)
	}
}
