package controller

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// The series relay's proof is begun anew in a pause of heat: at the first one
// after a start, and weekly.
func TestRenewalOfTheSeriesProof(t *testing.T) {
	const week = 7 * 24 * time.Hour
	third := physic.Temperature(280 * MilliKelvin / 3)
	due := func() *ready {
		r := newReady(t, tubSettings(), at(29.4))
		r.step(hands(AnimalOut))
		s := r.s
		s.run.proved, s.run.heated, s.run.warm, s.run.after = false, true, false, 90*time.Second+time.Minute
		s.widened, s.tandem = 0, false
		s.water.hottest = s.set.SetPoint - third
		s.stage = StageDone
		return r
	}
	for _, c := range []struct {
		name  string
		set   func(*ready)
		begun bool
	}{
		{"due", func(*ready) {}, true},
		{"proven since the start, a week ago", func(r *ready) { r.s.run.proved = true; r.s.proofs[ProofSeries].Age = week }, true},
		{"a hair less than a week ago", func(r *ready) { r.s.run.proved = true; r.s.proofs[ProofSeries].Age = week - 1 }, false},
		{"not proven since the start, however young", func(r *ready) { r.s.proofs[ProofSeries].Age = time.Hour }, true},
		{"no series relay", func(r *ready) { r.s.set.HasSeries = false }, false},
		{"no heat since the start", func(r *ready) { r.s.run.heated = false }, false},
		{"heat under way", func(r *ready) { r.s.run.warm = true }, false},
		{"a hair before it has arrived", func(r *ready) { r.s.run.after-- }, false},
		{"tests are wide", func(r *ready) { r.s.widened = 1 }, false},
		{"hands", func(r *ready) { r.s.attended = true }, false},
		{"the relay follows", func(r *ready) { r.s.tandem = true }, false},
		{"out of service", func(r *ready) { r.s.outOfService = true }, false},
		{"blind", func(r *ready) { r.s.water.count = 0 }, false},
		{"a third of the differential too cool", func(r *ready) { r.s.water.hottest-- }, false},
		{"a cause that withholds heat", func(r *ready) { r.s.acting = 1 << ProbeSilent; r.s.marks[ProbeSilent].severity = HeatOff }, false},
		{"a cause that does not", func(r *ready) { r.s.acting = 1 << TooCold; r.s.marks[TooCold].severity = Warning }, true},
		{"not its turn", func(r *ready) { r.in.Health.Permit = false }, false},
	} {
		r := due()
		c.set(r)
		if r.s.prove(&r.in); (r.s.stage == StageSeries) != c.begun {
			t.Errorf("%s: begun %v", c.name, !c.begun)
		}
	}
	chamber := newReady(t, chamberSettings(), at(50))
	chamber.s.run.heated = true
	if chamber.s.prove(&chamber.in); chamber.s.stage != StageDone {
		t.Error("a chamber proves its series relay")
	}
}

// trying is a tub in the proof of its series relay, with a pulse of 305 s and a
// coast of 90 s: 455 s with the pad relay on and the series relay open.
func trying(t *testing.T, set func(*Station)) *ready {
	r := proving(t, StageSeries, at(29.4))
	s := r.s
	s.proofs[ProofAllOff].Passed, s.proofs[ProofPairing].Passed, s.waterFits = true, true, true
	s.run.proved = false
	s.base()
	if set != nil {
		set(s)
	}
	return r
}

const (
	pulseOfTheTub = 305 * time.Second
	longOfTheTub  = pulseOfTheTub + 90*time.Second + time.Minute
	// From the third try on the pulse is twice as long.
	longerOfTheTub = longOfTheTub + pulseOfTheTub
)

func TestSeriesProofAtItsBounds(t *testing.T) {
	want := 2.124 / 3600 * 305 // K, what the pad would give
	if p := newReady(t, tubSettings(), at(29)).s.rate.pulse; p != pulseOfTheTub {
		t.Fatalf("a pulse of %s", p)
	}
	for _, c := range []struct {
		name   string
		time   time.Duration
		rise   float64
		votes  uint8
		passed bool
		failed bool
		after  uint8
		pause  bool
		pad    bool
	}{
		{"not yet", longOfTheTub - time.Second, 9, 0, false, false, 0, false, true},
		{"it held back the pad", longOfTheTub, 0.4*want - 1e-6, 0, true, false, 0, false, false},
		{"it did not", longOfTheTub, 0.4*want + 1e-6, 0, false, false, 1, true, false},
		{"it did not, again", longOfTheTub, 1, 1, false, false, 2, true, false},
		{"a third time, not yet", longerOfTheTub - time.Second, 9, 2, false, false, 2, false, true},
		{"a third time, held back", longerOfTheTub, 0.8*want - 1e-6, 2, true, false, 0, false, false},
		{"a third time, not held back", longerOfTheTub, 0.8*want + 1e-6, 2, false, false, 3, true, false},
		{"a fourth time", longerOfTheTub, 1, 3, false, true, 4, false, false},
	} {
		r := trying(t, nil)
		s := r.s
		s.trial.time, s.trial.votes = c.time, c.votes
		s.water.slow = s.trial.base + c.rise
		s.trial.pad, s.trial.open = false, false
		s.proveSeries(&r.in)
		if s.proofs[ProofSeries].Passed != c.passed || s.proofs[ProofSeries].Failed != c.failed || s.run.proved != c.passed {
			t.Errorf("%s: %+v", c.name, s.proofs[ProofSeries])
		}
		if s.trial.pause != c.pause || s.trial.pad != c.pad || s.trial.open != c.pad || !c.passed && s.trial.votes != c.after || s.trial.welded != c.failed {
			t.Errorf("%s: %+v", c.name, s.trial)
		}
		if c.passed && s.stage != StageDone {
			t.Errorf("%s: stage %s", c.name, s.stage)
		}
	}
}

// Between two tries everything is off: a coast and a minute until the heat under
// way has arrived, then as long as a try, in which the drift is measured. Water
// that warms meanwhile warms without us, and the count begins anew.
func TestSeriesProofRests(t *testing.T) {
	gain := 2.124 / 3600
	for _, c := range []struct {
		drift float64
		tried uint8
		votes uint8
		long  time.Duration
	}{
		{0.4*gain - 1e-9, 1, 1, longOfTheTub}, {0.4*gain + 1e-9, 1, 0, longOfTheTub}, {-gain, 1, 1, longOfTheTub},
		{0.4*gain - 1e-9, 2, 2, longerOfTheTub}, {0.4*gain + 1e-9, 3, 0, longerOfTheTub},
	} {
		r := trying(t, func(s *Station) { s.trial.pause, s.trial.votes = true, c.tried })
		s := r.s
		s.trial.drift = 7
		for n := 1; ; n++ {
			s.trial.time += time.Second
			s.trial.since += time.Second
			s.water.slow += c.drift
			s.proveSeries(&r.in)
			seconds := time.Duration(n) * time.Second
			if s.trial.pad || s.trial.open {
				t.Fatalf("the pad is on %s into the rest", seconds)
			}
			if resting := seconds < 90*time.Second+c.long; s.trial.pause != resting {
				t.Fatalf("%s into the rest: resting %v", seconds, s.trial.pause)
			}
			if s.trial.pause && (s.trial.since == 0) != (seconds <= 150*time.Second) {
				t.Fatalf("%s into the rest the drift is measured since %s", seconds, s.trial.since)
			}
			if !s.trial.pause {
				break
			}
		}
		if s.trial.votes != c.votes || s.stage != StageSeries || math.Abs(s.trial.drift-c.drift) > 1e-9 {
			t.Errorf("drift %v: %d votes, %+v", c.drift, s.trial.votes, s.trial)
		}
	}
}

// What ends a try: a cause, a turn that is lost, or, of a renewal, a tub that
// would lose warmth by it. A relay that is found welded stays found.
func TestWhatEndsASeriesProof(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*ready)
		stage Stage
	}{
		{"nothing", func(*ready) {}, StageSeries},
		{"a cause", func(r *ready) { r.s.acting = 1 << ProbeSilent; r.s.marks[ProbeSilent].severity = HeatOff }, StageSettle},
		{"not its turn", func(r *ready) { r.in.Health.Permit = false }, StageSettle},
		{"cold, before it was ever proven", func(r *ready) { r.s.water.hottest = at(25) }, StageSeries},
		{"cold, in a renewal", func(r *ready) {
			r.s.proofs[ProofSeries].Passed = true
			r.s.water.hottest = at(29.4) - 280*physic.MilliKelvin - 1
		}, StageDone},
		{"at the line, in a renewal", func(r *ready) {
			r.s.proofs[ProofSeries].Passed = true
			r.s.water.hottest = at(29.4) - 280*physic.MilliKelvin
		}, StageSeries},
		{"cold, in a renewal that has a vote", func(r *ready) { r.s.proofs[ProofSeries].Passed, r.s.trial.votes, r.s.water.hottest = true, 1, at(25) }, StageSeries},
	} {
		r := trying(t, nil)
		c.set(r)
		if r.s.proveSeries(&r.in); r.s.stage != c.stage {
			t.Errorf("%s: stage %s, want %s", c.name, r.s.stage, c.stage)
		}
	}
	for _, permit := range []bool{true, false} {
		r := trying(t, func(s *Station) { s.trial.welded = true })
		r.in.Health.Permit = permit
		if r.s.proveSeries(&r.in); !r.s.trial.welded || r.s.trial.pad || r.s.stage != StageSeries {
			t.Errorf("permit %v: %+v in %s", permit, r.s.trial, r.s.stage)
		}
	}
	// A try without a base takes the water as it is.
	r := trying(t, func(s *Station) { s.trial.based = false })
	r.s.water.slow = 29.1
	if r.s.proveSeries(&r.in); !r.s.trial.based || r.s.trial.base != 29.1 {
		t.Errorf("%+v", r.s.trial)
	}
}
