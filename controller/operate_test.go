package controller

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// stale keeps what was learned out of the operating control's way.
func (r *ready) stale(early physic.Temperature) {
	r.s.look.ask, r.s.look.early = r.now+time.Hour, early
}

// The water is held between half a differential under and over the set point:
// both ends switch, what lies between leaves things as they are, and what is
// still under way in the pad brings the upper end down.
func TestOperatingControlSwitchesAtItsEnds(t *testing.T) {
	const half = 140 * physic.MilliKelvin
	for _, c := range []struct {
		name  string
		water physic.Temperature
		early physic.Temperature
		was   bool
		wants bool
	}{
		{"at the lower end", at(29.4) - half, 0, false, true},
		{"a hair over it", at(29.4) - half + 1, 0, false, false},
		{"between, heated", at(29.4), 0, true, true},
		{"between, not heated", at(29.4), 0, false, false},
		{"a hair under the upper end", at(29.4) + half - 1, 0, true, true},
		{"at it", at(29.4) + half, 0, true, false},
		{"early by 0.1 K", at(29.4) + half - 100*physic.MilliKelvin, 100 * physic.MilliKelvin, true, false},
		{"a hair before that", at(29.4) + half - 100*physic.MilliKelvin - 1, 100 * physic.MilliKelvin, true, true},
	} {
		r := newReady(t, tubSettings(), at(29.4))
		r.step(hands(AnimalOut)) // no ramp
		r.set(0, c.water)
		r.set(1, c.water)
		r.stale(c.early)
		r.s.run.wants = c.was
		if r.step(); r.s.run.wants != c.wants {
			t.Errorf("%s: wants heat %v", c.name, r.s.run.wants)
		}
	}
	// The hotter of two probes governs.
	r := newReady(t, tubSettings(), at(29.4))
	r.step(hands(AnimalOut))
	r.set(0, at(29.2))
	r.set(1, at(29.55))
	r.s.run.wants = true
	if r.stale(0); r.step().Governing != 1 || r.s.run.wants {
		t.Errorf("governed by %d, wants heat %v", r.out.Governing, r.s.run.wants)
	}
}

// With an animal in or perhaps in the set point that governs starts at the
// water, climbs 2 K an hour, is never 0.6 K ahead of the water nor over the set
// point; with the animal out it is the set point.
func TestEffectiveSetPointClimbs(t *testing.T) {
	r := newReady(t, tubSettings(), at(26))
	from := r.out.Effective
	if from < at(26) || from > at(26)+5*2*physic.Kelvin/3600 {
		t.Errorf("it starts at %s", from)
	}
	r.steps(900)
	if want := from + physic.Kelvin/2; r.out.Effective < want-1000 || r.out.Effective > want+1000 {
		t.Errorf("a quarter of an hour later it stands at %s, want %s", r.out.Effective, want)
	}
	r.steps(900)
	if r.out.Effective != at(26.6) {
		t.Errorf("water that stays behind is overtaken: %s", r.out.Effective)
	}
	r.set(0, at(29.3))
	r.set(1, at(29.3))
	if r.step(); r.out.Effective != at(29.3) {
		t.Errorf("water that is warmer: %s", r.out.Effective)
	}
	r.steps(600)
	if r.out.Effective != at(29.4) {
		t.Errorf("over the set point: %s", r.out.Effective)
	}
	r = newReady(t, tubSettings(), at(26))
	if r.step(hands(AnimalOut)); r.out.Effective != at(29.4) {
		t.Errorf("with the animal out: %s", r.out.Effective)
	}
	if r.step(hands(AnimalIn)); r.out.Effective != at(26.6) {
		t.Errorf("with the animal in again: %s", r.out.Effective)
	}
}

// Ready is ten minutes within the differential and 0.16 K, the probes believed
// and within 0.45 K of each other; it is lost a minute after the water was 0.6 K
// off.
func TestReadyAtItsBounds(t *testing.T) {
	const width = 300 * physic.MilliKelvin
	for _, c := range []struct {
		name           string
		control, guard physic.Temperature
		ready          bool
	}{
		{"at the upper end", at(29.4) + width, at(29.4) + width, true},
		{"a hair over it", at(29.4) + width + 1, at(29.4) + width + 1, false},
		{"at the lower end", at(29.4) - width, at(29.4) - width, true},
		{"a hair under it", at(29.4) - width - 1, at(29.4) - width - 1, false},
		{"0.45 K apart", at(29.4), at(28.95), true},
		{"a hair further apart", at(29.4), at(28.95) - 1, false},
	} {
		r := newReady(t, tubSettings(), at(29.4))
		r.s.readyAt, r.s.run.inBand = 0, 0
		r.set(0, c.control)
		r.set(1, c.guard)
		for n := 1; n <= 600; n++ {
			r.s.run.outOfBand = 0
			if r.step(); (r.s.readyAt != 0) != (c.ready && n == 600) {
				t.Errorf("%s: ready %v after %d s", c.name, r.s.readyAt != 0, n)
				break
			}
		}
		if c.ready {
			if r.s.readyAt != r.now {
				t.Errorf("%s: ready since %s, now is %s", c.name, r.s.readyAt, r.now)
			}
			at := r.s.readyAt
			if r.step(); r.s.readyAt != at {
				t.Errorf("%s: it became ready again", c.name)
			}
		}
	}
	// A second out of band begins the ten minutes anew.
	r := newReady(t, tubSettings(), at(29.4))
	r.s.readyAt, r.s.run.inBand = 0, 0
	r.steps(500)
	r.s.water.coldest = 0
	r.s.readiness()
	r.steps(599)
	if r.s.readyAt != 0 {
		t.Error("two stretches in band were added up")
	}
	for _, c := range []struct {
		water physic.Temperature
		lost  bool
	}{
		{at(28.8), false}, {at(28.8) - 1, true}, {at(30.0), false}, {at(30.0) + 1, true},
	} {
		r := newReady(t, tubSettings(), at(29.4))
		r.s.readyAt = 1
		r.set(0, c.water)
		r.set(1, c.water)
		for n := 1; n <= 70; n++ {
			if r.step(); (r.s.readyAt == 0) != (c.lost && n >= 60) {
				t.Errorf("%s: ready %v after %d s", c.water, r.s.readyAt != 0, n)
				break
			}
		}
	}
	// One probe that is not believed is no agreement.
	r = newReady(t, tubSettings(), at(29.4))
	if !r.s.agreeing() {
		t.Error("two believed probes do not agree")
	}
	if r.s.water.count = 1; r.s.agreeing() {
		t.Error("one of two is enough")
	}
	one := tubSettings()
	one.Probes = one.Probes[:1]
	if r = newReady(t, one, at(29.4)); !r.s.agreeing() {
		t.Error("the only probe does not agree with itself")
	}
}

// A chamber's air is held half a differential about the target; its hottest air
// probe governs, the hottest of all when none is in the air.
func TestChamberSwitchesAtItsEnds(t *testing.T) {
	const half = 500 * physic.MilliKelvin
	for _, c := range []struct {
		name  string
		air   physic.Temperature
		was   bool
		wants bool
	}{
		{"at the lower end", at(56) - half, false, true}, {"a hair over it", at(56) - half + 1, false, false},
		{"a hair under the upper end", at(56) + half - 1, true, true}, {"at it", at(56) + half, true, false},
	} {
		r := newReady(t, chamberSettings(), at(56))
		r.set(2, c.air)
		r.s.run.wants = c.was
		if r.step(); r.s.run.wants != c.wants {
			t.Errorf("%s: wants heat %v", c.name, r.s.run.wants)
		}
	}
	for _, c := range []struct{ target, used physic.Temperature }{
		{at(56), at(56)}, {at(56) - 1, at(56) - 1}, {at(56) + 1, at(56)}, {0, at(56)}, {-1, at(56)}, {1, 1},
	} {
		r := newReady(t, chamberSettings(), at(50))
		r.in.Treatment.Target = c.target
		if r.step(); r.out.Effective != c.used || c.target <= 0 && r.s.run.wants {
			t.Errorf("a target of %d: %s, wants heat %v", c.target, r.out.Effective, r.s.run.wants)
		}
	}
	set := chamberSettings()
	set.Probes = []ProbeSettings{{Role: RoleAir}, {Role: RoleCore}, {Role: RoleAir}, {Role: RoleAir}}
	for _, c := range []struct {
		values [4]float64
		want   int
	}{
		{[4]float64{50, 60, 49, 48}, 0}, {[4]float64{48, 60, 50, 49}, 2}, {[4]float64{48, 60, 49, 50}, 3}, {[4]float64{50, 60, 50, 50}, 0},
	} {
		r := newReady(t, set, at(50))
		for i, v := range c.values {
			r.set(i, at(v))
		}
		if r.step(); r.out.Governing != c.want {
			t.Errorf("%v: governed by %d, want %d", c.values, r.out.Governing, c.want)
		}
		if hot := r.s.hottestOfAll(); hot != 1 {
			t.Errorf("%v: the hottest of all is %d", c.values, hot)
		}
		r.in.Readings[0], r.in.Readings[2], r.in.Readings[3] = Reading{}, Reading{}, Reading{}
		if r.steps(70); r.out.Governing != 1 {
			t.Errorf("without air: governed by %d", r.out.Governing)
		}
	}
	r := newReady(t, chamberSettings(), at(50))
	if hot := r.s.hottestOfAll(); hot != 0 {
		t.Errorf("of equally hot ones %d", hot)
	}
}

// The least times between switchings bind the operating control and nothing
// else.
func TestLeastTimesBindTheOperatingControl(t *testing.T) {
	for _, c := range []struct {
		name               string
		on, want, proof    bool
		since              time.Duration
		heated, switchesTo bool
	}{
		{"off too soon", true, false, false, 90*time.Second - 1, true, true},
		{"off in time", true, false, false, 90 * time.Second, true, false},
		{"on too soon", false, true, false, 150*time.Second - 1, true, false},
		{"on in time", false, true, false, 150 * time.Second, true, true},
		{"the first heat", false, true, false, 0, false, true},
		{"a proof, off", true, false, true, 0, true, false},
		{"a proof, on", false, true, true, 0, true, true},
		{"on stays on", true, true, false, 0, true, true},
		{"off stays off", false, false, false, 0, true, false},
	} {
		set := tubSettings()
		set.MinOn, set.MinOff = 90*time.Second, 150*time.Second
		s := newReady(t, set, at(29.4)).s
		s.command.Pad, s.run.since, s.run.heated = c.on, c.since, c.heated
		if got := s.switched(c.want, c.proof); got != c.switchesTo {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	// Time between switchings is counted, and begins anew with each.
	r := newReady(t, tubSettings(), at(29.4))
	r.step(hands(AnimalOut))
	r.stale(0)
	r.set(0, at(29.2))
	r.set(1, at(29.2))
	r.step()
	if !r.out.Command.Pad {
		t.Fatal("no first heat")
	}
	r.set(0, at(29.6))
	r.set(1, at(29.6))
	for n := 1; n <= 61; n++ {
		if r.stale(0); r.step().Command.Pad != (n < 60) {
			t.Fatalf("heat %v, %d s after it began", r.out.Command.Pad, n)
		}
	}
	r.set(0, at(29.2))
	r.set(1, at(29.2))
	for n := 2; n <= 61; n++ {
		if r.stale(0); r.step().Command.Pad != (n >= 60) {
			t.Fatalf("heat %v, %d s after it ended", r.out.Command.Pad, n)
		}
	}
}

// The fan of a chamber runs with the treatment and ten minutes after it.
func TestFanRunsOn(t *testing.T) {
	r := newReady(t, chamberSettings(), at(50))
	r.in.Treatment.Running = false
	for n := 1; n <= 610; n++ {
		if r.step(); r.out.Command.Fan != (n <= 600) {
			t.Fatalf("the fan runs %v, %d s after the treatment", r.out.Command.Fan, n)
		}
	}
	set := chamberSettings()
	set.HasFan = false
	if r = newReady(t, set, at(50)); r.out.Command.Fan {
		t.Error("a fan that is not there runs")
	}
}

// Events tell of every change of the commands once, and of nothing else; those
// about no probe say −1.
func TestEventsOfCommands(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.2))
	r.step(hands(AnimalOut))
	r.stale(0)
	count := func(k EventKind) (n int) {
		for _, e := range r.out.Events {
			if e.Kind == k {
				if n++; (k == SeriesSwitched || k == ModeChange || k == ActDone || k == ActRefused) && e.Probe != -1 {
					t.Errorf("%s is about probe %d", k, e.Probe)
				}
			}
		}
		return n
	}
	heat := r.out.Command.Heat(true)
	first := 0
	for n := range 400 {
		v := at(29.2)
		if n/100%2 == 0 {
			v = at(29.6)
		}
		r.set(0, v)
		r.set(1, v)
		series := r.out.Command.Series
		r.stale(0)
		r.step()
		now := r.out.Command
		if got, want := count(HeatSwitched), b2i(now.Heat(true) != heat); got != want {
			t.Fatalf("step %d: %d events of heat, want %d", n, got, want)
		}
		if got, want := count(SeriesSwitched), b2i(now.Series != series); got != want {
			t.Fatalf("step %d: %d events of the series relay, want %d", n, got, want)
		}
		first += count(FirstHeat)
		heat = now.Heat(true)
	}
	if first > 1 {
		t.Errorf("%d first heats", first)
	}
	r.step(hands(BeginAttended))
	if count(ModeChange) != 1 || count(ActDone) != 1 {
		t.Errorf("%+v", r.out.Events)
	}
	if r.step(hands(BeginAttended)); count(ActRefused) != 1 || count(ModeChange) != 0 {
		t.Errorf("%+v", r.out.Events)
	}
	r.step(Act{}, hands(EndAttended))
	if count(ActDone) != 1 {
		t.Errorf("an act after one that is none was not taken: %+v", r.out.Events)
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// The shared series relay must be open for hands, for proofs, for blindness of a
// minute, under a cause that opens every relay, and with the pad relay while it
// follows that one.
func TestWhenTheSharedRelayMustOpen(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(*Station)
		open bool
	}{
		{"nothing", func(*Station) {}, false},
		{"hands", func(s *Station) { s.attended = true }, true},
		{"its proof", func(s *Station) { s.trial.open = true }, true},
		{"blind for a minute", func(s *Station) { s.blind = time.Minute }, true},
		{"blind for less", func(s *Station) { s.blind = time.Minute - 1 }, false},
		{"latched and over", func(s *Station) { s.latched = 1 << RelayDisagrees; s.marks[RelayDisagrees].severity = Trip }, true},
		{"heat off on a cause of every relay", func(s *Station) { s.acting = 1 << OverBand; s.marks[OverBand].severity = HeatOff }, true},
		{"a warning on a cause of every relay", func(s *Station) { s.acting = 1 << UnaskedRise; s.marks[UnaskedRise].severity = Warning }, false},
		{"a trip on a cause of its own relays", func(s *Station) { s.latched = 1 << NoWater; s.marks[NoWater].severity = Trip }, false},
	} {
		r := newReady(t, tubSettings(), at(29.5))
		s := r.s
		s.command, s.tandem, s.latched, s.acting = Command{}, false, 0, 0
		if c.set(s); s.openShared() != c.open {
			t.Errorf("%s: open %v", c.name, !c.open)
		}
	}
	chamber := newReady(t, chamberSettings(), at(50))
	clear(chamber.in.Readings)
	for range 100 {
		chamber.step()
	}
	if chamber.s.blind != 0 {
		t.Error("a chamber has no water to be blind for")
	}
}

// What the last command let through: the pause that ends unbroken heat is two
// minutes, heat is warm for a coast and a minute after it, and relays count as
// open while both are.
func TestWhatFlowed(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	in := &Input{}
	second := func(c Command, shared bool) {
		s.dt = time.Second
		in.Health.SharedTrip = shared
		s.command = c
		s.idle()
		s.flow(in)
	}
	s.run.open, s.onTime, s.run.after, s.run.warm = 0, 0, 0, false
	for range 30 {
		second(Command{Pad: true, Series: true}, false)
	}
	if s.onTime != 30*time.Second || !s.run.warm || s.run.after != 0 || s.run.open != 0 {
		t.Errorf("30 s of heat: %s, warm %v, after %s, open %s", s.onTime, s.run.warm, s.run.after, s.run.open)
	}
	second(Command{Pad: true, Series: true}, true)
	if s.onTime != 30*time.Second || s.run.after != time.Second {
		t.Errorf("heat through a series relay that another holds open: %s", s.onTime)
	}
	for n := 2; n <= 200; n++ {
		second(Command{Series: n < 50}, false)
		if warm := n <= 90+60; s.run.warm != warm {
			t.Fatalf("warm %v, %d s after the heat", s.run.warm, n)
		}
		if on := n < 120; (s.onTime > 0) != on {
			t.Fatalf("%s of unbroken heat, %d s after it", s.onTime, n)
		}
		if want := time.Duration(max(0, n-49)) * time.Second; s.run.open != want {
			t.Fatalf("open for %s, want %s", s.run.open, want)
		}
	}
	if second(Command{Pad: true}, false); s.run.open != 0 {
		t.Error("a closed pad relay is open")
	}
	s.run.warm, s.run.after = false, 0
	if second(Command{}, false); s.run.warm {
		t.Error("warm without heat")
	}
}
