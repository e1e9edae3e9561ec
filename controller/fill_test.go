package controller

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

func TestSharedSeriesRelayHeldOpenElsewhere(t *testing.T) {
	r := newReady(t, tubSettings(), at(29))
	r.want("animal out", hands(AnimalOut), NoRefusal)
	r.in.Health.SharedTrip = true
	r.step()
	if r.out.Permitted || r.s.View().Waits != WaitShared || r.out.Reason != NoCause {
		t.Errorf("%+v, waits for %s", r.out, r.s.View().Waits)
	}
	r.in.Health.SharedTrip = false
	r.steps(60)
	if !r.out.Permitted || r.s.View().Waits != NoWait {
		t.Errorf("%+v, waits for %s", r.out, r.s.View().Waits)
	}
}

func TestChamberWithoutAirProbeFollowsTheHottest(t *testing.T) {
	set := chamberSettings()
	set.Probes = set.Probes[:2]
	r := newReady(t, set, at(40))
	r.set(1, at(41))
	r.step()
	if r.out.Governing != 1 || !r.out.Command.Heat(true) || !r.out.Command.Fan {
		t.Errorf("%+v", r.out)
	}
	r.in.Treatment.Target = at(41)
	r.step()
	r.steps(60)
	if r.out.Effective != at(41) {
		t.Errorf("the treatment's target is not followed: %s", r.out.Effective)
	}
	r.in.Treatment.Target = at(60)
	r.step()
	if r.out.Effective != at(56) {
		t.Errorf("a target over the settings' is followed: %s", r.out.Effective)
	}
	r.in.Readings = nil
	r.steps(70)
	if r.out.Governing != -1 || r.out.Command.Pad {
		t.Errorf("without a reading: %+v", r.out)
	}
}

func TestCauseThatDoesNotExist(t *testing.T) {
	s := newReady(t, tubSettings(), at(29)).s
	if st := s.Cause(causeCount); st.Acting || st.Present || st.Probe != -1 {
		t.Errorf("%+v", st)
	}
	s.marks[ProbeSilent].probe = 7
	if got := s.Cause(ProbeSilent).Probe; got != -1 {
		t.Errorf("a probe that was taken away has index %d", got)
	}
}

func TestFloorProbeThatFeelsNothing(t *testing.T) {
	r := newReady(t, withFloor(), at(29.5))
	r.s.look.facts.FloorBlind = true
	r.s.present = 0
	r.s.lookAtProbes()
	if !r.s.present.has(ProbeJumped) || r.s.off.has(ProbeJumped) {
		t.Error("a floor probe out of place is not an alarm, or withholds heat")
	}
}

// Heat without an answer at the only probe puts the water in doubt.
func TestOnlyProbeThatDoesNotAnswer(t *testing.T) {
	set := tubSettings()
	set.Probes = set.Probes[:1]
	for name, do := range map[string]func(*ready){
		"no rise": func(r *ready) { r.s.look.facts.NoRise = true; r.s.present = 0; r.s.lookAtHeat() },
		"cold": func(r *ready) {
			r.s.run.warm = true
			r.set(0, at(26))
			r.steps(60)
		},
	} {
		r := newReady(t, set, at(29.4))
		do(r)
		if r.s.waterFits || r.s.stage == StageDone {
			t.Errorf("%s: the water is not in doubt", name)
		}
	}
}

// A renewal of the series relay's proof gives way to a tub that got cold.
func TestRenewalGivesWay(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.s.enter(StageSeries)
	r.step()
	if !r.out.Command.Pad || r.out.Command.Series || !r.out.OpenShared {
		t.Fatalf("the proof of the series relay: %+v", r.out)
	}
	r.set(0, at(29))
	r.set(1, at(29))
	r.step()
	if r.s.stage != StageDone || r.out.OpenShared {
		t.Errorf("stage %v, %+v", r.s.stage, r.out)
	}
}

// What is still under way in the pad after a pulse can show that there is
// hardly any water.
func TestTooQuickAfterThePulse(t *testing.T) {
	set := withFloor()
	set.Limits.FloorRise = 500 * MilliKelvin // so 4 K at the floor are too much
	r := newReady(t, set, at(27))
	r.s.waterFits = false
	r.s.restage()
	r.s.enter(StageAnswer)
	r.s.trial.on = time.Minute
	r.s.base()
	r.set(2, at(31))
	r.steps(2)
	if r.s.latched != 0 {
		t.Fatal("tripped at the line")
	}
	r.set(2, at(31)+1)
	r.steps(2)
	if !r.s.latched.has(NoWater) {
		t.Errorf("latched %b", r.s.latched)
	}
}

// The answer to a pulse, at the bounds of what fits.
func TestPulseIsJudged(t *testing.T) {
	for _, c := range []struct {
		name  string
		on    time.Duration
		share float64 // of the expected rise
		fits  bool
		tries uint8
	}{
		{"too short to tell", time.Minute, 1, false, 0},
		{"just enough", 5 * time.Minute, 0.401, true, 0},
		{"too little", 5 * time.Minute, 0.399, false, 1},
		{"nothing", 5 * time.Minute, 0, false, 1},
		{"as expected", 5 * time.Minute, 1, true, 0},
		{"much", 5 * time.Minute, 3.0, true, 0},
		{"too much", 5 * time.Minute, 3.1, false, 1},
	} {
		r := newReady(t, tubSettings(), at(27))
		r.s.waterFits, r.s.proofs[ProofPairing].Passed = false, false
		r.s.restage()
		r.s.enter(StageAnswer)
		r.s.trial.on = c.on
		r.s.base()
		r.s.water.slow += c.share * r.s.expected()
		if got := r.s.judge(); got != c.fits || r.s.waterFits != c.fits || r.s.trial.tries != c.tries {
			t.Errorf("%s: fits %v after %d tries", c.name, got, r.s.trial.tries)
		}
	}
}

func TestArithmeticOfTemperatures(t *testing.T) {
	if Above(at(20), 2*Kelvin) != at(22) || Below(at(20), 2*Kelvin) != at(18) || Between(at(18), at(20)) != 2*Kelvin {
		t.Error("sums of temperatures and differences")
	}
}

// A reading grows worse with its age while heat may be on, by the nominal gain.
func TestOldReadingCountsAtItsWorst(t *testing.T) {
	set := tubSettings()
	set.Limits.GainPerHour = 3600 * MilliKelvin // a millikelvin a second
	r := newReady(t, set, at(29.4))
	old := Reading{Value: at(31.6) - 4*physic.MilliKelvin, Quality: Good}
	for _, warm := range []bool{false, true} {
		for age, want := range map[time.Duration]bool{3 * time.Second: false, 4 * time.Second: warm} {
			s := *r.s
			s.copyProbes(r.s)
			s.probes[0].last = measured{old.Value, r.now}
			s.probes[0].age, s.run.warm = age, warm
			s.mix()
			s.present = 0
			if s.lookAtWater(); s.present.has(OverCutoff) != want || s.worstCase() >= set.Cutoff != want {
				t.Errorf("heat %v, %v old: over the cutoff %v, want %v", warm, age, !want, want)
			}
			s.probes[0].age, s.probes[1].age = believeMost+1, age
			grown := physic.Temperature(b2i(warm)) * physic.Temperature(age/time.Second) * physic.MilliKelvin
			if s.mix(); s.worstCase() != at(29.4)+grown {
				t.Errorf("heat %v, %v old: %s at worst beside a reading that no longer counts", warm, age, s.worstCase())
			}
		}
	}
}

// The most that heat can add to a reading that still counts is enough.
func TestOldestReadingThatReachesTheCutoff(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.probes[0].last.Value, s.probes[0].age = s.set.Cutoff-s.rate.grows, believeMost
	s.run.warm, s.present = true, 0
	s.mix()
	if s.lookAtWater(); !s.present.has(OverCutoff) {
		t.Errorf("%s at worst is not over the cutoff", s.worstCase())
	}
}

// What the water answers more strongly than after the fill is water that is
// missing, less the quarter by which the answer creeps up by itself.
func TestLearnedShareOfTheFill(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	for answers, left := range map[float64]float64{0: 0, 0.9: 1, 1.25: 1, 2.5: 0.5} {
		r.s.look.answers = answers
		if got := r.s.View().WaterLeft; got != left {
			t.Errorf("answers %g times as strong leave %g of the water, want %g", answers, got, left)
		}
	}
}
