package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"soakwarden/configs"
	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/rehearsal"
	"soakwarden/internal/sizing"
	"soakwarden/internal/socket"
	"soakwarden/sim/rig"
)

// world is an invented tub (or bench) on the model in virtual time, with the loop, the
// cases, a journal on a card and the local socket: everything that a command
// speaks to, without a second of real time.
type world struct {
	t       *testing.T
	dir     string
	config  *config.Config
	run     *rehearsal.Run
	book    *casebook.Book
	record  *journal.Journal
	snap    *loop.Snapshot
	jumped  time.Duration // by which the wall clock ran ahead without ticks
	trusted bool
	boot    string
	passed  *casebook.Releases
	dies    int // after so many acts of the station, from 1 on; 0: it lives
}

var worldBegins = time.Date(2028, time.October, 2, 6, 0, 0, 0, time.UTC)

func newWorld(t *testing.T) *world { return newWorldOf(t, configs.Tub) }

func newWorldOf(t *testing.T, text []byte) *world {
	t.Helper()
	cfg, problems := config.Parse("world.toml", text)
	if cfg == nil {
		t.Fatal(problems)
	}
	dir, err := os.MkdirTemp("", "sw") // short: a socket's path is bounded
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	w := &world{t: t, dir: dir, config: cfg, trusted: true}
	w.record, err = journal.Open(w.journal(), journal.Options{Reason: "test", Clock: func() journal.Moment {
		return journal.Moment{Now: w.now(), Wall: w.wall(), Trusted: w.trusted}
	}})
	if err != nil {
		t.Fatal(err)
	}
	w.passed = casebook.WatchReleases(treatmentsOnly{w.record}, nil)
	s := &rehearsal.Scenario{
		Name: "case", Config: cfg, Duration: 100 * 24 * time.Hour, Seed: 3, Room: 18*1e9 + 273_150_000_000, RoomSwing: 2 * controller.Kelvin,
		// The animal goes in when the test says so.
		Events: []rehearsal.Event{{At: 99 * 24 * time.Hour, Kind: rehearsal.AnimalOut, Target: cfg.Stations[0].Name}},
	}
	if w.run, err = s.NewRun(rehearsal.Options{Recorder: w.passed}); err != nil {
		t.Fatal(err)
	}
	w.open()
	l, err := socket.Listen(w.socket())
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- socket.Serve(ctx, l, socket.Options{Latest: func() *loop.Snapshot { return w.snap }, Act: w.act, Cases: w})
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if err := w.record.Close(); err != nil {
			t.Error(err)
		}
	})
	w.pass(time.Minute)
	return w
}

// treatmentsOnly is a card on which ticks and states of stations take no room.
type treatmentsOnly struct{ *journal.Journal }

func (treatmentsOnly) Tick(*loop.Result) journal.Receipt { return journal.Receipt{} }

func (w *world) journal() string { return filepath.Join(w.dir, "j") }
func (w *world) socket() string  { return filepath.Join(w.dir, "s") }
func (w *world) station() string { return w.config.Stations[0].Name }

func (w *world) now() time.Duration {
	if w.run == nil {
		return 0
	}
	return w.run.Bench().Now()
}
func (w *world) wall() time.Time { return worldBegins.Add(w.now() + w.jumped) }

// open opens the cases as a program that starts does.
func (w *world) open() {
	w.t.Helper()
	saved, err := w.record.LoadStates()
	if err != nil {
		w.t.Fatal(err)
	}
	w.book, err = casebook.Open(casebook.Options{
		Tubs:      []casebook.Tub{{Name: w.station(), Species: w.config.Stations[0].Species.Name, Upper: w.config.Stations[0].Species.Upper}},
		Saved:     saved,
		SaveState: func(key string, state []byte) casebook.Receipt { return w.record.SaveState(key, state) },
		Document: func(station, id string, doc []byte) casebook.Receipt {
			return w.record.Document(station, casebook.Topic, id, doc)
		},
		Act: w.direct, Latest: func() *loop.Snapshot { return w.snap },
		Moment: func() casebook.Moment {
			return casebook.Moment{Boot: w.boot, Up: w.now(), Wall: w.wall(), Trusted: w.trusted}
		},
		Budget: func(string) casebook.Budget {
			size, err := sizing.SizeOf(&w.config.Stations[0])
			if err != nil {
				w.t.Error(err)
			}
			return casebook.Budget{Verdict: string(size.Verdict), Evaporation: *size.Evaporation}
		},
		Released: w.passed.Has,
		Zone:     time.UTC,
	})
	if err != nil {
		w.t.Fatal(err)
	}
}

// Do and List reach whichever book is open.
func (w *world) Do(ctx context.Context, words casebook.Words, place controller.Place) (casebook.Reply, error) {
	return w.book.Do(ctx, words, place)
}
func (w *world) List() []casebook.Line { return w.book.List() }

func (w *world) act(a loop.ActRequest) (loop.Answer, error) { return w.book.Act(a) }

// direct hands an act to the loop and lets ticks pass until it is answered. The
// world then does what the keeper does with hands.
func (w *world) direct(a loop.ActRequest) (loop.Answer, error) {
	if w.run.Loop() == nil {
		return loop.Answer{}, errors.New("no program lives")
	}
	ch, ok := w.run.Loop().Submit(a)
	if !ok {
		return loop.Answer{}, errors.New("too many acts wait")
	}
	w.tick()
	answer := <-ch
	if answer.Done {
		switch b := w.run.Bench(); a.Act.Kind {
		case controller.BeginAttended:
			b.OpenLid(0, true)
		case controller.EndAttended:
			b.OpenLid(0, false)
		case controller.WaterChanged:
			b.ChangeWater(0, 29)
		case controller.AnimalIn:
			b.PutAnimal(0, 1.6, 29)
		case controller.AnimalOut:
			b.TakeAnimal(0)
		}
		if w.dies > 0 {
			if w.dies--; w.dies == 0 {
				return loop.Answer{}, errors.New("the program died")
			}
		}
	}
	return answer, nil
}

func (w *world) tick() {
	if err := w.run.Step(); err != nil {
		w.t.Fatal(err)
	}
	if l := w.run.Loop(); l != nil && w.run.Bench().Now()%(10*time.Second) == 0 {
		w.snap = l.Snapshot()
		w.snap.Wall, w.snap.Now, w.snap.Demo = w.wall(), w.now(), true
		w.book.Show(w.snap)
	}
}

// pass lets time go by with everything running.
func (w *world) pass(d time.Duration) {
	for end := w.now() + d; w.now() < end; {
		w.tick()
		if w.now()%(10*time.Second) == 0 {
			w.book.Hear(w.snap)
		}
	}
}

// until waits for a stage, at most so long.
func (w *world) until(stage string, most time.Duration) {
	w.t.Helper()
	for end := w.now() + most; w.now() < end; w.pass(time.Minute) {
		if w.stage() == stage {
			return
		}
	}
	w.t.Fatalf("%s after %s, want %s; %s", w.stage(), most, stage, w.tell(0, "case", "list"))
}

func (w *world) stage() string {
	all := w.book.List()
	if len(all) == 0 {
		return ""
	}
	return all[0].Stage
}

// tell runs a command and wants its exit status.
func (w *world) tell(want int, args ...string) string {
	w.t.Helper()
	var out, errOut bytes.Buffer
	if args[0] != "case" || args[1] != "report" && args[1] != "room" {
		args = append(args, "--socket", w.socket())
	}
	if args[0] == "case" && args[1] == "report" {
		if err := w.record.Prove(); err != nil { // the card has everything before it is read
			w.t.Fatal(err)
		}
	}
	got := run(args, &out, &errOut)
	// A list with something overdue is bad news, which is no failure here.
	if got != want && !(args[0] == "case" && args[1] == "list") {
		w.t.Fatalf("soakwarden %s ended with %d, want %d:\n%s%s", strings.Join(args, " "), got, want, &out, &errOut)
	}
	return out.String() + errOut.String()
}

// step runs a command that speaks to the daemon and gives its exit status.
func (w *world) step(args []string) int {
	var out bytes.Buffer
	return run(append(slices.Clone(args), "--socket", w.socket()), &out, &out)
}

// says runs a command and wants words in its answer.
func (w *world) says(want int, words string, args ...string) {
	w.t.Helper()
	if got := w.tell(want, args...); !strings.Contains(got, words) {
		w.t.Errorf("soakwarden %s does not say %q:\n%s", strings.Join(args, " "), words, got)
	}
}

// restart ends the program without a word and starts it again after a while.
// The model stands still meanwhile: only the cases are looked at.
func (w *world) restart(off time.Duration) {
	w.t.Helper()
	// Virtual time runs ahead of the card; what was handed to it is on it now.
	if err := w.record.Prove(); err != nil {
		w.t.Fatal(err)
	}
	w.jumped += off
	w.open()
}

func (w *world) fault(kind rig.FaultKind, target string, long time.Duration) {
	w.t.Helper()
	if err := w.run.Bench().Inject(rig.Fault{Kind: kind, Target: target, At: w.now(), Until: w.now() + long}); err != nil {
		w.t.Fatal(err)
	}
}

// A pad that would be dangerous is refused by a case, and a tub with it heats no
// animal that nobody watches, whatever its configuration says.
func TestDangerousPadNeverHeatsAnAnimalAlone(t *testing.T) {
	text := strings.Replace(string(configs.Tub), `pad = "20W"`, `pad = "90W", pad_length = "390mm", pad_width = "270mm"`, 1)
	if text == string(configs.Tub) {
		t.Fatal("the example has another pad")
	}
	w := newWorldOf(t, []byte(text))
	n := w.station()
	w.says(1, "this pad is dangerous", "case", "begin", n, "--animal", "carpet python", "--asked")
	w.says(0, "never alone (the heat budget is dangerous.", "status")
	heats := func(long time.Duration) (on bool) {
		for end := w.now() + long; w.now() < end; w.pass(10 * time.Second) {
			on = on || w.run.Bench().Heats(0)
		}
		return on
	}
	heats(2 * time.Hour) // proven, with somebody beside it
	w.tell(0, "stage", n, "animal-in")
	w.pass(31 * time.Minute) // whoever put the animal in has gone
	if heats(3 * time.Hour) {
		t.Error("it heats an animal that nobody watches")
	}
	if got := w.tell(1, "status"); !strings.Contains(got, "nobody present") || !strings.Contains(got, "Look at the animal and say that you are here.") {
		t.Errorf("nothing says why:\n%s", got)
	}
	w.tell(0, "round", n)
	if !heats(20 * time.Minute) {
		t.Error("it does not heat for somebody who is there")
	}
}
