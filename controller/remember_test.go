package controller

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// kept states at their bounds: what a station can have is taken and given back
// to the byte, what none can have is refused.
func TestSavedStatesAtTheirBounds(t *testing.T) {
	const century2 = 200 * 365 * 24 * time.Hour
	for _, c := range []struct {
		name string
		set  func(*Station)
		ok   bool
	}{
		{"nothing", func(*Station) {}, true},
		{"a span of nothing", func(s *Station) { s.onTime = 0 }, true},
		{"the longest span", func(s *Station) { s.onTime = century2 - 1 }, true},
		{"a longer one", func(s *Station) { s.onTime = century2 }, false},
		{"a negative one", func(s *Station) { s.onTime = -1 }, false},
		{"a page reset of a day", func(s *Station) { s.resets[1] = 24 * time.Hour }, true},
		{"of longer", func(s *Station) { s.resets[1] = 24*time.Hour + 1 }, false},
		{"two extensions", func(s *Station) { s.extensions = 2 }, true},
		{"three", func(s *Station) { s.extensions = 3 }, false},
		{"an animal that is out", func(s *Station) { s.animal = AnimalIsOut }, true},
		{"one that is nowhere", func(s *Station) { s.animal = AnimalIsOut + 1 }, false},
		{"warmth that speaks", func(s *Station) { s.warm, s.warmFor = OverBand, 30*time.Minute }, true},
		{"without a time left", func(s *Station) { s.warm = UnaskedRise }, true},
		{"for longer", func(s *Station) { s.warm, s.warmFor = OverBand, 30*time.Minute+1 }, false},
		{"a time without warmth", func(s *Station) { s.warmFor = 1 }, false},
		{"cold that speaks of warmth", func(s *Station) { s.warm = TooCold }, false},
		{"a floor too hot two hours ago", func(s *Station) { s.floorAgain = 2 * time.Hour }, true},
		{"longer ago", func(s *Station) { s.floorAgain = 2*time.Hour + 1 }, false},
		{"water that is gone", func(s *Station) { s.gone = NoWater }, true},
		{"a probe that jumped out of it", func(s *Station) { s.gone = ProbeJumped }, true},
		{"gone for another cause", func(s *Station) { s.gone = TooCold }, false},
		{"acting", func(s *Station) { s.acting = 1 << TooCold; s.marks[TooCold].severity = Warning }, true},
		{"acting without a severity", func(s *Station) { s.acting = 1 << TooCold }, false},
		{"a severity without acting", func(s *Station) { s.marks[TooCold].severity = Warning }, false},
		{"latched", func(s *Station) { s.latched = 1 << OverCutoff; s.marks[OverCutoff].severity = Trip }, true},
		{"latched with less than a trip", func(s *Station) { s.latched = 1 << OverCutoff; s.marks[OverCutoff].severity = HeatOff }, false},
		{"a trip that is not latched", func(s *Station) { s.acting = 1 << OverCutoff; s.marks[OverCutoff].severity = Trip }, false},
		{"latched on what does not latch", func(s *Station) { s.latched = 1 << TooCold; s.marks[TooCold].severity = Trip }, false},
		{"the last cause acts", func(s *Station) { s.acting = 1 << DoorOpened; s.marks[DoorOpened].severity = HeatOff }, true},
		{"a cause past the last", func(s *Station) { s.acting = 1 << causeCount }, false},
		{"no cause acts", func(s *Station) { s.acting = 1 << NoCause; s.marks[NoCause].severity = Note }, false},
		{"the last probe", func(s *Station) {
			s.acting = 1 << TooCold
			s.marks[TooCold].severity = Warning
			s.marks[TooCold].probe = 31
		}, true},
		{"a probe past the last", func(s *Station) {
			s.acting = 1 << TooCold
			s.marks[TooCold].severity = Warning
			s.marks[TooCold].probe = 32
		}, false},
		{"grace used up", func(s *Station) { s.marks[TooCold].held = time.Second }, true},
	} {
		s, err := New(tubSettings())
		if err != nil || s.Restore(nil) != nil {
			t.Fatal(err)
		}
		c.set(s)
		b := s.Save()
		n, err := restored(t, tubSettings(), b)
		if (err == nil) != c.ok {
			t.Errorf("%s: %v", c.name, err)
		}
		if err == nil && !bytes.Equal(n.Save(), b) {
			t.Errorf("%s: other bytes come back", c.name)
		}
		if err != nil && (!errors.Is(err, ErrForeign) || n.latched == 0) {
			t.Errorf("%s: refused and not latched", c.name)
		}
		if c.ok && n.worn.has(TooCold) != (s.marks[TooCold].held > 0) {
			t.Errorf("%s: used-up grace is forgotten", c.name)
		}
	}
}

// Bytes that are not a whole saved state are refused, wherever they were cut.
func TestSavedBytesThatWereCut(t *testing.T) {
	sum := func(b []byte) []byte { return binary.LittleEndian.AppendUint32(bytes.Clone(b), crc32.ChecksumIEEE(b)) }
	for _, set := range []Settings{tubSettings(), chamberSettings()} {
		s, err := New(set)
		if err != nil {
			t.Fatal(err)
		}
		whole := s.Save()
		body := whole[:len(whole)-4]
		if _, err := restored(t, set, sum(body)); err != nil {
			t.Fatal(err)
		}
		for n := 0; n < len(body); n++ {
			if n > 60 && n < len(body)-40 {
				n += 36
			}
			if _, err := restored(t, set, sum(body[:n])); err == nil {
				t.Fatalf("cut to %d of %d bytes and taken", n, len(body))
			}
			if _, err := restored(t, set, whole[:n]); err == nil {
				t.Fatalf("cut to %d of %d bytes and taken", n, len(whole))
			}
		}
		if _, err := restored(t, set, sum(append(bytes.Clone(body), 0))); err == nil {
			t.Error("a byte more was taken")
		}
		for _, i := range []int{0, len(saveMagic), len(saveMagic) + 1} {
			b := bytes.Clone(body)
			b[i] ^= 0x40
			if _, err := restored(t, set, sum(b)); err == nil {
				t.Errorf("byte %d changed and taken", i)
			}
		}
	}
	// A chamber has no observer, so no bytes of one.
	s, err := New(chamberSettings())
	if err != nil {
		t.Fatal(err)
	}
	b := s.Save()
	b = b[:len(b)-8]
	b = append(binary.LittleEndian.AppendUint32(b, 1), 7)
	if _, err := restored(t, chamberSettings(), sum(b)); err == nil {
		t.Error("an observer in a chamber was taken")
	}
}

// The view speaks in the units that it says.
func TestViewSpeaksInItsUnits(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.4))
	v := r.s.View()
	if math.Abs(float64(v.GainPerHour-2124*MilliKelvin)) > 1000 || v.GainTrusted || v.Coast != 135*time.Second {
		t.Errorf("gain %d nK/h, trusted %v, coast %s", v.GainPerHour, v.GainTrusted, v.Coast)
	}
	if v.Widened || v.PageResetsLeft != 3 || v.Attended || v.AttendedLeft != 0 {
		t.Errorf("%+v", v)
	}
	r.step(hands(BeginAttended))
	r.steps(60)
	if v = r.s.View(); !v.Attended || v.AttendedLeft != 29*time.Minute || !v.Widened || v.PresenceLeft != 30*time.Minute {
		t.Errorf("%+v", v)
	}
	r.step(hands(ExtendAttended))
	if v = r.s.View(); v.AttendedLeft != 59*time.Minute-time.Second || v.Extensions != 1 {
		t.Errorf("%+v", v)
	}
	if v = newReady(t, chamberSettings(), at(50)).s.View(); v.Coast != 2*time.Minute || v.GainPerHour != 0 {
		t.Errorf("a chamber: %+v", v)
	}
	// A cause began so long ago as it has acted.
	r = newReady(t, tubSettings(), at(26))
	r.steps(80)
	began := r.s.Cause(TooCold).Since
	r.steps(30)
	if st := r.s.Cause(TooCold); !st.Acting || st.Since != began || st.Since > r.now-30*time.Second {
		t.Errorf("too cold since %s, now is %s", st.Since, r.now)
	}
	if st := r.s.Cause(OverCutoff); st.Since != 0 {
		t.Errorf("what does not act began at %s", st.Since)
	}
	for probe, want := range map[int8]int{0: 0, 1: 1, 2: -1, -1: -1} {
		r.s.marks[TooCold].probe = probe
		if got := r.s.Cause(TooCold).Probe; got != want {
			t.Errorf("probe %d is shown as %d", probe, got)
		}
	}
}

// What a reset answers beside its latch: the level that was looked at, the
// warmth that spoke, the time of heat, the proof of the water.
func TestWhatAResetAnswers(t *testing.T) {
	latched := func(c Cause, set func(*Station)) *Station {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.latched, s.acting = 1<<c|1<<ProbeSilent, 1<<c|1<<TooCold
		s.marks[c] = mark{severity: Trip, held: time.Minute, away: time.Second, age: time.Hour}
		if set != nil {
			set(s)
		}
		s.release(c)
		return s
	}
	s := latched(OverBand, func(s *Station) { s.warm, s.warmFor = OverBand, time.Minute })
	if s.latched != 1<<ProbeSilent || s.acting != 1<<TooCold || s.warm != NoCause || s.warmFor != 0 {
		t.Errorf("latched %b, acting %b, %s speaks", s.latched, s.acting, s.warm)
	}
	if m := s.marks[OverBand]; m.severity != NoSeverity || m.held != 0 || m.away != 0 || m.age != 0 {
		t.Errorf("%+v", m)
	}
	if s = latched(OverBand, func(s *Station) { s.warm = UnaskedRise }); s.warm != UnaskedRise {
		t.Error("another event was ended")
	}
	if s = latched(OnTooLong, func(s *Station) { s.onTime = 9 * time.Hour }); s.onTime != 0 {
		t.Error("the time of heat goes on")
	}
	if s = latched(NoWater, nil); s.waterFits || s.stage == StageDone {
		t.Error("the water counts as proven")
	}
	for seen, gone := range map[Seen]Cause{SeenLevel: NoCause, SeenLevel | SeenPad: NoCause, SeenPad: NoWater, 0: NoWater} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.gone = NoWater
		s.count(&Act{Place: Board, Seen: seen})
		if s.gone != gone || s.pageResetsLeft() != 3 {
			t.Errorf("seen %04b: gone %s, %d page resets left", seen, s.gone, s.pageResetsLeft())
		}
	}
}

// Whether a cause is still there: what cannot be seen counts as there.
func TestWhatPersists(t *testing.T) {
	line := at(29.4) + 280*physic.MilliKelvin
	for _, c := range []struct {
		name  string
		cause Cause
		set   func(*Station)
		there bool
	}{
		{"water back from an unasked rise", UnaskedRise, func(s *Station) { s.water.hottest = line }, false},
		{"a hair warmer", UnaskedRise, func(s *Station) { s.water.hottest = line + 1 }, true},
		{"blind", UnaskedRise, func(s *Station) { s.water.hottest, s.water.count = line, 0 }, true},
		{"blind, over the cutoff", OverCutoff, func(s *Station) { s.water.count = 0 }, true},
		{"blind, over the band", OverBand, func(s *Station) { s.water.count = 0 }, true},
		{"blind, and nothing about water", SeriesWelded, func(s *Station) { s.water.count = 0 }, false},
		{"no rise", NoRise, func(s *Station) { s.acting, s.present = 1<<NoRise, 1<<NoRise }, false},
		{"acting", SeriesWelded, func(s *Station) { s.acting = 1 << SeriesWelded }, true},
		{"present", SeriesWelded, func(s *Station) { s.present = 1 << SeriesWelded }, true},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.acting, s.present = 0, 0
		if c.set(s); s.persists(c.cause) != c.there {
			t.Errorf("%s: persists %v", c.name, !c.there)
		}
	}
	line = at(57)
	for _, c := range []struct {
		name  string
		cause Cause
		set   func(*Station)
		there bool
	}{
		{"cool", UnaskedRise, func(*Station) {}, false},
		{"at the line", UnaskedRise, func(s *Station) { s.probes[1].last.Value = line }, false},
		{"a hair over it", UnaskedRise, func(s *Station) { s.probes[1].last.Value = line + 1 }, true},
		{"it rises", UnaskedRise, func(s *Station) { s.present = 1 << UnaskedRise }, true},
		{"no reading counts", UnaskedRise, func(s *Station) {
			for i := range s.probes {
				s.probes[i].doubt = true
			}
		}, true},
		{"hot, another cause", SeriesWelded, func(s *Station) { s.probes[1].last.Value = line + 1 }, false},
	} {
		s := newReady(t, chamberSettings(), at(30)).s
		s.acting, s.present = 0, 0
		if c.set(s); s.persists(c.cause) != c.there {
			t.Errorf("chamber, %s: persists %v", c.name, !c.there)
		}
	}
}

// The observer is told what this station did and believes.
func TestWhatTheObserverIsTold(t *testing.T) {
	for _, c := range []struct {
		name             string
		set              func(*ready)
		series, believed bool
	}{
		{"both closed", func(r *ready) { r.s.command = Command{Pad: true, Series: true} }, true, true},
		{"another station holds it open", func(r *ready) { r.s.command = Command{Pad: true, Series: true}; r.in.Health.SharedTrip = true }, false, true},
		{"open", func(r *ready) { r.s.command = Command{Pad: true} }, false, true},
		{"before the probes agreed", func(r *ready) { r.s.begin = false }, false, false},
		{"no reading at all", func(r *ready) { r.in.Readings[0] = Reading{}; r.s.sense(&r.in) }, false, false},
		{"it jumped", func(r *ready) { r.s.look.facts.Jumped = observer.Control; r.s.look.probes = true }, false, false},
		{"it is frozen", func(r *ready) { r.s.look.facts.Frozen = observer.Control; r.s.look.probes = true }, false, false},
		{"another is frozen", func(r *ready) { r.s.look.facts.Frozen = observer.Guard; r.s.look.probes = true }, false, true},
	} {
		r := newReady(t, withFloor(), at(29.4))
		r.s.command = Command{}
		c.set(r)
		r.s.watch(&r.in)
		if o := r.s.tells; o.Series != c.series || o.Probes[observer.Control].Valid && o.Probes[observer.Control].Believed != c.believed || o.Pad != r.s.command.Pad {
			t.Errorf("%s: %+v", c.name, o)
		}
	}
}

// The cooler of two probes that differ is disbelieved, and believed again when
// they agree; the mean is mixed anew both times.
func TestCoolerOfTwoThatDifferIsDisbelieved(t *testing.T) {
	for _, c := range []struct {
		control, guard float64
		doubted        int
	}{{29.4, 29, 1}, {29, 29.4, 0}, {29, 29, 0}} {
		r := newReady(t, tubSettings(), at(29.4))
		s := r.s
		s.probes[0].last.Value, s.probes[1].last.Value = at(c.control), at(c.guard)
		s.look.facts.Differ = true
		s.disbelieve()
		if s.probes[0].doubt != (c.doubted == 0) || s.probes[1].doubt != (c.doubted == 1) || s.water.count != 1 || !s.doubts {
			t.Errorf("%+v: %v %v, %d believed", c, s.probes[0].doubt, s.probes[1].doubt, s.water.count)
		}
		s.look.facts.Differ = false
		s.disbelieve()
		if s.probes[0].doubt || s.probes[1].doubt || s.water.count != 2 || s.doubts {
			t.Errorf("%+v: still disbelieved", c)
		}
	}
	for _, set := range []func(*observer.Findings){
		func(f *observer.Findings) { f.Jumped = observer.Guard }, func(f *observer.Findings) { f.Frozen = observer.Guard },
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		set(&s.look.facts)
		if s.disbelieve(); !s.probes[1].doubt || s.probes[0].doubt || s.water.count != 1 {
			t.Error("a probe that was found out is believed, or another is not")
		}
	}
	one := tubSettings()
	one.Probes = one.Probes[:1]
	s := newReady(t, one, at(29.4)).s
	s.look.facts.Differ = true
	if s.disbelieve(); s.probes[0].doubt {
		t.Error("the only probe differs from nothing")
	}
}
