package casebook

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

// desk is a book over an invented station whose answers a test chooses.
type desk struct {
	t       *testing.T
	b       *Book
	snap    loop.Snapshot
	moment  Moment
	saved   map[string][]byte
	docs    []entryOf
	acts    []controller.ActKind
	refuse  map[controller.ActKind]controller.Refusal
	actErr  error
	card    error
	hung    bool
	verdict string
	passed  map[string]bool
}

var start = time.Date(2028, 10, 2, 8, 0, 0, 0, time.UTC)

type onCard struct {
	err  error
	hung bool
}

func (r onCard) Done() <-chan struct{} {
	c := make(chan struct{})
	if !r.hung {
		close(c)
	}
	return c
}
func (r onCard) Err() error { return r.err }

func newDesk(t *testing.T) *desk {
	d := &desk{
		t: t, saved: map[string][]byte{"GPIO5": []byte("a station's")}, moment: Moment{Wall: start, Trusted: true}, verdict: "fits",
		refuse: map[controller.ActKind]controller.Refusal{}, passed: map[string]bool{},
	}
	d.snap.Stations = []loop.StationView{{Name: "north", Kind: controller.Tub}, {Name: "cabinet", Kind: controller.Chamber}}
	d.open()
	return d
}

func (d *desk) open() error {
	var err error
	d.b, err = Open(Options{
		Tubs:  []Tub{{Name: "north", Species: "python", Upper: physic.ZeroCelsius + 34*physic.Celsius, Volume: 5}, {Name: "south", Species: "python", Upper: physic.ZeroCelsius + 34*physic.Celsius}},
		Saved: d.saved,
		SaveState: func(key string, state []byte) Receipt {
			d.saved[key] = state
			return onCard{d.card, d.hung}
		},
		Document: func(station, id string, doc []byte) Receipt {
			var e entryOf
			if err := json.Unmarshal(doc, &e); err != nil {
				d.t.Error(err)
			}
			d.docs = append(d.docs, e)
			return onCard{d.card, d.hung}
		},
		Act: func(r loop.ActRequest) (loop.Answer, error) {
			d.acts = append(d.acts, r.Act.Kind)
			if no := d.refuse[r.Act.Kind]; no != controller.NoRefusal {
				return loop.Answer{Refusal: no}, nil
			}
			return loop.Answer{Done: d.actErr == nil}, d.actErr
		},
		Latest: func() *loop.Snapshot { return &d.snap }, Moment: func() Moment { return d.moment },
		Budget:   func(string) Budget { return Budget{d.verdict, 0.48} },
		Released: func(n string) bool { return d.passed[n] }, Zone: time.UTC,
	})
	return err
}

// pass lets time go by in steps of a minute.
func (d *desk) pass(long time.Duration) {
	d.b.Hear(&d.snap)
	for ; long > 0; long -= time.Minute {
		d.snap.Now += time.Minute
		d.moment.Wall = d.moment.Wall.Add(time.Minute)
		d.moment.Up += time.Minute
		d.b.Hear(&d.snap)
	}
}

func (d *desk) do(w Words) Reply {
	d.t.Helper()
	if w.Case == "" {
		w.Case = "north"
	}
	r, err := d.b.Do(context.Background(), w, controller.Board)
	if err != nil || !r.Done {
		d.t.Fatalf("%s: %+v, %v", w.Order, r, err)
	}
	return r
}

func (d *desk) begin() { d.do(Words{Order: "begin", Animal: "carpet python", Asked: true}) }

// ready brings the tub in band.
func (d *desk) ready() {
	d.snap.Stations[0].ReadyAt = time.Hour
	d.pass(time.Minute)
}

func (d *desk) refused(w Words, say string) {
	d.t.Helper()
	if w.Case == "" {
		w.Case = "north"
	}
	docs := len(d.docs)
	r, err := d.b.Do(context.Background(), w, controller.Board)
	if err != nil || r.Done || !strings.Contains(r.Refused, say) {
		d.t.Errorf("%s: %+v, %v; want %q", w.Order, r, err, say)
	}
	if len(d.docs) != docs {
		d.t.Errorf("a refused %s is in the journal", w.Order)
	}
}

func TestOrderTellsTheStationThenTheJournal(t *testing.T) {
	d := newDesk(t)
	d.begin()
	want := []controller.ActKind{controller.PutInService, controller.ConfirmFill, controller.AnimalOut, controller.Presence}
	if len(d.acts) != 4 || d.acts[0] != want[0] || d.acts[1] != want[1] || d.acts[2] != want[2] || d.acts[3] != want[3] {
		t.Errorf("told %v, want %v", d.acts, want)
	}
	if len(d.docs) != 1 || d.docs[0].Order != "begin" || d.docs[0].Where != "board" || d.docs[0].Case != "north-1" || !strings.Contains(d.docs[0].Says, "fits") {
		t.Errorf("%+v", d.docs)
	}
	var c procedure.Case
	if err := c.Restore(d.docs[0].State); err != nil {
		t.Errorf("the journal's state: %v", err)
	}
	if d.saved["case north-1"] == nil {
		t.Error("the case is not saved")
	}
	d.ready()
	d.refuse[controller.AnimalIn] = controller.NotNow
	d.refused(Words{Order: "animal-in"}, "the station refuses animal-in")
	if l := d.b.List(); l[0].Stage != "ready" {
		t.Errorf("the station refused and the case is in %s", l[0].Stage)
	}
	delete(d.refuse, controller.AnimalIn)
	d.actErr = errors.New("no tick for 5 s")
	if _, err := d.b.Do(context.Background(), Words{Case: "north", Order: "animal-in"}, controller.Page); err == nil || !strings.Contains(err.Error(), "look at soakwarden status") {
		t.Errorf("a station that does not answer: %v", err)
	}
	d.actErr = nil
	d.do(Words{Order: "animal-in"})
	// It may have been told before: being in service already is no news.
	d.refuse[controller.BeginAttended] = controller.NotNow
	d.do(Words{Order: "attended"})
}

func TestNotOnDiskIsSaid(t *testing.T) {
	d := newDesk(t)
	d.card = errors.New("card full")
	r, err := d.b.Do(context.Background(), Words{Case: "north", Order: "begin", Animal: "carpet python", Asked: true}, controller.Board)
	if !errors.Is(err, ErrNotOnDisk) || !r.Done {
		t.Errorf("%+v, %v", r, err)
	}
	d.card, d.hung = nil, true
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := d.b.Do(ctx, Words{Case: "north", Order: "place", Text: "on the shelf"}, controller.Board); !errors.Is(err, ErrNotOnDisk) {
		t.Errorf("a card that hangs: %v", err)
	}
	// The lid can be opened all the same.
	if a, err := d.b.Act(loop.ActRequest{Station: "north", Act: controller.Act{Kind: controller.BeginAttended, Place: controller.Page}}); err != nil || !a.Done {
		t.Errorf("attended with a hung card: %+v, %v", a, err)
	}
}

func TestCasesAreFoundByTubAndByNumber(t *testing.T) {
	d := newDesk(t)
	d.refused(Words{Order: "fill"}, "no case runs")
	d.refused(Words{Case: "east", Order: "begin"}, "write one of [north south]")
	d.begin()
	d.refused(Words{Order: "begin", Animal: "corn snake", Asked: true}, "one animal a tub")
	d.do(Words{Case: "north-1", Order: "place", Text: "on the shelf"})
	d.do(Words{Order: "stop", Why: "for a test"})
	d.do(Words{Order: "begin", Animal: "corn snake", Asked: true})
	if l := d.b.List(); len(l) != 2 || l[0].Case != "north-2" || l[1].Stage != "stopped" {
		t.Errorf("%+v", l)
	}
	d.verdict = "dangerous"
	d.refused(Words{Case: "south", Order: "begin", Animal: "boa", Asked: true}, "this pad is dangerous")
}

// Two cases of one tub: one in the watch, one in the water.
func TestWatchLeavesTheTubFree(t *testing.T) {
	d := newDesk(t)
	toWatch := func() {
		d.begin()
		d.ready()
		d.do(Words{Order: "animal-in"})
		d.do(Words{Order: "rinse", Why: "short, for a test"})
		d.do(Words{Order: "paper"})
	}
	toWatch()
	d.do(Words{Order: "furnish", Item: "box", Way: "wash", Encl: true})
	d.do(Words{Order: "treated", Item: "box", Record: "washed"})
	d.do(Words{Order: "return", Room: "27C"})
	toWatch()
	d.refused(Words{Order: "look"}, "several cases belong to")
	zero, two := 0, 2
	d.do(Words{Case: "north-1", Order: "look", Mites: &two, Date: "2028-10-02"})
	d.do(Words{Case: "north-2", Order: "look", Mites: &zero})
	d.begin()
	d.refused(Words{Case: "north-1", Order: "again"}, "one animal a tub")
	d.snap.Stations = append(d.snap.Stations, loop.StationView{Name: "lone", Kind: controller.Tub})
	snap := d.snap
	snap.Stations = append([]loop.StationView(nil), d.snap.Stations...)
	d.b.Show(&snap)
	if snap.Stations[0].Case == nil || snap.Stations[0].Case.ID != "north-3" || snap.Stations[1].Case != nil {
		t.Errorf("%+v", snap.Stations[0].Case)
	}
	if got := d.b.Unplaced(); len(got) != 1 {
		t.Errorf("%v", got)
	}
	d.moment.Wall = d.moment.Wall.Add(4 * 24 * time.Hour)
	d.b.Hear(&d.snap)
	found := false
	for _, a := range d.b.Alarms() {
		found = found || a.Case == "north-1" && a.Name == "look overdue" && strings.HasPrefix(a.Advice, "Look at animal") && a.Medium
	}
	if !found {
		t.Errorf("%+v", d.b.Alarms())
	}
}

func TestActsOfTheTubMoveItsCase(t *testing.T) {
	d := newDesk(t)
	act := func(kind controller.ActKind) loop.Answer {
		t.Helper()
		a, err := d.b.Act(loop.ActRequest{Station: "north", Act: controller.Act{Kind: kind, Place: controller.Page}, Who: "a keeper"})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	if a := act(controller.AnimalIn); !a.Done || len(d.docs) != 0 {
		t.Error("without a case an act does not go to the station")
	}
	d.begin()
	if a := act(controller.AnimalIn); a.Done || !strings.Contains(a.Why, "wait until the tub is ready") {
		t.Errorf("%+v", a)
	}
	d.ready()
	if a := act(controller.AnimalIn); !a.Done || !strings.Contains(a.Next, "Make the soak water") {
		t.Errorf("%+v", a)
	}
	if a := act(controller.Presence); !a.Done || d.docs[len(d.docs)-1].Order != "animal-in" {
		t.Errorf("presence moves the case: %+v", d.docs[len(d.docs)-1])
	}
	act(controller.BeginAttended)
	a, err := d.b.Act(loop.ActRequest{Station: "north", Act: controller.Act{Kind: controller.WaterChanged, Value: physic.ZeroCelsius + 26*physic.Celsius, Place: controller.Board}})
	if err != nil || !a.Done || !strings.Contains(d.docs[len(d.docs)-1].Says, "26.0 °C / 78.8 °F") {
		t.Errorf("%+v, %v: %s", a, err, d.docs[len(d.docs)-1].Says)
	}
	act(controller.EndAttended)
	if a := act(controller.AnimalOut); !a.Done {
		t.Errorf("lifted out in a hurry: %+v", a)
	}
	if l := d.b.List(); l[0].Stage != "dry rest" || !strings.Contains(l[0].Paused, "write its temperature") {
		t.Errorf("%+v", l[0])
	}
	if a := act(controller.PutInService); a.Done || !strings.Contains(a.Why, "the case is paused") && !strings.Contains(a.Why, "fill it") {
		t.Errorf("heat in a dry rest: %+v", a)
	}
	// Whatever the case thinks: who says that the lid comes off gets both relays
	// open.
	told := len(d.acts)
	if a := act(controller.BeginAttended); !a.Done || len(d.acts) != told+1 || d.acts[told] != controller.BeginAttended {
		t.Errorf("attended in a dry rest: %+v, the station was told %v", a, d.acts[told:])
	}
	// A station that is open although its case is not can always be closed.
	d.snap.Stations[0].Attended = true
	if a := act(controller.EndAttended); !a.Done {
		t.Errorf("%+v", a)
	}
	d.actErr = errors.New("no tick")
	if _, err := d.b.Act(loop.ActRequest{Station: "north", Act: controller.Act{Kind: controller.Presence, Place: controller.Board}}); err == nil {
		t.Error("no error from a station that does not answer")
	}
}

func TestTripsAndReadinessAreTold(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.snap.Stations[0].Alarms = []loop.AlarmView{{Cause: controller.OverCutoff, Latched: true}, {Cause: controller.TooCold}}
	d.pass(time.Minute)
	d.snap.Stations[0].Alarms = nil
	d.pass(time.Minute)
	var says []string
	for _, e := range d.docs {
		says = append(says, e.Says)
	}
	all := strings.Join(says, "\n")
	for _, words := range []string{"The tub is ready", "The station tripped: over the cutoff", "not ready any more", "The trip was reset: over the cutoff"} {
		if !strings.Contains(all, words) {
			t.Errorf("no %q in\n%s", words, all)
		}
	}
	d.b.Hear(nil)
	d.snap.Now = 0 // another program's clock
	d.b.Hear(&d.snap)
	d.snap.Stations = d.snap.Stations[1:]
	d.pass(time.Minute)
}

func TestRestoreTellsWhatItKnows(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.b.Close()
	for _, c := range []struct {
		change func()
		say    string
	}{
		{func() { d.moment.Wall = d.moment.Wall.Add(30 * time.Second) }, ""},
		{func() { d.moment.Wall = d.moment.Wall.Add(5 * time.Hour) }, "its last word was 5 h ago"},
		{func() { d.moment.Trusted = false }, "off for an unknown time"},
		{func() { d.moment.Wall, d.moment.Trusted = start.Add(-time.Hour), true }, "off for an unknown time"},
	} {
		before := d.moment
		d.docs = nil
		c.change()
		if err := d.open(); err != nil {
			t.Fatal(err)
		}
		got := ""
		if len(d.docs) > 0 {
			got = d.docs[0].Says
		}
		if (c.say == "") != (got == "") || !strings.Contains(got, c.say) {
			t.Errorf("%q, want %q", got, c.say)
		}
		d.moment = before
	}
	d.saved["case broken"] = []byte("{")
	d.saved["case wrong"] = []byte(`{"case":{"age":1}}`)
	err := d.open()
	if err == nil || strings.Count(err.Error(), "look at the animal, and begin it anew") != 2 {
		t.Errorf("%v", err)
	}
	if l := d.b.List(); len(l) != 1 || l[0].Case != "north-1" {
		t.Errorf("%+v", l)
	}
}

func TestStateIsSavedNowAndThen(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.pass(time.Minute)
	before := d.saved["case north-1"]
	d.pass(8 * time.Minute)
	if !bytes.Equal(before, d.saved["case north-1"]) {
		t.Error("saved too often for a card")
	}
	d.pass(2 * time.Minute)
	if bytes.Equal(before, d.saved["case north-1"]) {
		t.Error("ten minutes passed and nothing was saved")
	}
}

func TestListSaysWhatToTopUp(t *testing.T) {
	d := newDesk(t)
	d.begin()
	d.ready()
	d.do(Words{Order: "animal-in"})
	d.pass(10 * time.Hour)
	l := d.b.List()[0]
	if l.TopUpL == nil || *l.TopUpL != 0.2 { // 0.48 L a day for 10 h
		t.Errorf("%+v", l.TopUpL)
	}
	// What the water's learned mass says is missing counts when it is more: the
	// tub holds 5 L, and a tenth of them is gone.
	d.snap.Stations[0].WaterLeft = 0.9
	if l := d.b.List()[0]; l.TopUpL == nil || *l.TopUpL != 0.5 {
		t.Errorf("a tenth of 5 L is missing: %+v", l.TopUpL)
	}
	if l.Checks == "" || l.Confirms == "" || l.Stops == "" || len(l.Due) == 0 {
		t.Errorf("%+v", l)
	}
}
