package controller

import (
	"testing"
	"time"

	"soakwarden/controller/alarm"
)

// Which alarms the station's mode silences by design: hands, an empty tub, the
// first filling and a proof that is on its way each silence their own, together
// the union, and never one that is latched.
func TestWhichAlarmsAreSilent(t *testing.T) {
	const (
		attended causes = 1<<TooCold | 1<<ProbeJumped | 1<<ProbesDiffer | 1<<NoRise | 1<<HeatFromOutside | 1<<WaterLow | 1<<ProofOverdue | 1<<NobodyPresent | 1<<Unproven
		empty    causes = 1<<TooCold | 1<<NobodyPresent
		filling  causes = 1 << TooCold
		on       causes = 1 << Unproven
	)
	for _, c := range []struct {
		name string
		set  func(*Station)
		want causes
	}{
		{"an animal in a proven tub", func(*Station) {}, on},
		{"a proof failed", func(s *Station) { s.proofs[ProofPairing].Failed = true }, 0},
		{"the watch failed", func(s *Station) { s.proofs[ProofAllOff].Failed = true }, 0},
		{"both", func(s *Station) { s.proofs[ProofAllOff].Failed, s.proofs[ProofPairing].Failed = true, true }, 0},
		{"the series relay's proof failed", func(s *Station) { s.proofs[ProofSeries].Failed = true }, on},
		{"hands", func(s *Station) { s.attended, s.proofs[ProofPairing].Failed = true, true }, attended},
		{"empty", func(s *Station) { s.animal = AnimalIsOut }, empty | on},
		{"filling", func(s *Station) { s.animal, s.everReady = AnimalMayBeIn, false }, filling | on},
		{"filled", func(s *Station) { s.animal, s.everReady = AnimalMayBeIn, true }, on},
		{"in before it was ever ready", func(s *Station) { s.animal, s.everReady = AnimalIsIn, false }, on},
		{"sun speaks: heat from outside alone is the same", func(s *Station) { s.warm = HeatFromOutside }, on},
		{"over the band speaks", func(s *Station) { s.warm = OverBand }, on | 1<<UnaskedRise | 1<<HeatFromOutside},
		{"an unasked rise speaks", func(s *Station) { s.warm = UnaskedRise }, on | 1<<OverBand | 1<<HeatFromOutside},
		{"latched", func(s *Station) { s.warm, s.latched = UnaskedRise, 1<<OverBand|1<<Unproven }, 1 << HeatFromOutside},
		{"all of it", func(s *Station) { s.attended, s.animal, s.warm = true, AnimalIsOut, OverBand }, attended | 1<<UnaskedRise},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.animal, s.everReady, s.warm, s.latched, s.attended = AnimalIsIn, true, NoCause, 0, false
		if c.set(s); s.silent() != c.want {
			t.Errorf("%s: %b, want %b", c.name, s.silent(), c.want)
		}
	}
}

// One event of warmth has one alarm, until nothing has spoken of it for half an
// hour.
func TestOneEventOfWarmthHasOneAlarm(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.animal, s.dt, s.grace = AnimalIsIn, time.Second, time.Second
	for _, c := range []struct {
		name   string
		acting causes
		of     Cause
		warm   Cause // before
		after  Cause
	}{
		{"over the band", 1 << OverBand, OverBand, NoCause, OverBand},
		{"not about warmth", 1 << TooCold, TooCold, NoCause, NoCause},
		{"not acting", 0, OverBand, NoCause, NoCause},
		{"sun after over the band", 1<<OverBand | 1<<HeatFromOutside, HeatFromOutside, OverBand, OverBand},
		{"a rise after the sun", 1<<UnaskedRise | 1<<HeatFromOutside, UnaskedRise, HeatFromOutside, UnaskedRise},
	} {
		s.acting, s.warm = c.acting, c.warm
		if s.announceWarmth(c.of); s.warm != c.after {
			t.Errorf("%s: %s speaks, want %s", c.name, s.warm, c.after)
		}
	}
	s.acting, s.warm = 1<<OverBand, OverBand
	s.coolDown()
	if s.warmFor != 30*time.Minute || s.warm != OverBand {
		t.Errorf("while it acts: %s for another %s", s.warm, s.warmFor)
	}
	s.acting = 1 << TooCold
	for n := 1; n <= 1800; n++ {
		if s.coolDown(); (s.warm == OverBand) != (n < 1800) {
			t.Fatalf("%d s later %s speaks", n, s.warm)
		}
	}
	if s.warmFor != 0 {
		t.Errorf("another %s", s.warmFor)
	}
	s.acting = 1 << OverBand
	if s.coolDown(); s.warm != NoCause || s.warmFor != 0 {
		t.Error("warmth that nobody spoke of is an event")
	}
}

// An alarm that came and went while it was silent asks nobody; one that nobody
// heard otherwise waits for an answer. What speaks for an event of warmth goes on
// although its own cause is over.
func TestWhatAnAlarmAsks(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Station)
		after alarm.State
	}{
		{"heard", func(*Station) {}, alarm.Returned},
		{"silent", func(s *Station) { s.animal = AnimalIsOut }, alarm.Normal},
		{"out of service", func(s *Station) { s.outOfService = true }, alarm.Returned},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.animal = AnimalIsIn
		c.set(s)
		m := &s.marks[TooCold]
		s.acting, m.severity = 1<<TooCold, Warning
		s.tell(TooCold)
		s.acting, m.severity = 0, NoSeverity
		if s.tell(TooCold); m.alarm.State() != c.after {
			t.Errorf("%s: %v", c.name, m.alarm.State())
		}
	}
	// A note asks nobody; a warning and worse do, and so does what speaks for an
	// event of warmth.
	for _, c := range []struct {
		severity Severity
		warm     Cause
		speaks   bool
	}{{Note, NoCause, false}, {Warning, NoCause, true}, {HeatOff, NoCause, true}, {NoSeverity, OverBand, true}, {NoSeverity, UnaskedRise, false}} {
		s := newReady(t, tubSettings(), at(29.4)).s
		m := &s.marks[OverBand]
		if s.warm = c.warm; c.severity > NoSeverity {
			s.acting, m.severity = 1<<OverBand, c.severity
			if c.severity == Note {
				s.warm = UnaskedRise // another one speaks
			}
		}
		if s.tell(OverBand); (m.alarm.Beneath() == alarm.Unacknowledged) != c.speaks {
			t.Errorf("%+v: %v", c, m.alarm.State())
		}
	}
	s := newReady(t, tubSettings(), at(29.4)).s
	// NoCause never has an alarm.
	s.warm = NoCause
	if s.tell(NoCause); s.marks[NoCause].alarm.State() != alarm.Normal {
		t.Error("no cause has an alarm")
	}
}

// A change of an alarm is told once, with what it was and what it is.
func TestAlarmChangesAreToldOnce(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.animal = AnimalIsIn
	m := &s.marks[TooCold]
	s.acting, m.severity, m.probe, m.value = 1<<TooCold, Warning, 1, at(26)
	s.out.Events = s.out.Events[:0]
	s.tell(TooCold)
	s.tell(TooCold)
	if len(s.out.Events) != 1 {
		t.Fatalf("%d events", len(s.out.Events))
	}
	if e := s.out.Events[0]; e.Kind != AlarmChanged || e.Cause != TooCold || alarm.State(e.From) != alarm.Normal || alarm.State(e.To) != alarm.Unacknowledged || e.Probe != 1 || e.Value != at(26) {
		t.Errorf("%+v", e)
	}
	if !s.alive.has(TooCold) {
		t.Error("an alarm that waits for an answer needs no attention")
	}
	s.acting = 0
	s.tell(TooCold)
	m.alarm.Acknowledge()
	s.report(TooCold)
	if s.alive.has(TooCold) || len(s.out.Events) != 3 {
		t.Errorf("alive %b, %d events", s.alive, len(s.out.Events))
	}
}
