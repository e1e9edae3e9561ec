package controller

import (
	"testing"
	"time"

	"soakwarden/controller/alarm"
	"soakwarden/controller/observer"
)

// Heat needs water that somebody can see.
func TestNothingIsPermittedOverUnknownWater(t *testing.T) {
	r := newReady(t, tubSettings(), at(29))
	r.step(hands(AnimalOut))
	for count, permitted := range map[int]bool{0: false, 1: true, 2: true} {
		r.s.water.count = count
		r.s.decide(&r.in)
		if r.s.out.Permitted != permitted {
			t.Errorf("%d believable probes: permitted %v", count, r.s.out.Permitted)
		}
	}
	c := newReady(t, chamberSettings(), at(50))
	if !c.out.Permitted {
		t.Error("a chamber waits for water")
	}
}

// A series relay that follows the pad relay closes without it only when a test
// asks, and never when it may not be closed at all.
func TestSeriesRelayThatFollows(t *testing.T) {
	for _, c := range []struct {
		name                  string
		tandem, wants, test   bool
		permit, series, close bool
	}{
		{"it does not follow", false, false, false, true, true, true},
		{"it follows, pad off", true, false, false, true, false, false},
		{"it follows, pad on", true, true, false, true, true, true},
		{"a test closes it", true, false, true, true, true, true},
		{"a test without permission", true, false, true, false, false, false},
	} {
		r := newReady(t, tubSettings(), at(29.4))
		r.step(hands(AnimalOut))
		s := r.s
		s.tandem, s.run.wants, s.look.advice.CloseSeries, s.command, s.run.heated = c.tandem, c.wants, c.test, Command{Pad: c.wants}, true
		r.in.Health.Permit = c.permit
		if s.decide(&r.in); s.command.Series != c.series {
			t.Errorf("%s: series relay closed %v", c.name, s.command.Series)
		}
		if s.out.OpenShared != (c.tandem && !c.wants) {
			t.Errorf("%s: open even for others %v", c.name, s.out.OpenShared)
		}
	}
	r := newReady(t, tubSettings(), at(29))
	r.step(hands(AnimalOut))
	r.s.run.wants, r.s.look.advice.WithholdPad, r.s.command = true, true, Command{}
	if r.s.decide(&r.in); r.s.command.Pad {
		t.Error("heat that a test withholds")
	}
}

func TestEffectiveSetPointInDegrees(t *testing.T) {
	var r operating
	if r.effectiveCelsius() != 0 {
		t.Error("there is none, and it is not 0")
	}
	for _, v := range []float64{29.5, 28, 28, 29} {
		if r.effective = at(v); r.effectiveCelsius() != v {
			t.Errorf("%v °C is %v", v, r.effectiveCelsius())
		}
	}
}

// One trip does not undo another.
func TestSecondLatchKeepsTheFirst(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	for _, c := range []Cause{OverCutoff, RelayDisagrees, SeriesWelded} {
		s.actOn(c)
	}
	if s.latched != 1<<OverCutoff|1<<RelayDisagrees|1<<SeriesWelded {
		t.Errorf("latched on %b", s.latched)
	}
	if s.worst() != OverCutoff {
		t.Errorf("the worst is %s", s.worst())
	}
}

// The room's probe may be silent; any other may not, and the first that is names
// the cause.
func TestWhichProbesMustAnswer(t *testing.T) {
	for probe, silent := range map[int]bool{0: true, 1: true, 2: true, 3: false} {
		r := newReady(t, withFloor(), at(29.4))
		for i := range r.s.probes {
			r.s.probes[i].told.Valid = i != probe
		}
		r.s.present = 0
		r.s.lookAtReadings()
		if r.s.present.has(ProbeSilent) != silent || silent && r.s.marks[ProbeSilent].probe != int8(probe) {
			t.Errorf("probe %d: silent %v, about %d", probe, r.s.present.has(ProbeSilent), r.s.marks[ProbeSilent].probe)
		}
		if r.s.present.has(ProbeImplausible) {
			t.Error("silence is called implausible")
		}
	}
	r := newReady(t, withFloor(), at(29.4))
	for i := range r.s.probes {
		r.s.probes[i].told.Valid = false
	}
	r.s.probes[2].odd = true
	r.s.present = 0
	r.s.lookAtReadings()
	if r.s.marks[ProbeSilent].probe != 0 || r.s.marks[ProbeImplausible].probe != 2 {
		t.Errorf("silent %d, implausible %d", r.s.marks[ProbeSilent].probe, r.s.marks[ProbeImplausible].probe)
	}
	for unalike, differ := range map[time.Duration]bool{2*time.Minute - 1: false, 2 * time.Minute: true} {
		r := newReady(t, tubSettings(), at(29.4))
		r.s.present, r.s.unalike = 0, unalike
		if r.s.lookAtProbes(); r.s.present.has(ProbesDiffer) != differ {
			t.Errorf("unlike each other for %s: told %v", unalike, !differ)
		}
	}
}

// A frozen probe takes the heat away at once and trips after a minute; the only
// one in the water must repeat itself through half an hour without heat first.
func TestWhenAFrozenProbeTrips(t *testing.T) {
	for _, c := range []struct {
		probes int
		after  time.Duration
		keeps  time.Duration // of the grace that was used up
	}{{2, 0, time.Minute}, {1, 30*time.Minute - 1, 0}, {1, 30 * time.Minute, time.Minute}} {
		set := tubSettings()
		set.Probes = set.Probes[:c.probes]
		s := newReady(t, set, at(29.4)).s
		s.look.facts.Frozen, s.run.after, s.present, s.off = observer.Control, c.after, 0, 0
		s.marks[ProbeFrozen].held = time.Minute
		s.lookAtProbes()
		if !s.present.has(ProbeFrozen) || !s.off.has(ProbeFrozen) || s.marks[ProbeFrozen].held != c.keeps {
			t.Errorf("%+v: there %v, %s of grace used", c, s.present.has(ProbeFrozen), s.marks[ProbeFrozen].held)
		}
	}
}

// Doubt about one probe takes the heat away from whoever is left alone.
func TestDoubtAboutAProbe(t *testing.T) {
	for _, here := range []bool{true, false} {
		for cause, set := range map[Cause]func(*observer.Findings){
			ProbeJumped:  func(f *observer.Findings) { f.Jumped = observer.Guard },
			ProbesDiffer: func(f *observer.Findings) { f.Differ = true },
		} {
			s := newReady(t, tubSettings(), at(29.4)).s
			s.presence, s.present, s.off = time.Duration(b2i(here)), 0, 0
			set(&s.look.facts)
			if s.lookAtProbes(); !s.present.has(cause) || s.off.has(cause) == here {
				t.Errorf("%s, somebody here %v: heat off %v", cause, here, s.off.has(cause))
			}
		}
	}
}

// The fill: an alarm under 70 %, heat off under 50 % of it, each after a quarter
// of allowance, and only when most of the last answers say so.
func TestFillAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		answers float64
		low     bool
		there   bool
		off     bool
	}{
		{fillCreep / fillAlarm, true, true, false}, {fillCreep/fillAlarm - 1e-9, true, false, false},
		{fillCreep / fillLeast, true, true, true}, {fillCreep/fillLeast - 1e-9, true, true, false},
		{9, false, false, false},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.present, s.off = 0, 0
		s.look.answers, s.look.low = c.answers, c.low
		s.ready, s.overdue = true, false
		if s.protect(&Input{Health: Health{StoreProven: true}}); s.present.has(WaterLow) != c.there || s.off.has(WaterLow) != c.off {
			t.Errorf("%+v: there %v, heat off %v", c, s.present.has(WaterLow), s.off.has(WaterLow))
		}
	}
	if fillCreep/fillAlarm < 1.78 || fillCreep/fillAlarm > 1.79 || fillCreep/fillLeast != 2.5 {
		t.Error("not a quarter over 1/0.7 and 1/0.5")
	}
}

// What was learned is asked for every ten seconds.
func TestLearnedIsAskedEveryTenSeconds(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	asked := r.s.look.ask - askEvery
	for range 40 {
		r.s.look.early = -1
		r.step()
		if fresh := r.s.look.early != -1; fresh != (r.now-asked >= 10*time.Second) {
			t.Fatalf("asked %v, %s after the last time", fresh, r.now-asked)
		} else if fresh {
			asked = r.now
		}
	}
	r.s.confirm()
	r.s.look.early = -1
	if r.step(); r.s.look.early == -1 {
		t.Error("what is not known was not asked for")
	}
}

// Who must not be left alone: an animal that is in, or may be, at a tub that is
// not fit for it.
func TestWhoMustBeAttended(t *testing.T) {
	for _, c := range []struct {
		animal Animal
		fit    bool
		must   bool
	}{{AnimalMayBeIn, false, true}, {AnimalIsIn, false, true}, {AnimalIsOut, false, false}, {AnimalIsIn, true, false}} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.animal, s.fit = c.animal, c.fit
		if s.mustBeAttended() != c.must {
			t.Errorf("%+v: must %v", c, !c.must)
		}
	}
	if s := newReady(t, chamberSettings(), at(50)).s; s.mustBeAttended() {
		t.Error("a chamber must be attended")
	}
	for name, c := range map[string]struct {
		set func(*Settings)
		fit bool
	}{
		"two calibrated probes and an own series relay": {func(*Settings) {}, true},
		"attended only":                    {func(s *Settings) { s.AttendedOnly = true }, false},
		"no series relay":                  {func(s *Settings) { s.HasSeries = false }, false},
		"a shared one":                     {func(s *Settings) { s.SeriesShared = true }, false},
		"one probe":                        {func(s *Settings) { s.Probes = s.Probes[:1] }, false},
		"a control that is not calibrated": {func(s *Settings) { s.Probes[0].Calibrated = false }, false},
		"a guard that is not calibrated":   {func(s *Settings) { s.Probes[1].Calibrated = false }, false},
	} {
		set := tubSettings()
		set.Probes = append([]ProbeSettings(nil), set.Probes...)
		c.set(&set)
		if s := newReady(t, set, at(29.4)).s; s.fit != c.fit {
			t.Errorf("%s: fit %v", name, s.fit)
		}
	}
}

// The alarm about hands that stay in asks anew every ten minutes.
func TestAttendedTooLongAsksAnew(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	r.step(hands(AnimalIn))
	r.step(hands(BeginAttended))
	r.steps(30*60 + 2)
	if !r.s.acting.has(AttendedTooLong) {
		t.Fatal("half an hour is not too long")
	}
	answer := Act{Kind: Acknowledge, Cause: AttendedTooLong, Place: Page}
	for range 3 {
		r.step(answer)
		if got := r.s.Cause(AttendedTooLong).Alarm; got != alarm.Acknowledged {
			t.Fatalf("answered: %v", got)
		}
		climb := r.s.climb
		n := 0
		for ; r.s.Cause(AttendedTooLong).Alarm == alarm.Acknowledged && n < 2000; n++ {
			r.step()
		}
		if got := climb + time.Duration(n)*time.Second; got != 10*time.Minute {
			t.Errorf("it asks anew after %s", got)
		}
	}
}

// An answer to an act says what was done; a reset's says that it was one.
func TestAnswersToActs(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	for _, c := range []struct {
		act  Act
		kind EventKind
	}{
		{hands(AnimalIn), ActDone}, {Act{Kind: Reset, Cause: OverCutoff, Place: Board}, ActRefused},
		{Act{Kind: Reset, Cause: SeriesWelded, Place: Board, Seen: SeenPad}, ResetDone},
	} {
		r.s.latched = 1 << SeriesWelded
		r.s.marks[SeriesWelded].severity = Trip
		c.act.Number = 9
		r.step(c.act)
		found := false
		for _, e := range r.out.Events {
			if e.Number == 9 {
				found = true
				if e.Kind != c.kind || e.Probe != -1 || e.Cause != c.act.Cause {
					t.Errorf("%s: %+v", c.act.Kind, e)
				}
			}
		}
		if !found {
			t.Errorf("%s has no answer", c.act.Kind)
		}
	}
}
