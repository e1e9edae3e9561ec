package rehearsal

import (
	"testing"
	"time"
)

// fixedKernel is a yardstick of this machine: a million dependent roundings.
func fixedKernel() float64 {
	x := 1.0
	for range 1_000_000 {
		x = float64(x*0.999999) + 1e-6
	}
	return x
}

// BenchmarkTubWeek is a week of one tub through the whole stack: model, bus
// with CRC, judge, calibration, decision, relays, record in memory, judges. It
// reports itself also as a ratio to the fixed kernel, because machines differ.
func BenchmarkTubWeek(b *testing.B) {
	s, err := LoadScenario(scenarios + "/week-tub.toml")
	if err != nil {
		b.Fatal(err)
	}
	var kernel time.Duration
	sum := 0.0
	for b.Loop() {
		if _, err := s.Run(Options{}); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		began := time.Now()
		sum += fixedKernel()
		kernel += time.Since(began)
		b.StartTimer()
	}
	if sum == 0 {
		b.Fatal("the kernel did nothing")
	}
	b.ReportMetric(float64(b.Elapsed())/float64(kernel), "kernels/week")
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/week")
}
