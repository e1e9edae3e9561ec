package casebook

import (
	"fmt"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// What the tick pays for the cases of a quarantine wing of two hundred tubs: it
// is the only part of the book that a tick waits for.
func BenchmarkShow(b *testing.B) {
	var o Options
	snap := &loop.Snapshot{}
	for i := range 200 {
		name := fmt.Sprintf("tub-%d", i)
		o.Tubs = append(o.Tubs, Tub{Name: name, Species: "python", Upper: physic.ZeroCelsius + 34*physic.Celsius})
		snap.Stations = append(snap.Stations, loop.StationView{Name: name, Kind: controller.Tub, ReadyAt: time.Hour})
	}
	o.SaveState = func(string, []byte) Receipt { return failed{} }
	o.Document = func(string, string, []byte) Receipt { return failed{} }
	o.Act = func(loop.ActRequest) (loop.Answer, error) { return loop.Answer{Done: true}, nil }
	o.Latest = func() *loop.Snapshot { return snap }
	o.Moment = func() Moment { return Moment{Wall: start, Trusted: true} }
	o.Budget = func(string) Budget { return Budget{Verdict: "fits"} }
	book, err := Open(o)
	if err != nil {
		b.Fatal(err)
	}
	for _, t := range o.Tubs {
		if r, err := book.Do(b.Context(), Words{Case: t.Name, Order: "begin", Animal: "python", Asked: true}, controller.Board); err != nil || !r.Done {
			b.Fatalf("%+v, %v", r, err)
		}
	}
	book.Hear(snap)
	b.ReportAllocs()
	for b.Loop() {
		book.Show(snap)
	}
}
