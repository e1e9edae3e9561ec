package controller

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// heated is a chamber whose air and pieces stand at so many degrees, with what
// it remembers of its heater set by the test.
func heated(t *testing.T, air float64, set func(*Station)) *Station {
	s := newReady(t, chamberSettings(), at(air)).s
	s.present, s.off, s.grave, s.command, s.heater = 0, 0, 0, Command{}, heater{}
	s.grace = time.Second
	if set != nil {
		set(s)
	}
	return s
}

// Heat of ten minutes that does not raise the air by half a kelvin has no answer.
func TestAnswerOfAHeaterAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name  string
		rises physic.Temperature
		on    time.Duration
		there bool
		from  physic.Temperature
	}{
		{"a second less", 0, 10*time.Minute - 2*time.Second, false, at(40)},
		{"ten minutes", 0, 10*time.Minute - time.Second, true, at(40)},
		{"a hair less than half a kelvin", 500*physic.MilliKelvin - 1, 10*time.Minute - time.Second, true, at(40)},
		{"half a kelvin", 500 * physic.MilliKelvin, 10*time.Minute - time.Second, false, at(40.5)},
	} {
		s := heated(t, 40, func(s *Station) {
			s.command = Command{Pad: true, Series: true}
			s.heater.on, s.heater.from, s.heater.off, s.heater.resting = c.on, at(40), time.Hour, true
		})
		s.probes[2].last.Value = at(40) + c.rises
		s.lookAtHeater()
		if s.present.has(NoRise) != c.there || s.heater.from != c.from || s.heater.off != 0 || s.heater.resting {
			t.Errorf("%s: there %v, %+v", c.name, s.present.has(NoRise), s.heater)
		}
	}
	s := heated(t, 40, func(s *Station) { s.heater.on = time.Hour })
	if s.lookAtHeater(); s.heater.on != 0 || s.present.has(NoRise) {
		t.Errorf("without heat: %+v", s.heater)
	}
}

// Air that nobody heats: three minutes and the coast after the heat, warmer than
// a hand, and 2 K over its coldest of the last ten to twenty minutes.
func TestUnaskedHeatOfAChamberAtItsBounds(t *testing.T) {
	const waits = 5 * time.Minute // three, and a coast of two
	for _, c := range []struct {
		name   string
		air    physic.Temperature
		heater heater
		there  bool
	}{
		{"2 K over the coldest", at(40), heater{off: waits, resting: true, low: at(38), before: at(38)}, true},
		{"a hair less", at(40) - 1, heater{off: waits, resting: true, low: at(38), before: at(38)}, false},
		{"over the coldest of the window before", at(40), heater{off: waits, resting: true, low: at(39.9), before: at(38)}, true},
		{"a second too soon after the heat", at(40), heater{off: waits - 2*time.Second, resting: true, low: at(38), before: at(38)}, false},
		{"just in time", at(40), heater{off: waits - time.Second, resting: true, low: at(38), before: at(38)}, true},
		{"a hand", at(35) - 1, heater{off: waits, resting: true, low: at(20), before: at(20)}, false},
		{"warmer than a hand", at(35), heater{off: waits, resting: true, low: at(20), before: at(20)}, true},
		{"the first look", at(60), heater{off: waits, low: at(20), before: at(20)}, false},
	} {
		s := heated(t, 40, func(s *Station) { s.heater = c.heater })
		s.probes[2].last.Value = c.air
		if s.lookAtHeater(); s.present.has(UnaskedRise) != c.there || s.grave.has(UnaskedRise) != c.there {
			t.Errorf("%s: there %v", c.name, s.present.has(UnaskedRise))
		}
	}
	// Windows of ten minutes: the coldest of the one before and of this one count.
	s := heated(t, 40, nil)
	s.heater.off = time.Hour
	air := func(v float64) { s.probes[2].last.Value = at(v); s.lookAtHeater() }
	air(38)
	for range 598 {
		air(39)
	}
	if s.heater.low != at(38) || s.heater.before != at(38) {
		t.Errorf("a second before the window ends: %+v", s.heater)
	}
	if air(39); s.heater.window != 0 || s.heater.before != at(38) || s.heater.low != at(39) {
		t.Errorf("at its end: %+v", s.heater)
	}
	for range 600 {
		air(39.5)
	}
	if s.heater.before != at(39) || s.heater.low != at(39.5) {
		t.Errorf("at the end of the next: %+v", s.heater)
	}
	none := heated(t, 60, func(s *Station) {
		s.set.HasPad, s.heater = false, heater{off: time.Hour, resting: true}
	})
	if none.lookAtHeater(); none.present != 0 {
		t.Error("a freezer without a heater is heated")
	}
}

// A probe of the air that repeats itself through ten minutes of heat while
// another rose by half a kelvin.
func TestStillAirAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name  string
		heat  bool
		still time.Duration
		other physic.Temperature
		moved physic.Temperature
		stuck bool
	}{
		{"ten minutes and half a kelvin", true, 10*time.Minute - time.Second, at(40.5), 0, true},
		{"a hair less of it", true, 10*time.Minute - time.Second, at(40.5) - 1, 0, false},
		{"a second less of heat", true, 10*time.Minute - 2*time.Second, at(40.5), 0, false},
		{"no heat now: the time stands", false, 10*time.Minute - time.Second, at(40.5), 0, false},
		{"it moved", true, time.Hour, at(45), 1, false},
	} {
		s := heated(t, 40, func(s *Station) {
			s.command = Command{Pad: c.heat, Series: c.heat}
			s.heater = heater{same: at(40), still: c.still, others: at(40)}
		})
		s.probes[1].last.Value, s.probes[2].last.Value = c.other, at(40)+c.moved
		if s.lookAtAir(2); s.heater.stuck != c.stuck || s.present.has(ProbeFrozen) != c.stuck || s.off.has(ProbeFrozen) != c.stuck {
			t.Errorf("%s: stuck %v", c.name, s.heater.stuck)
		}
		if c.moved != 0 && (s.heater.same != at(40)+c.moved || s.heater.others != c.other || s.heater.still != time.Second) {
			t.Errorf("%s: %+v", c.name, s.heater)
		}
	}
	// The air itself is not among the others, nor is a probe that does not count.
	s := heated(t, 40, func(s *Station) { s.heater = heater{same: at(50), others: at(40)} })
	s.probes[2].last.Value = at(60)
	s.probes[1].last.Value, s.probes[1].doubt = at(55), true
	if s.lookAtAir(2); s.heater.others != at(40) {
		t.Errorf("the hottest of the others is %s", s.heater.others)
	}
	// Once stuck it stays until it moves.
	s = heated(t, 40, func(s *Station) { s.heater = heater{same: at(40), stuck: true} })
	if s.lookAtAir(2); !s.heater.stuck || !s.present.has(ProbeFrozen) {
		t.Error("a stuck probe was freed without moving")
	}
}

// What a chamber looks at beside its heater.
func TestInputsOfAChamber(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*ready)
		there causes
	}{
		{"nothing", func(*ready) {}, 0},
		{"no airflow with the fan", func(r *ready) { r.in.Health.AirflowSeen = false }, 1 << AirflowLost},
		{"no airflow without the fan", func(r *ready) { r.in.Health.AirflowSeen, r.s.command.Fan = false, false }, 0},
		{"no airflow input", func(r *ready) { r.in.Health.AirflowSeen, r.s.set.HasAirflow = false, false }, 0},
		{"the door", func(r *ready) { r.in.Health.DoorOpen = true }, 1 << DoorOpened},
		{"no door input", func(r *ready) { r.in.Health.DoorOpen, r.s.set.HasDoor = true, false }, 0},
		{"over time", func(r *ready) { r.in.Treatment.OverTime = true }, 1 << OverTime},
		{"over time, nothing runs", func(r *ready) { r.in.Treatment = Treatment{OverTime: true} }, 0},
		{"out of its piece", func(r *ready) { r.in.Treatment.OutOfPiece = true }, 1 << OutOfPiece},
		{"out of its piece, nothing runs", func(r *ready) { r.in.Treatment = Treatment{OutOfPiece: true} }, 0},
		{"at the limit", func(r *ready) { r.s.probes[0].last.Value = at(62) }, 1 << OverLimit},
		{"a hair under it", func(r *ready) { r.s.probes[0].last.Value = at(62) - 1 }, 0},
		{"half a kelvin back, acting", func(r *ready) { r.s.probes[0].last.Value, r.s.acting = at(61.5), 1<<OverLimit }, 1 << OverLimit},
		{"a hair further back, acting", func(r *ready) { r.s.probes[0].last.Value, r.s.acting = at(61.5)-1, 1<<OverLimit }, 0},
	} {
		r := newReady(t, chamberSettings(), at(50))
		r.s.present, r.s.command = 0, Command{Fan: true}
		c.set(r)
		if r.s.lookAtChamber(&r.in); r.s.present != c.there {
			t.Errorf("%s: %b, want %b", c.name, r.s.present, c.there)
		}
	}
	for over, trips := range map[physic.Temperature]bool{at(64): true, at(64) - 1: false} {
		r := newReady(t, chamberSettings(), at(50))
		r.s.grave, r.s.probes[0].last.Value = 0, over
		if r.s.lookAtChamber(&r.in); r.s.grave.has(OverLimit) != trips {
			t.Errorf("%s: trips %v", over, !trips)
		}
	}
}

// Feedback against commands, for every pair that can be.
func TestFeedbackOfRelays(t *testing.T) {
	for _, c := range []struct {
		name           string
		command        Command
		pad, series    Contact
		set            func(*ready)
		there, condemn causes
	}{
		{"as commanded, off", Command{}, ContactOpen, ContactOpen, nil, 0, 0},
		{"as commanded, on", Command{Pad: true, Series: true}, ContactClosed, ContactClosed, nil, 0, 0},
		{"pad stays open", Command{Pad: true, Series: true}, ContactOpen, ContactClosed, nil, 1 << RelayDisagrees, 0},
		{"pad stays closed", Command{}, ContactClosed, ContactOpen, nil, 1 << RelayDisagrees, 0},
		{"pad unknown", Command{}, ContactUnknown, ContactOpen, nil, 1 << RelayDisagrees, 0},
		{"series stays open", Command{Series: true}, ContactOpen, ContactOpen, nil, 1 << RelayDisagrees, 0},
		{"series stays open for another's trip", Command{Series: true}, ContactOpen, ContactOpen, func(r *ready) { r.in.Health.SharedTrip = true }, 0, 0},
		{"series unknown", Command{}, ContactOpen, ContactUnknown, nil, 1 << RelayDisagrees, 0},
		{"series stays closed", Command{}, ContactOpen, ContactClosed, nil, 1 << SeriesWelded, 0},
		{"both stay closed", Command{}, ContactClosed, ContactClosed, nil, 1<<RelayDisagrees | 1<<SeriesWelded | 1<<BothWelded, 1 << BothWelded},
		{"pad stays closed, no series relay", Command{}, ContactClosed, ContactUnknown, func(r *ready) { r.s.set.HasSeries, r.s.set.HasSeriesSeen = false, false }, 1<<RelayDisagrees | 1<<BothWelded, 1 << BothWelded},
		{"others hold the shared one closed", Command{}, ContactOpen, ContactClosed, func(r *ready) { r.s.set.SeriesShared, r.s.out.OpenShared = true, false }, 0, 0},
		{"nobody may hold the shared one closed", Command{}, ContactOpen, ContactClosed, func(r *ready) { r.s.set.SeriesShared, r.s.out.OpenShared = true, true }, 1 << SeriesWelded, 0},
		{"no feedback wired", Command{Pad: true, Series: true}, ContactUnknown, ContactUnknown, func(r *ready) { r.s.set.HasPadSeen, r.s.set.HasSeriesSeen = false, false }, 0, 0},
		{"welded in its proof", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.trial.welded = true }, 1 << SeriesWelded, 0},
		{"not written", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.in.Health.RelayUnwritten = true }, 1 << RelayUnwritable, 0},
		{"on for the longest", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.onTime = 8 * time.Hour }, 0, 0},
		{"on for longer", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.onTime = 8*time.Hour + 1 }, 1 << OnTooLong, 0},
		{"proof of eight days", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.proofs[ProofSeries].Age = 8 * 24 * time.Hour }, 0, 0},
		{"proof of longer", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.proofs[ProofSeries].Age = 8*24*time.Hour + 1 }, 1 << ProofOverdue, 0},
		{"an old proof of no series relay", Command{}, ContactOpen, ContactOpen, func(r *ready) {
			r.s.proofs[ProofSeries].Age, r.s.set.HasSeries, r.s.set.HasSeriesSeen = 9*24*time.Hour, false, false
		}, 0, 0},
		{"a doubt about the tub", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.look.facts.Crossed = true }, 1 << WrongTub, 0},
		{"crossed", Command{}, ContactOpen, ContactOpen, func(r *ready) { r.s.crossed = true }, 1 << WrongTub, 0},
	} {
		set := tubSettings()
		set.HasPadSeen, set.HasSeriesSeen = true, true
		r := newReady(t, set, at(29.4))
		r.s.present, r.s.grave, r.s.onTime, r.s.command = 0, 0, 0, c.command
		r.in.Health = Health{}
		r.in.PadSeen, r.in.SeriesSeen = c.pad, c.series
		if c.set != nil {
			c.set(r)
		}
		r.s.lookAtFeedback(&r.in)
		if r.s.lookAtRelays(&r.in); r.s.present != c.there || r.s.grave != c.condemn {
			t.Errorf("%s: %b, condemned %b", c.name, r.s.present, r.s.grave)
		}
	}
	chamber := newReady(t, chamberSettings(), at(50))
	chamber.s.present, chamber.s.onTime, chamber.s.proofs[ProofSeries] = 0, 1000*time.Hour, ProofState{Passed: true, Age: 1000 * time.Hour}
	chamber.in.Health = Health{}
	chamber.s.lookAtFeedback(&chamber.in)
	if chamber.s.lookAtRelays(&chamber.in); chamber.s.present != 0 {
		t.Errorf("a chamber heats for days: %b", chamber.s.present)
	}
}

// After the first unclean start in an hour heat waits five minutes, after the
// second ten, after the third twenty, and that one trips.
func TestWaitsAfterRestarts(t *testing.T) {
	for _, c := range []struct {
		restarts uint8
		waits    time.Duration
		trips    bool
	}{{0, 5 * time.Minute, false}, {1, 5 * time.Minute, false}, {2, 10 * time.Minute, false}, {3, 20 * time.Minute, true}, {9, 20 * time.Minute, true}} {
		for since, there := range map[time.Duration]bool{c.waits - 1: true, c.waits: false, 0: true} {
			r := newReady(t, tubSettings(), at(29.4))
			r.s.present, r.s.grave = 0, 0
			r.s.start = 7 * time.Hour
			r.s.now = r.s.start + since
			r.in.Health = Health{Unclean: true, Restarts: c.restarts, StoreProven: true}
			if r.s.lookAtProgram(&r.in); r.s.present.has(TooManyRestarts) != there || r.s.grave.has(TooManyRestarts) != (there && c.trips) {
				t.Errorf("%d restarts, %s ago: there %v, trips %v", c.restarts, since, r.s.present.has(TooManyRestarts), r.s.grave.has(TooManyRestarts))
			}
			r.s.present, r.in.Health.Unclean = 0, false
			if r.s.lookAtProgram(&r.in); r.s.present != 0 {
				t.Error("a clean start waits")
			}
		}
	}
}

// What a cause does beside its row of the table.
func TestWhatActingDoes(t *testing.T) {
	for _, c := range []struct {
		name  string
		cause Cause
		set   func(*Station)
		gone  Cause
		fits  bool
	}{
		{"a probe jumped", ProbeJumped, func(s *Station) { s.look.facts.Jumped = observer.Guard }, ProbeJumped, false},
		{"the floor probe is out of place", ProbeJumped, func(s *Station) { s.look.facts.Jumped = observer.Floor }, NoCause, true},
		{"none jumped", ProbeJumped, func(*Station) {}, NoCause, true},
		{"another cause while a probe is out", SupplyLow, func(s *Station) { s.look.facts.Jumped = observer.Guard }, NoCause, true},
		{"cold under heat at the only probe", TooCold, func(s *Station) { s.water.count, s.run.warm = 1, true }, NoCause, false},
		{"cold under heat at two", TooCold, func(s *Station) { s.water.count, s.run.warm = 2, true }, NoCause, true},
		{"cold without heat", TooCold, func(s *Station) { s.water.count, s.run.warm = 1, false }, NoCause, true},
		{"another cause at the only probe", SupplyLow, func(s *Station) { s.water.count, s.run.warm = 1, true }, NoCause, true},
	} {
		s := newReady(t, withFloor(), at(29.4)).s
		s.acting = 0
		c.set(s)
		if s.actOn(c.cause); s.gone != c.gone || s.waterFits != c.fits {
			t.Errorf("%s: gone %s, water fits %v", c.name, s.gone, s.waterFits)
		}
	}
	// A cause that acts already does it once, and one that was latched keeps its
	// age.
	s := newReady(t, tubSettings(), at(29.4)).s
	s.acting, s.look.facts.Jumped = 1<<ProbeJumped, observer.Guard
	if s.actOn(ProbeJumped); s.gone != NoCause {
		t.Error("a jump that was answered for is missed again")
	}
	for latched, age := range map[causes]time.Duration{0: 0, 1 << OverCutoff: time.Hour} {
		s.acting, s.latched, s.marks[OverCutoff].age = 0, latched, time.Hour
		if s.actOn(OverCutoff); s.marks[OverCutoff].age != age {
			t.Errorf("latched %b: an age of %s", latched, s.marks[OverCutoff].age)
		}
	}
	// Two conditions of one Step are both withheld and both condemned.
	s.off, s.grave = 0, 0
	s.withhold(NoWater)
	s.withhold(WrongTub)
	s.condemn(NoWater)
	s.condemn(OverBand)
	if s.off != 1<<NoWater|1<<WrongTub || s.grave != 1<<NoWater|1<<OverBand {
		t.Errorf("%b, %b", s.off, s.grave)
	}
}

// What was measured when a cause began is kept while it acts or is latched.
func TestWhatWasMeasuredIsKept(t *testing.T) {
	for name, set := range map[string]func(*Station){
		"acting":  func(s *Station) { s.acting = 1 << OverCutoff },
		"latched": func(s *Station) { s.latched = 1 << OverCutoff },
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.raise(OverCutoff, at(32), 1)
		set(s)
		s.raise(OverCutoff, at(33), 0)
		if m := s.marks[OverCutoff]; m.value != at(32) || m.probe != 1 {
			t.Errorf("%s: %+v", name, m)
		}
		s.acting, s.latched = 0, 0
		s.raise(OverCutoff, at(33), 0)
		if m := s.marks[OverCutoff]; m.value != at(33) || m.probe != 0 {
			t.Errorf("no longer %s: %+v", name, m)
		}
	}
}

// Every station is latched on what can be one of its kind when it knows nothing.
func TestWhatAStationThatKnowsNothingIsLatchedOn(t *testing.T) {
	both := []Cause{ProbeSilent, ProbeImplausible, ProbeFrozen, RelayDisagrees, RelayUnwritable, SeriesWelded, BothWelded, TooManyRestarts, UnaskedRise}
	for kind, only := range map[Kind][]Cause{
		Tub:     {OverCutoff, OverBand, FloorTooHot, NoRise, NoWater, OnTooLong},
		Chamber: {OverLimit},
	} {
		set := tubSettings()
		if kind == Chamber {
			set = chamberSettings()
		}
		s, err := New(set)
		if err != nil {
			t.Fatal(err)
		}
		var want causes
		for _, c := range append(append([]Cause(nil), both...), only...) {
			want |= 1 << c
		}
		if s.latched != want || s.alive != want {
			t.Errorf("%s: latched on %b, want %b", kind, s.latched, want)
		}
		for l := s.latched; l != 0; {
			if c := l.next(); s.Cause(c).Severity != Trip || s.Cause(c).Probe != -1 {
				t.Errorf("%s: %+v", c, s.Cause(c))
			}
		}
	}
}
