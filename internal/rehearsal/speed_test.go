package rehearsal

import (
	"testing"
	"time"

	"soakwarden/internal/journal"
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
func BenchmarkTubWeek(b *testing.B) { week(b, func() Options { return Options{} }) }

// BenchmarkRecordedWeek is the same with every second's readings and decision
// in the record, as a board keeps it and as a replay needs it.
func BenchmarkRecordedWeek(b *testing.B) {
	week(b, func() Options { return Options{Recorder: journal.NewMemory(journal.Options{Alone: true})} })
}

func week(b *testing.B, options func() Options) {
	s, err := LoadScenario(scenarios + "/week-tub.toml")
	if err != nil {
		b.Fatal(err)
	}
	var kernel time.Duration
	sum := 0.0
	for b.Loop() {
		if _, err := s.Run(options()); err != nil {
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

// BenchmarkCampaign is one fault of each kind on tubs of every set of probes.
func BenchmarkCampaign(b *testing.B) {
	years := 0.0
	for b.Loop() {
		found, err := (&Campaign{Runs: 102, Seed: 1, Workers: 1}).Run()
		if err != nil {
			b.Fatal(err)
		}
		years += found.TubYears
	}
	b.ReportMetric(years/b.Elapsed().Minutes(), "tub-years/min")
}
