package daemon

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
)

// What is overdue in a case is told once, told again when it gets worse, told
// to be over, and lights the lamp from medium on.
func TestOverdueIsTold(t *testing.T) {
	moment := casebook.Moment{Wall: time.Date(2028, 10, 2, 8, 0, 0, 0, time.UTC), Trusted: true}
	snap := &loop.Snapshot{Stations: []loop.StationView{{Name: "north", Kind: controller.Tub, ReadyAt: time.Hour}}}
	record := journal.NewMemory(journal.Options{})
	book, err := casebook.Open(casebook.Options{
		Tubs:      []casebook.Tub{{Name: "north", Species: "python", Upper: physic.ZeroCelsius + 34*physic.Celsius}},
		SaveState: func(key string, state []byte) casebook.Receipt { return record.SaveState(key, state) },
		Document: func(station, id string, doc []byte) casebook.Receipt {
			return record.Document(station, "case", id, doc)
		},
		Act:    func(loop.ActRequest) (loop.Answer, error) { return loop.Answer{Done: true}, nil },
		Latest: func() *loop.Snapshot { return snap }, Moment: func() casebook.Moment { return moment },
		Budget: func(string) casebook.Budget { return casebook.Budget{Verdict: "fits"} }, Zone: time.UTC,
	})
	if err != nil {
		t.Fatal(err)
	}
	d := New(Options{})
	d.book, d.notifier = book, notify.New(notify.Options{Bench: "bench"})
	do := func(w casebook.Words) {
		t.Helper()
		w.Case = "north"
		if r, err := book.Do(t.Context(), w, controller.Board); err != nil || !r.Done {
			t.Fatalf("%+v, %v", r, err)
		}
	}
	told := map[string]notify.Alarm{}
	after := func(long time.Duration, lamp bool, want ...controller.Severity) {
		t.Helper()
		snap.Now += long
		moment.Wall = moment.Wall.Add(long)
		book.Hear(snap)
		d.remind(told)
		if d.overdue.Load() != lamp || len(told) != len(want) {
			t.Errorf("after %s: lamp %v, told %+v", long, d.overdue.Load(), told)
		}
		for _, a := range told {
			if len(want) == 1 && a.Severity != want[0] {
				t.Errorf("after %s: %+v", long, a)
			}
		}
	}
	do(casebook.Words{Order: "begin", Animal: "carpet python", Asked: true})
	after(time.Minute, false)
	do(casebook.Words{Order: "animal-in"})
	after(5*time.Hour, false)
	after(time.Hour+time.Minute, false, controller.Note)
	after(time.Hour, true, controller.Warning)
	do(casebook.Words{Order: "round", AllWell: true})
	after(time.Minute, false)
	if d.unplaced() != nil || (&Daemon{}).unplaced() != nil {
		t.Error("an animal in its tub has no place")
	}
}
