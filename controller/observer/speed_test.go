package observer

import (
	"testing"
	"time"
)

// BenchmarkStep is the mean cost of a second, block work included, over three
// hours of a cycling tub with its nuisances, again and again. Its yardstick
// below is a fixed piece of arithmetic, because nanoseconds differ between
// machines.
func BenchmarkStep(b *testing.B) {
	w := newBench(23, true, false)
	w.dt = 1
	w.run(9 * 3600)
	var seen []Input
	for range 10800 {
		w.tick()
		seen = append(seen, w.input(false, false))
	}
	now := seen[len(seen)-1].Now
	b.ReportAllocs()
	b.ResetTimer()
	for i := range b.N {
		in := &seen[i%len(seen)]
		now += time.Second
		in.Now = now
		w.o.Step(in)
	}
}

// BenchmarkYardstick is one decay: a known handful of multiplications.
func BenchmarkYardstick(b *testing.B) {
	x := 0.0
	for i := range b.N {
		x += decay(float64(i%7) / 10)
	}
	if x < 0 {
		b.Fatal("a sum of decays is negative")
	}
}
