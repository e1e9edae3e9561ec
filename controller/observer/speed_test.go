package observer

import (
	"testing"
	"time"
)

// BenchmarkStep is the mean cost of a second, block work included, with a
// cycling pad and readings that move; its yardstick below is a fixed piece of
// arithmetic, because nanoseconds differ between machines.
func BenchmarkStep(b *testing.B) {
	w := newBench(23, true, false)
	w.run(9 * 3600)
	in := w.input(false, false)
	codes := [64]int16{}
	for i := range codes {
		codes[i] = in.Probes[0].Code + int16(i*i%5) - 2
	}
	b.ReportAllocs()
	b.ResetTimer()
	for i := range b.N {
		in.Now += time.Second
		in.Pad = i%1500 < 600
		for k := range in.Probes {
			c := codes[(i*7+k*13)%64]
			in.Probes[k].Code, in.Probes[k].Value = c, float64(c)/16
		}
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
