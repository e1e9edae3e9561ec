package rig

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
)

// A fault counts from the first second in which it makes a difference: a relay
// that welds while it is on does nothing until somebody wants it off.
func TestEffectBeginsWhenItMatters(t *testing.T) {
	const begin, turn = 30 * time.Second, 60 * time.Second
	for _, c := range []struct {
		fault  Fault
		first  gpio.Level // of every relay until the turn
		effect time.Duration
	}{
		{Fault{Kind: RelayWelded, Target: "pad-north"}, gpio.Low, -1}, // the series relay is still there
		{Fault{Kind: RelayOpen, Target: "pad-north"}, gpio.Low, turn},
		{Fault{Kind: RelayOpen, Target: "series-north"}, gpio.High, begin},
		{Fault{Kind: RelayChatters, Target: "pad-north"}, gpio.Low, turn},
		{Fault{Kind: PadDead, Target: "north"}, gpio.Low, turn},
		{Fault{Kind: PadWeak, Target: "north", Amount: 30}, gpio.High, begin},
		{Fault{Kind: PadsLost}, gpio.Low, turn},
		{Fault{Kind: RelayRefuses, Target: "pad-north"}, gpio.Low, turn},
		{Fault{Kind: RelayInverted, Target: "pad-north"}, gpio.High, begin},
		{Fault{Kind: ProbeOffset, Target: "north/control", Amount: 1}, gpio.Low, begin},
		{Fault{Kind: ProbeOffset, Target: "north/control", Amount: 0.05}, gpio.Low, -1}, // within a code
		{Fault{Kind: MainsLost}, gpio.Low, begin},
		{Fault{Kind: BusShorted, Target: "tubs"}, gpio.Low, begin},
		{Fault{Kind: DaemonKilled}, gpio.Low, begin},
	} {
		c.fault.At = begin
		s := newStand(t, c.fault)
		s.drive(c.first)
		// Relays that are written at the end of a second act in the next.
		s.run(59)
		s.drive(gpio.High)
		s.run(40)
		got := s.effectAt()
		// A probe is read a second after its place changed.
		if c.effect < 0 && got != -1 || c.effect >= 0 && (got < c.effect || got > c.effect+time.Second) {
			t.Errorf("%s %s: effect at %v, wanted %v", c.fault.Kind, c.fault.Target, got, c.effect)
		}
	}
}

// The pad relay is welded: nothing happens while heat is wanted, nothing while
// the series relay is open, and something when only the pad relay was told off.
func TestWeldMattersWhenOnlyThePadRelayIsTold(t *testing.T) {
	s := newStand(t, Fault{Kind: RelayWelded, Target: "pad-north"})
	s.drive(gpio.High)
	s.run(10)
	s.drive(gpio.Low)
	s.run(10)
	if s.effectAt() >= 0 {
		t.Fatal("it counts although no current flowed that nobody wanted")
	}
	if err := s.Pins()[seriesNorth].Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	s.run(1)
	if s.effectAt() != s.Now() || !s.Heats(0) {
		t.Error("heat that nobody asked for does not count")
	}
	// The other relay cuts it: from then on there is nothing to be seen.
	s.run(4)
	seen := s.Exposed()
	if err := s.Pins()[seriesNorth].Out(gpio.Low); err != nil {
		t.Fatal(err)
	}
	s.run(30)
	if seen != 5*time.Second || s.Exposed() > seen+time.Second {
		t.Errorf("5 s of unasked heat are %v, and %v after it was cut", seen, s.Exposed())
	}
}

// A probe out of the water reads off from the first tenths of a kelvin, but
// only while it is a kelvin and a half is it promised to be seen: the floor that
// the water warms passes through both.
func TestOutOfWaterIsSeenWhileItDiffers(t *testing.T) {
	s := newStand(t, Fault{Kind: ProbeOutOfWater, Target: "north/control", Where: "floor", At: 10 * time.Second})
	s.run(600)
	if at := s.effectAt(); at < 0 || s.Exposed() <= 0 || s.Exposed() >= s.Now()-at {
		t.Errorf("effect at %v of %v, seen for %v", at, s.Now(), s.Exposed())
	}
}

// Mains that flicker look like a relay for a second; they are not its doing.
func TestFlickerIsNoEffectOfARelay(t *testing.T) {
	for _, kind := range []FaultKind{RelayWelded, RelayOpen, RelayChatters} {
		w := standWiring(Fault{Kind: kind, Target: "pad-south"})
		w.Nuisances = Nuisances{FlickersPerDay: 5000}
		b, err := NewBench(w)
		if err != nil {
			t.Fatal(err)
		}
		s := &stand{b, t}
		if err := s.Pins()[padNorth].Out(gpio.High); err != nil {
			t.Fatal(err)
		}
		if err := s.Pins()[seriesNorth].Out(gpio.High); err != nil {
			t.Fatal(err)
		}
		dark := 0
		for range 600 {
			s.run(1)
			if !s.Heats(0) {
				dark++
			}
		}
		if dark < 10 {
			t.Fatalf("the mains flickered for %d s only", dark)
		}
		if s.effectAt() >= 0 {
			t.Errorf("%s: flickering mains count as its effect", kind)
		}
	}
	// The same on the relay's own station, which is asked for heat all the time:
	// a welded contact gives no more than was asked.
	w := standWiring(Fault{Kind: RelayWelded, Target: "pad-north"})
	w.Nuisances = Nuisances{FlickersPerDay: 5000}
	b, err := NewBench(w)
	if err != nil {
		t.Fatal(err)
	}
	s := &stand{b, t}
	s.drive(gpio.High)
	s.run(600)
	if s.effectAt() >= 0 {
		t.Error("flickering mains count as the effect of a weld")
	}
}
