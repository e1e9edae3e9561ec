//go:build unix

package sim

import (
	"syscall"
	"testing"
	"time"
)

// BenchmarkReferenceRun is the reference integrator's 48 h, to be held against
// its time: see testdata/reference/tub_reference.py --time.
func BenchmarkReferenceRun(b *testing.B) {
	inputs := readInputs(b)
	var began, ended syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &began); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		replay(newTestTub(b, referenceSpec, 29.4, 21), inputs, 48*3600, func(int, *Tub) {})
	}
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &ended); err != nil {
		b.Fatal(err)
	}
	used := time.Duration(ended.Utime.Nano() + ended.Stime.Nano() - began.Utime.Nano() - began.Stime.Nano())
	b.ReportMetric(used.Seconds()/float64(b.N), "processor-s/run")
}
