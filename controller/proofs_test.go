package controller

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// proving is a tub in one stage of its proofs, with everything that heat needs.
func proving(t *testing.T, stage Stage, water physic.Temperature) *ready {
	r := newReady(t, tubSettings(), water)
	r.step(hands(AnimalOut))
	s := r.s
	s.proofs = [ProofKindCount]ProofState{}
	s.waterFits = false
	s.restage()
	s.enter(stage)
	s.trial.drift, s.command = 0, Command{}
	r.stale(0)
	return r
}

// A proof that is missing sends the station to the first stage that is not
// proven.
func TestFirstStageThatIsMissing(t *testing.T) {
	for _, c := range []struct {
		name                    string
		allOff, pairing, series bool
		fits, hasSeries         bool
		stage                   Stage
	}{
		{"all there", true, true, true, true, true, StageDone},
		{"all there without a series relay", true, true, false, true, false, StageDone},
		{"nothing", false, false, false, false, true, StageWatch},
		{"all but the ten minutes", false, true, true, true, true, StageWatch},
		{"all but the pairing", true, false, true, true, true, StageSettle},
		{"all but the water", true, true, true, false, true, StageSettle},
		{"all but the series relay", true, true, false, true, true, StageSettle},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.set.HasSeries, s.waterFits = c.hasSeries, c.fits
		s.proofs[ProofAllOff].Passed, s.proofs[ProofPairing].Passed, s.proofs[ProofSeries].Passed = c.allOff, c.pairing, c.series
		if s.restage(); s.stage != c.stage {
			t.Errorf("%s: stage %s, want %s", c.name, s.stage, c.stage)
		}
		after := StagePulse
		if c.pairing && c.fits {
			after = StageSeries
		}
		if got := s.afterSettle(); got != after {
			t.Errorf("%s: after settling %s, want %s", c.name, got, after)
		}
	}
	if s := newReady(t, chamberSettings(), at(50)).s; s.stage != StageDone {
		t.Error("a chamber proves something")
	}
}

// Whether a proof may heat: from the pulse on, and when pulses were left without
// an answer only with a person present or an empty tub.
func TestWhoMayHeatForAProof(t *testing.T) {
	for _, c := range []struct {
		stage            Stage
		failed, here, in bool
		may              bool
	}{
		{StageWatch, false, true, false, false}, {StageSettle, false, true, false, false}, {StagePulse, false, false, true, true},
		{StagePulse, true, false, true, false}, {StagePulse, true, true, true, true}, {StagePulse, true, false, false, true},
		{StageSeries, false, false, true, true},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.stage, s.proofs[ProofPairing].Failed, s.presence = c.stage, c.failed, time.Duration(b2i(c.here))
		s.animal = AnimalIsOut
		if c.in {
			s.animal = AnimalMayBeIn
		}
		if s.provingHeat() != c.may {
			t.Errorf("%+v: may %v", c, !c.may)
		}
	}
}

// Anything that stops a proof begins it anew at the first stage that is missing.
func TestWhatInterruptsAProof(t *testing.T) {
	for name, set := range map[string]func(*Station){
		"not begun":      func(s *Station) { s.begin = false },
		"hands":          func(s *Station) { s.attended = true },
		"out of service": func(s *Station) { s.outOfService = true },
		"a latch":        func(s *Station) { s.latched = 1 << ProbeSilent },
		"blind":          func(s *Station) { s.water.count = 0 },
	} {
		r := proving(t, StagePulse, at(28))
		r.s.proofs[ProofAllOff].Passed = true
		r.s.trial.on = time.Minute
		set(r.s)
		if r.s.prove(&r.in); r.s.stage != StageSettle || r.s.trial.drives || r.s.trial.on != 0 {
			t.Errorf("%s: stage %s, drives %v", name, r.s.stage, r.s.trial.drives)
		}
	}
	r := proving(t, StagePulse, at(28))
	if r.s.prove(&r.in); r.s.stage != StagePulse || !r.s.trial.drives {
		t.Error("a proof stops without a reason")
	}
}

// Drift is measured with everything off: for the given span and at least two
// minutes beyond the coast of what was before.
func TestDriftIsMeasured(t *testing.T) {
	for _, c := range []struct {
		coast, long, takes time.Duration
	}{{90 * time.Second, 10 * time.Minute, 10 * time.Minute}, {90 * time.Second, 3 * time.Minute, 210 * time.Second}, {300 * time.Second, 5 * time.Minute, 7 * time.Minute}} {
		r := proving(t, StageWatch, at(28))
		s := r.s
		s.rate.coast = c.coast
		s.trial = trial{}
		s.water.slow = 28
		based := time.Duration(0)
		for n := 1; ; n++ {
			s.trial.time += time.Second
			s.trial.since += time.Second
			s.water.slow += 1e-4
			done := s.measureDrift(c.long)
			if s.trial.based && based == 0 {
				based = time.Duration(n) * time.Second
			}
			if done {
				if took := time.Duration(n) * time.Second; took != c.takes {
					t.Errorf("%+v: took %s", c, took)
				}
				break
			}
		}
		if based != c.coast+time.Second {
			t.Errorf("%+v: measured from %s on", c, based)
		}
		if math.Abs(s.trial.drift-1e-4) > 1e-9 {
			t.Errorf("%+v: drift %v K/s", c, s.trial.drift)
		}
	}
}

// Ten minutes with everything off may not warm by four tenths of the gain, by
// nine in water more than a kelvin colder than the warmest room; a watch that
// did not warm forgets those that did.
func TestWatchAtItsBounds(t *testing.T) {
	gain := 2.124 / 3600
	for _, c := range []struct {
		name   string
		drift  float64
		water  float64
		warms  uint8 // before
		after  uint8
		passes bool
	}{
		{"a hair under", 0.4*gain - 1e-9, 29, 0, 0, true},
		{"a hair over", 0.4*gain + 1e-9, 29, 0, 1, false},
		{"again", 0.4*gain + 1e-9, 29, 1, 2, false},
		{"a third time", 0.4*gain + 1e-9, 29, 2, 2, false},
		{"still at last", 0, 29, 2, 0, true},
		{"cold water, a hair under", 0.9*gain - 1e-9, 25.9, 0, 0, true},
		{"cold water, a hair over", 0.9*gain + 1e-9, 25.9, 0, 1, false},
		{"water at the line", 0.5 * gain, 26.1, 0, 1, false},
		{"cooling", -gain, 29, 0, 0, true},
	} {
		r := proving(t, StageWatch, at(29))
		s := r.s
		s.trial.warms, s.trial.based, s.trial.time, s.trial.since = c.warms, true, 10*time.Minute, 500*time.Second
		s.trial.base, s.water.slow, s.water.mean = 20, 20+500*c.drift, c.water
		s.watchOff()
		if s.proofs[ProofAllOff].Passed != c.passes || s.proofs[ProofAllOff].Failed == c.passes || s.trial.warms != c.after {
			t.Errorf("%s: %+v, warmed %d times", c.name, s.proofs[ProofAllOff], s.trial.warms)
		}
		if want := map[bool]Stage{true: StagePulse, false: StageWatch}[c.passes]; s.stage != want {
			t.Errorf("%s: stage %s, want %s", c.name, s.stage, want)
		}
	}
}

// A pulse begins when heat is permitted and of use: at or under the lower
// switching point. It ends when it is long enough or the water is at the upper
// one.
func TestPulseAtItsBounds(t *testing.T) {
	const half = 140 * physic.MilliKelvin
	for _, c := range []struct {
		name  string
		water physic.Temperature
		set   func(*ready)
		heats bool
	}{
		{"at the lower switching point", at(29.4) - half, nil, true},
		{"a hair over it", at(29.4) - half + 1, nil, false},
		{"a cause that withholds heat", at(28), func(r *ready) { r.s.acting = 1 << ProbeSilent; r.s.marks[ProbeSilent].severity = HeatOff }, false},
		{"not its turn", at(28), func(r *ready) { r.in.Health.Permit = false }, false},
	} {
		r := proving(t, StagePulse, at(28))
		r.s.water.hottest = c.water
		if c.set != nil {
			c.set(r)
		}
		if r.s.pulse(&r.in); r.s.trial.pad != c.heats {
			t.Errorf("%s: heats %v", c.name, r.s.trial.pad)
		}
	}
	long := newReady(t, tubSettings(), at(28)).s.rate.pulse
	for _, c := range []struct {
		name  string
		on    time.Duration
		water physic.Temperature
		stage Stage
	}{
		{"a second short", long - 2*time.Second, at(28), StagePulse},
		{"long enough", long - time.Second, at(28), StageAnswer},
		{"a hair under the upper switching point", time.Minute, at(29.4) + half - 1, StagePulse},
		{"at it", time.Minute, at(29.4) + half, StageAnswer},
	} {
		r := proving(t, StagePulse, at(28))
		s := r.s
		s.trial.on, s.trial.pad, s.command.Pad, s.dt = c.on, true, true, time.Second
		s.base()
		s.water.hottest = c.water
		if s.pulse(&r.in); s.stage != c.stage || s.trial.on != c.on+time.Second {
			t.Errorf("%s: stage %s after %s of heat", c.name, s.stage, s.trial.on)
		}
	}
	r := proving(t, StagePulse, at(28))
	r.s.trial.on, r.in.Health.Permit = time.Minute, false
	if r.s.pulse(&r.in); r.s.stage != StageSettle {
		t.Errorf("a pulse that lost its permit goes on in %s", r.s.stage)
	}
	// The drift that was measured grows old in five minutes of waiting.
	r = proving(t, StagePulse, at(28))
	s := r.s
	s.water.hottest, s.water.slow = at(29.4), 28
	s.base()
	for _, seconds := range []time.Duration{299, 300} {
		s.trial.time, s.trial.since, s.water.slow, s.trial.drift = seconds*time.Second, 300*time.Second, 28.03, 7
		s.pulse(&r.in)
		if want := map[time.Duration]float64{299: 7, 300: 1e-4}[seconds]; math.Abs(s.trial.drift-want) > 1e-9 {
			t.Errorf("after %d s: drift %v", seconds, s.trial.drift)
		}
	}
	if s.trial.time != 0 || s.trial.base != 28.03 || s.trial.since != 0 {
		t.Error("the next measure does not begin where this one ended")
	}
}

// Water that warms by half a kelvin more than two and a half times what was
// expected, or a floor by 3 K more than twice its nominal rise, has no water
// over it.
func TestTooQuickAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name  string
		water float64
		floor physic.Temperature
		set   func(*Station)
		quick bool
	}{
		{"a hair under", 2.5*0.0354 + 0.5 - 1e-9, 0, nil, false},
		{"a hair over", 2.5*0.0354 + 0.5 + 1e-9, 0, nil, true},
		{"the floor at its line", 0, 9 * physic.Kelvin, nil, false},
		{"the floor over it", 0, 9*physic.Kelvin + 1, nil, true},
		{"the floor, not read now", 0, 20 * physic.Kelvin, func(s *Station) { s.probes[2].told.Valid = false }, false},
	} {
		s := newReady(t, withFloor(), at(28)).s
		s.trial = trial{on: time.Minute, base: 28, floor: at(28)} // a minute of heat: 35.4 mK
		s.water.mean, s.probes[2].last.Value = 28+c.water, at(28)+c.floor
		if c.set != nil {
			c.set(s)
		}
		if s.tooQuick() != c.quick || s.trial.dry != c.quick {
			t.Errorf("%s: too quick %v", c.name, !c.quick)
		}
	}
}

// The answer is judged once, a coast and 90 s after the pulse, and the next
// pulse waits until this one was a fifth of the time and the drift was measured
// for two minutes.
func TestAnswerAtItsTimes(t *testing.T) {
	for _, c := range []struct {
		on, rests time.Duration
	}{{time.Minute, 300 * time.Second}, {5 * time.Minute, 1200 * time.Second}} {
		r := proving(t, StageAnswer, at(28))
		s := r.s
		s.trial.on = c.on
		s.base()
		s.dt = time.Second
		for n := 1; n <= 2000; n++ {
			s.trial.time += time.Second
			s.trial.since += time.Second
			s.water.slow += 1e-5
			s.answer()
			if s.trial.judged != (n >= 180 && s.stage == StageAnswer) {
				t.Fatalf("%s of heat: judged %v after %d s", c.on, s.trial.judged, n)
			}
			if want := map[bool]Stage{true: StagePulse, false: StageAnswer}[time.Duration(n)*time.Second >= c.rests]; s.stage != want {
				t.Fatalf("%s of heat: %s after %d s", c.on, s.stage, n)
			}
			if s.stage == StagePulse {
				break
			}
			if s.trial.on != c.on {
				t.Fatalf("the length of the pulse was forgotten after %d s", n)
			}
		}
		if math.Abs(s.trial.drift-1e-5) > 1e-9 {
			t.Errorf("%s of heat: drift %v", c.on, s.trial.drift)
		}
	}
}

// Three pulses without an answer fail the pairing's proof, once.
func TestThirdPulseWithoutAnAnswer(t *testing.T) {
	r := proving(t, StageAnswer, at(28))
	s := r.s
	s.trial.on = 5 * time.Minute
	s.base()
	for n := 1; n <= 5; n++ {
		s.out.Events = s.out.Events[:0]
		s.judge()
		if s.proofs[ProofPairing].Failed != (n >= 3) || s.trial.tries != uint8(min(n, 3)) {
			t.Errorf("pulse %d: failed %v after %d tries", n, s.proofs[ProofPairing].Failed, s.trial.tries)
		}
		proofs := 0
		for _, e := range s.out.Events {
			if e.Kind == Proof {
				proofs++
				if e.Probe != -1 || e.On || ProofKind(e.To) != ProofPairing {
					t.Errorf("%+v", e)
				}
			}
		}
		if proofs != b2i(n == 3) {
			t.Errorf("pulse %d: %d events", n, proofs)
		}
	}
	// What the drift alone did is no answer, and a rise against it is one.
	s.trial.tries, s.trial.drift, s.trial.since = 0, 1e-3, 200*time.Second
	s.trial.base, s.water.slow = 28, 28.2
	if math.Abs(s.rise()) > 1e-9 || s.judge() {
		t.Errorf("a rise of %v K by drift alone", s.rise())
	}
	s.trial.drift = -1e-3
	s.water.slow = 28.2 - 0.2
	if math.Abs(s.rise()-0.2) > 1e-9 || !s.judge() {
		t.Errorf("a rise of %v K against the drift", s.rise())
	}
	// After it the series relay is next, if there is one that is not proven.
	if s.stage != StageSeries || !s.waterFits {
		t.Errorf("stage %s, water fits %v", s.stage, s.waterFits)
	}
	for name, set := range map[string]func(*Station){
		"proven already": func(s *Station) { s.proofs[ProofSeries].Passed = true },
		"none":           func(s *Station) { s.set.HasSeries = false },
	} {
		s := proving(t, StageAnswer, at(28)).s
		s.proofs[ProofAllOff].Passed = true
		set(s)
		s.trial.on = 5 * time.Minute
		s.base()
		s.water.slow += s.expected()
		if !s.judge() || s.stage != StageDone {
			t.Errorf("series relay %s: stage %s", name, s.stage)
		}
	}
}
