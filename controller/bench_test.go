package controller

import (
	"testing"
	"time"
)

// settled is a tub with three probes that holds its water.
func settled() *bench {
	set := tubSettings()
	set.Probes = append(set.Probes, ProbeSettings{Role: RoleFloor, Calibrated: true})
	b := newBench(set, 28)
	b.run(4 * time.Hour)
	return b
}

func TestStepAllocatesNothing(t *testing.T) {
	b := settled()
	step := func() {
		b.now += time.Second
		b.in.Now = b.now
		b.plant.second(b.out.Command)
		b.plant.read(&b.in, &b.station.set)
		b.out = b.station.Step(&b.in)
	}
	if n := testing.AllocsPerRun(10000, step); n != 0 {
		t.Errorf("%v allocations a step in quiet operation", n)
	}
	b.plant.padWelded, b.plant.silent[1] = true, true
	if n := testing.AllocsPerRun(10000, step); n != 0 {
		t.Errorf("%v allocations a step with faults", n)
	}
}

// BenchmarkStep is a tub with three probes that holds its water, the test
// double included; BenchmarkDouble is the test double alone. A station's
// decision is the difference.
func BenchmarkStep(b *testing.B) {
	s := settled()
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		s.now += time.Second
		s.in.Now = s.now
		s.plant.second(s.out.Command)
		s.plant.read(&s.in, &s.station.set)
		s.out = s.station.Step(&s.in)
	}
}

func BenchmarkDouble(b *testing.B) {
	s := settled()
	b.ResetTimer()
	for range b.N {
		s.now += time.Second
		s.in.Now = s.now
		s.plant.second(s.out.Command)
		s.plant.read(&s.in, &s.station.set)
	}
}
