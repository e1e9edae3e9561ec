package sim

import (
	"testing"
	"time"
)

// kernel is the yardstick of the benchmarks: a fixed chain of divisions and
// sums, the same on every machine.
func kernel() float64 {
	x := 1.0
	for range 1000 {
		x = 1/(x+1.5) + 0.5
	}
	return x
}

var sink float64

// kernelTime returns how long one kernel takes now, ns.
func kernelTime() float64 {
	const count = 200
	begin := time.Now()
	for range count {
		sink += kernel()
	}
	return float64(time.Since(begin).Nanoseconds()) / count
}

// week is a tub under a plain two-point control for n seconds, the room moving.
func week(tub *Tub, n int) {
	d := Drive{Pad: 1, Room: 21}
	for i := range n {
		switch water := tub.Water(); {
		case water > 29.54:
			d.Pad = 0
		case water < 29.26:
			d.Pad = 1
		}
		d.Room = 21 + float64(i&1023)*0.001
		tub.Step(d)
	}
}

// BenchmarkTubTick is a second of the bare model under control. kernels/tick is
// the figure to compare between machines, ticks/refresh how often the network is
// made linear.
func BenchmarkTubTick(b *testing.B) {
	tub, err := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	if err != nil {
		b.Fatal(err)
	}
	yardstick := kernelTime()
	b.ResetTimer()
	week(tub, b.N)
	b.StopTimer()
	yardstick = (yardstick + kernelTime()) / 2
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/yardstick, "kernels/tick")
	b.ReportMetric(float64(b.N)/float64(tub.refreshN), "ticks/refresh")
}

// BenchmarkTubWeek is a whole week of the same.
func BenchmarkTubWeek(b *testing.B) {
	for b.Loop() {
		tub, err := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
		if err != nil {
			b.Fatal(err)
		}
		week(tub, 7*86400)
	}
}

// BenchmarkStep is the step without a refresh.
func BenchmarkStep(b *testing.B) {
	tub, err := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	if err != nil {
		b.Fatal(err)
	}
	d := Drive{Pad: 0.5, Room: 21}
	for range 20000 {
		tub.Step(d)
	}
	tub.longest = 1 << 30
	tub.refresh()
	for b.Loop() {
		tub.Step(d)
	}
}

// BenchmarkRefresh is one refresh of the network: linear pieces and step matrix.
func BenchmarkRefresh(b *testing.B) {
	tub, err := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	if err != nil {
		b.Fatal(err)
	}
	tub.Step(Drive{Pad: 1, Room: 21})
	for b.Loop() {
		tub.refresh()
	}
}

// BenchmarkChamberTick is a second of a cabinet with three pieces.
func BenchmarkChamberTick(b *testing.B) {
	c, err := NewChamber(chamberSpec, 20)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c.Step(ChamberDrive{Heat: 0.5, Fan: true, Room: 20})
	}
}

// A step allocates nothing.
func TestStepDoesNotAllocate(t *testing.T) {
	tub := newTestTub(t, referenceSpec, 29.4, 21)
	if n := testing.AllocsPerRun(2000, func() { tub.Step(Drive{Pad: 1, Room: 21}) }); n != 0 {
		t.Errorf("a tub's step allocates %g times", n)
	}
	c := newTestChamber(t, chamberSpec, 20)
	if n := testing.AllocsPerRun(200, func() { c.Step(ChamberDrive{Heat: 1, Room: 20}) }); n != 0 {
		t.Errorf("a chamber's step allocates %g times", n)
	}
}
