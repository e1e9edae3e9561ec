package controller

import (
	"testing"
	"time"

	"soakwarden/controller/alarm"
	"soakwarden/controller/observer"
)

// ordered is a proven tub whose probes stand in a given order, all at 29.4 °C.
func ordered(t *testing.T, roles ...Role) *Station {
	set := tubSettings()
	set.Probes = nil
	for _, r := range roles {
		set.Probes = append(set.Probes, ProbeSettings{Role: r, Calibrated: true})
	}
	s := newReady(t, set, at(29.4)).s
	s.present, s.off, s.grave, s.widened = 0, 0, 0, 0
	return s
}

// A probe counts the same wherever it stands in the list, also first.
func TestFirstInTheListCountsAsAnyOther(t *testing.T) {
	floorFirst := func() *Station { return ordered(t, RoleFloor, RoleControl, RoleGuard) }
	s := floorFirst()
	s.probes[0].last.Value = at(34)
	if s.lookAtWater(); !s.present.has(FloorTooHot) {
		t.Error("a hot floor, first in the list, is not seen")
	}
	s = floorFirst()
	s.probes[0].last.Value = at(31)
	if s.base(); s.trial.floor != at(31) {
		t.Error("the floor, first in the list, is no base")
	}
	s.trial = trial{on: time.Minute, base: 29.4, floor: at(29.4)}
	s.probes[0].last.Value = at(45)
	if !s.tooQuick() {
		t.Error("a floor without water, first in the list, is not too quick")
	}
	s.run.open = 24 * time.Hour
	if !s.floorHeats() {
		t.Error("a floor that heats, first in the list, is not seen")
	}
	s = floorFirst()
	s.look.facts.NoRise, s.look.verdict = true, observer.ProvenNoRise
	if s.lookAtHeat(); !s.grave.has(NoRise) {
		t.Error("the proof of a floor, first in the list, does not latch")
	}
	s = ordered(t, RoleRoom, RoleControl, RoleGuard)
	s.probes[0].last.Value = at(35)
	if s.lookAtWater(); !s.present.has(HeatFromOutside) {
		t.Error("a hot room, first in the list, is not seen")
	}
	s = ordered(t, RoleGuard, RoleControl)
	s.begin, s.agreed = false, 0
	s.probes[0].last.Value = at(25)
	if s.agree(); s.begin || s.unalike == 0 {
		t.Error("a guard that disagrees, first in the list, is not seen")
	}
	s.look.facts.Differ = true
	if s.disbelieve(); !s.probes[0].doubt || s.probes[1].doubt {
		t.Error("a guard that is the cooler, first in the list, is believed")
	}
	s = ordered(t, RoleGuard, RoleControl)
	s.look.facts.Frozen, s.run.after = observer.Control, 0
	s.marks[ProbeFrozen].held = time.Minute
	if s.lookAtProbes(); s.marks[ProbeFrozen].held == 0 {
		t.Error("a frozen control beside a guard, first in the list, does not trip")
	}
	set := chamberSettings()
	set.Probes = []ProbeSettings{{Role: RoleAir}, {Role: RoleCore}}
	r := newReady(t, set, at(40))
	if r.steps(700); !r.s.present.has(NoRise) || !r.s.run.wants {
		t.Error("the air of a chamber, first in the list, is not followed")
	}
}

// A floor probe that stands first and feels nothing is told of after some hours
// of cycles.
func TestBlindFloorProbeThatStandsFirst(t *testing.T) {
	set := tubSettings()
	set.Probes = []ProbeSettings{{Role: RoleFloor, Calibrated: true}, {Role: RoleControl, Calibrated: true}, {Role: RoleGuard, Calibrated: true}}
	r := newReady(t, set, at(29.2))
	p := newPlant(29.2)
	for range 14 * 3600 {
		p.second(r.out.Command)
		for i := range r.in.Readings {
			r.set(i, at(p.water+p.noise()))
		}
		if r.step(); r.s.look.facts.FloorBlind {
			return
		}
	}
	t.Error("fourteen hours, and nobody was told")
}

// unproven is a tub with two probes at its first start, without any proof.
func unproven(t *testing.T, set Settings) *ready {
	t.Helper()
	s, err := New(set)
	if err != nil || s.Restore(nil) != nil {
		t.Fatal(err)
	}
	r := &ready{t: t, s: s, out: &Output{}}
	r.in.Health = Health{StoreProven: true, Permit: true}
	r.in.Readings = make([]Reading, 2)
	return r
}

// From a start without any proof: ten minutes of watching, then the pulse, the
// answer and the series relay, each in its time.
func TestProofsInTheirTime(t *testing.T) {
	r := unproven(t, tubSettings())
	s := r.s
	p := newPlant(28)
	entered := map[Stage]time.Duration{}
	began := time.Duration(0)
	for range 3 * 3600 {
		p.second(r.out.Command)
		for i := range r.in.Readings {
			r.set(i, at(p.water))
		}
		r.step(hands(AnimalOut))
		if s.begin && began == 0 {
			began = r.now
		}
		if _, was := entered[s.stage]; !was && began > 0 {
			entered[s.stage] = r.now - began
		}
		if s.stage == StageDone {
			break
		}
	}
	near := func(got, want time.Duration) bool { return got >= want-2*time.Second && got <= want+2*time.Second }
	if !near(entered[StagePulse], 10*time.Minute) {
		t.Errorf("the first pulse %s after the probes agreed", entered[StagePulse])
	}
	if !near(entered[StageAnswer]-entered[StagePulse], s.rate.pulse) {
		t.Errorf("a pulse of %s, want %s", entered[StageAnswer]-entered[StagePulse], s.rate.pulse)
	}
	if !near(entered[StageSeries]-entered[StageAnswer], 3*time.Minute) {
		t.Errorf("judged %s after the pulse", entered[StageSeries]-entered[StageAnswer])
	}
	if !near(entered[StageDone]-entered[StageSeries], s.rate.pulse+90*time.Second+time.Minute) {
		t.Errorf("the series relay took %s", entered[StageDone]-entered[StageSeries])
	}
	if s.trial != (trial{}) {
		t.Errorf("%+v", s.trial)
	}
}

// What is not about a probe is about none, and what nobody can see is not cold.
func TestWhatIsAboutNoProbe(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.in.Health.CardNearlyFull, r.in.Health.SupplyLow = true, true
	r.steps(90)
	for _, c := range []Cause{CardNearlyFull, SupplyLow} {
		if st := r.s.Cause(c); !st.Acting || st.Probe != -1 || st.Value != 0 {
			t.Errorf("%s: %+v", c, st)
		}
	}
	s := newReady(t, tubSettings(), at(29.4)).s
	for i := range s.probes {
		s.probes[i].age = 2 * time.Minute
	}
	s.mix()
	s.present = 0
	if s.lookAtWater(); s.present != 0 {
		t.Errorf("blind, and there is %b", s.present)
	}
	// Hands open the series relay, and the event is about no probe.
	r = newReady(t, tubSettings(), at(29.4))
	r.step(hands(BeginAttended))
	found := false
	for _, e := range r.out.Events {
		if e.Kind == SeriesSwitched {
			found = true
			if e.Probe != -1 || e.On {
				t.Errorf("%+v", e)
			}
		}
	}
	if !found {
		t.Error("hands in the tub, and the series relay did not open")
	}
	if Cause(causeCount).Rule() != NoCause.Rule() || Cause(causeCount).String() != "none" {
		t.Error("a cause past the last has a rule")
	}
}

// A station with nothing to remember is saved in few bytes, and each cause that
// has something adds its own.
func TestSavedStateIsSparse(t *testing.T) {
	s, err := New(tubSettings())
	if err != nil || s.Restore(nil) != nil {
		t.Fatal(err)
	}
	empty := len(s.Save())
	s.marks[TooCold].held = time.Second
	one := len(s.Save())
	s.marks[WaterLow].held = time.Second
	if two := len(s.Save()); one <= empty || two-one != one-empty {
		t.Errorf("%d, %d and %d bytes", empty, one, two)
	}
}

// The only probe in the water, when it is found out, leaves none; what it says
// still counts on the hot side.
func TestOnlyProbeThatIsFoundOut(t *testing.T) {
	s := ordered(t, RoleControl)
	s.look.facts.Frozen = observer.Control
	if s.disbelieve(); s.water.count != 0 || s.water.hottest != at(29.4) || !s.doubts {
		t.Errorf("%+v", s.water)
	}
	s.look.facts.Frozen = observer.None
	if s.disbelieve(); s.water.count != 1 || s.doubts {
		t.Errorf("%+v", s.water)
	}
}

// A probe that has not answered since the start is silent and differs from none.
func TestSilentGuardAtAStartDiffersFromNone(t *testing.T) {
	r := unproven(t, tubSettings())
	s := r.s
	r.set(0, at(29.4))
	r.steps(300)
	if s.unalike != 0 || s.present.has(ProbesDiffer) || !s.latched.has(ProbeSilent) || s.begin {
		t.Errorf("unlike for %s, there %b, latched %b", s.unalike, s.present, s.latched)
	}
}

// An alarm that comes while it is silent waits for an answer when it may speak
// again; hands and a first filling silence both their own.
func TestSilenceEndsAndTheAlarmAsks(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.animal = AnimalIsOut
	m := &s.marks[TooCold]
	s.acting, m.severity = 1<<TooCold, Warning
	s.tell(TooCold)
	s.tell(TooCold)
	s.animal = AnimalIsIn
	if s.tell(TooCold); m.alarm.State() != alarm.Unacknowledged {
		t.Errorf("it came while it was silent, and now it is %v", m.alarm.State())
	}
	s.acting, s.attended, s.animal, s.everReady, s.warm = 0, true, AnimalMayBeIn, false, NoCause
	if got := s.silent(); !got.has(NoRise) || !got.has(TooCold) || !got.has(WaterLow) {
		t.Errorf("hands in a tub that fills: %b", got)
	}
}

// What was learned of the coast brings the upper switching point down by so
// much.
func TestLearnedCoastSwitchesEarly(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.2))
	p := newPlant(29.2)
	for range 14 * 3600 {
		p.second(r.out.Command)
		for i := range r.in.Readings {
			r.set(i, at(p.water+p.noise()))
		}
		if r.step(); r.s.look.early > 0 {
			break
		}
	}
	if early := r.s.look.early; early < 1e6 || early > 140*1e6 {
		t.Errorf("early by %d nK, the observer says %v K", early, r.s.obs.Early())
	}
}

// A pairing counts as proven while the water that proved it is there, and what
// another's pad would explain is told of rises and of heat that is missed.
func TestPairingAndDoubts(t *testing.T) {
	for _, c := range []struct{ passed, fits, proven bool }{{true, true, true}, {true, false, false}, {false, true, false}, {false, false, false}} {
		s := ordered(t, RoleControl)
		s.proofs[ProofPairing].Passed, s.waterFits = c.passed, c.fits
		if s.PairingProven() != c.proven {
			t.Errorf("%+v: proven %v", c, !c.proven)
		}
	}
	for _, c := range []struct {
		facts           observer.Findings
		verdict         observer.Verdict
		unasked, misses bool
	}{
		{observer.Findings{}, observer.Quiet, false, false},
		{observer.Findings{Unasked: true}, observer.SuspectUnasked, true, false},
		{observer.Findings{}, observer.OutsideHeat, true, false},
		{observer.Findings{NoRise: true}, observer.SuspectNoRise, false, true},
	} {
		s := ordered(t, RoleControl)
		s.look.facts, s.look.verdict = c.facts, c.verdict
		if unasked, misses, latched := s.Doubts(); unasked != c.unasked || misses != c.misses || latched {
			t.Errorf("%+v: %v, %v, %v", c, unasked, misses, latched)
		}
		s.latched = 1 << NoRise
		if _, _, latched := s.Doubts(); !latched {
			t.Errorf("%+v: a latched pad could answer", c)
		}
	}
}
