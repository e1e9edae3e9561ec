package rig

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/devices/v3/ds18b20"

	"soakwarden/sim"
)

// near says that two temperatures are the same to the code.
func near(a, b float64) bool { return math.Abs(a-b) <= 1.0/16 }

// answers says whether a conversion can be started on a bus.
func (s *stand) answers(bus int) bool { return ds18b20.StartAll(s.Buses()[bus]) == nil }

// deeds holds, for each kind of fault, one that lasts from 60 s to 120 s while
// every relay is on, and what can be seen at 101 s and no longer at 180 s.
var deeds = []struct {
	fault Fault
	seen  func(s *stand) bool
	stays bool // what was done stays done: a jump of the clock, a death, spilt water
}{
	{Fault{Kind: RelayWelded, Target: "pad-north"}, func(s *stand) bool {
		s.drive(gpio.Low)
		defer s.drive(gpio.High)
		return s.Pins()[padNorth].Closed() && !s.Pins()[seriesNorth].Closed()
	}, false},
	{Fault{Kind: RelayOpen, Target: "pad-north"}, func(s *stand) bool { return !s.Heats(0) && s.Heats(1) }, false},
	{Fault{Kind: RelayChatters, Target: "pad-north"}, func(s *stand) bool {
		on := 0
		for range 10 {
			s.run(1)
			if s.Heats(0) {
				on++
			}
		}
		return on == 5
	}, false},
	{Fault{Kind: RelayInverted, Target: "pad-north"}, func(s *stand) bool {
		s.drive(gpio.Low)
		defer s.drive(gpio.High)
		return s.Pins()[padNorth].Closed() && !s.Pins()[seriesNorth].Closed()
	}, false},
	{Fault{Kind: RelayRefuses, Target: "pad-north"}, func(s *stand) bool {
		defer s.drive(gpio.High)
		return s.Pins()[padNorth].Out(gpio.Low) != nil && s.Pins()[padNorth].Closed()
	}, false},
	{Fault{Kind: PadDead, Target: "north"}, func(s *stand) bool { return !s.Heats(0) && s.Truth(0).PadWatts == 0 }, false},
	{Fault{Kind: PadWeak, Target: "north", Amount: 40}, func(s *stand) bool {
		return math.Abs(s.Truth(0).PadWatts-8) < 1e-9 && math.Abs(s.Truth(1).PadWatts-20) < 1e-9
	}, false},
	{Fault{Kind: ProbeSilent, Target: "north/guard"}, func(s *stand) bool {
		found, err := s.Buses()[0].Search(false)
		return err == nil && len(found) == 7
	}, false},
	{Fault{Kind: ProbeFrozen, Target: "south/control"}, func(s *stand) bool {
		s.ChangeWater(1, 35)
		s.run(1)
		defer s.ChangeWater(1, 25)
		return s.reads(1, 0) < 30
	}, false},
	{Fault{Kind: ProbePowerOnValue, Target: "north/floor"}, func(s *stand) bool { return s.reads(0, 2) == 85 }, false},
	{Fault{Kind: ProbeOffset, Target: "north/control", Amount: -1.5}, func(s *stand) bool {
		return near(s.reads(0, 0), s.Intended(0, 0)-1.5)
	}, false},
	{Fault{Kind: ProbeDrifts, Target: "north/control", Amount: 50}, func(s *stand) bool {
		// The step of a code is 1/16 K: more than 54 s at 50 K a day give half of one.
		return s.reads(0, 0)-s.Intended(0, 0) > -1.0/32 && s.stations[0].probes[0].perDay == 50
	}, false},
	{Fault{Kind: ProbeNoisy, Target: "north/control", Amount: 2}, func(s *stand) bool {
		sum := 0.0
		for range 400 {
			s.convert()
			d := s.reads(0, 0) - s.Intended(0, 0)
			sum += d * d
		}
		return math.Abs(math.Sqrt(sum/400)-2) < 0.3
	}, false},
	{Fault{Kind: ProbeOutOfWater, Target: "north/control", Where: "pad"}, func(s *stand) bool {
		return near(s.reads(0, 0), s.Truth(0).Pad) && math.Abs(s.reads(0, 0)-s.Intended(0, 0)) > 0.3
	}, false},
	{Fault{Kind: ProbesSwapped, Target: "north,south"}, func(s *stand) bool {
		return near(s.reads(0, 0), s.stations[1].tub.At(sim.Place{Kind: sim.InWater, Height: 0.02})) && s.reads(0, 0) < 27 &&
			s.reads(1, 0) > 27 && near(s.reads(0, 3), s.Room())
	}, false},
	{Fault{Kind: ProbeOutOfPiece, Target: "cabinet/core"}, func(s *stand) bool {
		return near(s.reads(2, 0), s.Chamber(2).Air) && s.reads(2, 0) > s.Chamber(2).Pieces[0].Core+1
	}, false},
	{Fault{Kind: FanDead, Target: "cabinet"}, func(s *stand) bool { return !s.FanRuns(2) }, false},
	{Fault{Kind: BusShorted, Target: "tubs"}, func(s *stand) bool {
		zero := [9]byte{}
		return scratchpad(s.t, s.Buses()[0], addressOf(familyB20, 0x101)) == zero && scratchpad(s.t, s.Buses()[1], addressOf(familyB20, 0x301)) != zero
	}, false},
	{Fault{Kind: BusHung, Target: "tubs"}, func(s *stand) bool { return !s.answers(0) && s.answers(1) }, false},
	{Fault{Kind: TubLeaking, Target: "north", Amount: 36}, func(s *stand) bool {
		before := s.Truth(0).Leaked
		s.run(10)
		// 36 L/h are 0.1 L in ten seconds, which weigh a little less than 0.1 kg.
		return math.Abs(s.Truth(0).Leaked-before-0.1) < 0.001
	}, false},
	{Fault{Kind: TubEmptied, Target: "north"}, func(s *stand) bool { return s.Truth(0).Depth == 0 && s.Truth(1).Depth > 0.05 }, true},
	{Fault{Kind: LidOff, Target: "north"}, func(s *stand) bool { return s.LidOff(0) && !s.LidOff(1) }, false},
	{Fault{Kind: RoomHot, Amount: 8}, func(s *stand) bool { return s.Room() == 28 }, false},
	{Fault{Kind: RoomCold, Amount: 8}, func(s *stand) bool { return s.Room() == 12 }, false},
	{Fault{Kind: SunOnTub, Target: "north", Amount: 12}, func(s *stand) bool { return s.Sunny(0) && !s.Sunny(1) }, false},
	{Fault{Kind: MainsLost}, func(s *stand) bool {
		return !s.Board().Powered && !s.Heats(0) && !s.FanRuns(2) && !s.Pins()[padNorth].Commanded()
	}, false},
	{Fault{Kind: PadsLost}, func(s *stand) bool {
		return s.Board().Powered && !s.Heats(0) && !s.Heats(1) && !s.FanRuns(2) && s.Pins()[padNorth].Closed()
	}, false},
	{Fault{Kind: ClockStepped, Amount: -3600}, func(s *stand) bool { return s.Board().WallOffset == -time.Hour }, true},
	{Fault{Kind: CardFull}, func(s *stand) bool { return s.Board().CardFull }, false},
	{Fault{Kind: CardFailing}, func(s *stand) bool { return s.Board().CardFailing }, false},
	{Fault{Kind: DaemonPaused, Amount: 90}, func(s *stand) bool { return s.Board().PausedUntil == 150*time.Second }, true},
	{Fault{Kind: DaemonKilled}, func(s *stand) bool { return s.Board().Kills == 1 }, true},
}

func TestEveryFaultHasItsEffectAndItsEnd(t *testing.T) {
	for _, d := range deeds {
		t.Run(string(d.fault.Kind), func(t *testing.T) {
			f := d.fault
			f.At, f.Until = 60*time.Second, 120*time.Second
			s := newStand(t, f)
			s.drive(gpio.High)
			s.run(45)
			if d.seen(s) {
				t.Fatal("there before it began")
			}
			if s.effectAt() >= 0 || len(s.Active()) != 0 {
				t.Fatal("it has an effect before it began")
			}
			s.run(100 - int(s.Now().Seconds()))
			s.drive(gpio.High)
			s.run(1)
			if active := s.Active(); len(active) != 1 || active[0].Kind != f.Kind {
				t.Errorf("active are %v", active)
			}
			if !d.seen(s) {
				t.Fatal("nothing is to be seen of it")
			}
			s.run(180 - int(s.Now().Seconds()))
			s.drive(gpio.High)
			s.run(1)
			if len(s.Active()) != 0 {
				t.Error("it is still active after its end")
			}
			if d.seen(s) != d.stays {
				t.Errorf("after its end it is there: %v, wanted %v", !d.stays, d.stays)
			}
		})
	}
}

// A kind without a row above would be a kind that nobody saw working.
func TestEveryKindOfFaultIsTried(t *testing.T) {
	tried := map[FaultKind]bool{}
	for _, d := range deeds {
		tried[d.fault.Kind] = true
	}
	for _, k := range FaultKinds {
		if !tried[k.Kind] {
			t.Errorf("no deed of %q", k.Kind)
		}
	}
}

func TestMendEndsWhatIsThereAndNothingElse(t *testing.T) {
	s := newStand(t, Fault{Kind: LidOff, Target: "south", At: 100 * time.Second})
	if err := s.Inject(Fault{Kind: PadDead, Target: "north"}); err != nil {
		t.Fatal(err)
	}
	s.drive(gpio.High)
	s.run(10)
	if s.Heats(0) {
		t.Fatal("the dead pad heats")
	}
	s.Mend()
	s.run(10)
	if !s.Heats(0) || len(s.Active()) != 0 {
		t.Error("it was not mended")
	}
	s.run(90)
	if !s.LidOff(1) {
		t.Error("mending ended a fault that had not begun")
	}
	if err := s.Inject(Fault{Kind: PadDead, Target: "west"}); err == nil {
		t.Error("a fault of a station that does not exist was taken")
	}
}

// Two faults of one pad: the worse one rules, and the other is back when it ends.
func TestFaultsOfOnePadDoNotUndoEachOther(t *testing.T) {
	s := newStand(t,
		Fault{Kind: PadWeak, Target: "north", Amount: 50},
		Fault{Kind: PadDead, Target: "north", At: 20 * time.Second, Until: 40 * time.Second})
	s.drive(gpio.High)
	for _, want := range []float64{10, 0, 10} {
		s.run(15)
		if got := s.Truth(0).PadWatts; math.Abs(got-want) > 1e-9 {
			t.Errorf("%v: the pad gives %g W, wanted %g", s.Now(), got, want)
		}
		s.run(5)
	}
}
