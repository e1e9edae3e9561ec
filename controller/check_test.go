package controller

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// TestHardBounds holds New against the bounds that no settings pass: each at
// its bound and just past it.
func TestHardBounds(t *testing.T) {
	const step = 2 * physic.MilliKelvin
	cases := []struct {
		name string
		set  func(*Settings)
		says string // empty: accepted
	}{
		{"as it is", func(*Settings) {}, ""},
		{"set point at 90 °F", func(s *Settings) { s.SetPoint, s.Cutoff = at(32.222), at(33.6) }, ""},
		{"set point over 90 °F", func(s *Settings) { s.SetPoint, s.Cutoff = at(32.222)+step, at(33.9) }, "set point"},
		{"set point missing", func(s *Settings) { s.SetPoint = 0 }, "set point"},
		{"cutoff at 34 °C", func(s *Settings) { s.Cutoff = at(34) }, ""},
		{"cutoff over 34 °C", func(s *Settings) { s.Cutoff = at(34) + 1 }, "cutoff"},
		{"cutoff 1.2 K above", func(s *Settings) { s.Cutoff = s.SetPoint + 1200*physic.MilliKelvin }, ""},
		{"cutoff closer", func(s *Settings) { s.Cutoff = s.SetPoint + 1200*physic.MilliKelvin - 1 }, "cutoff"},
		{"differential 0.2 K", func(s *Settings) { s.Differential = 200 * MilliKelvin }, ""},
		{"differential narrower", func(s *Settings) { s.Differential = 200*MilliKelvin - 1 }, "differential"},
		{"too cold at the set point", func(s *Settings) { s.TooCold = s.SetPoint }, "too cold"},
		{"too cold missing", func(s *Settings) { s.TooCold = 0 }, "too cold"},
		{"floor bound over 35 °C", func(s *Settings) { s.FloorBound = at(35) + 1 }, "floor"},
		{"no pad relay", func(s *Settings) { s.HasPad = false }, "pad relay"},
		{"no gain", func(s *Settings) { s.Limits.GainPerHour = 0 }, "gain"},
		{"gain beyond any tub", func(s *Settings) { s.Limits.GainPerHour = 1000 * Kelvin }, "gain"},
		{"negative loss", func(s *Settings) { s.Limits.LossPerHour = -1 }, "loss"},
		{"no longest heat", func(s *Settings) { s.Limits.LongestOn = 0 }, "longest"},
		{"no probe", func(s *Settings) { s.Probes = nil }, "control"},
		{"a probe of a chamber", func(s *Settings) { s.Probes = append(s.Probes, ProbeSettings{Role: RoleCore}) }, "role"},
		{"two control probes", func(s *Settings) { s.Probes = append(s.Probes, ProbeSettings{Role: RoleControl}) }, "same role"},
		{"too many probes", func(s *Settings) { s.Probes = make([]ProbeSettings, 33) }, "at most"},
		{"nothing", func(s *Settings) { *s = Settings{} }, "tub or a chamber"},
	}
	for _, c := range cases {
		set := tubSettings()
		c.set(&set)
		s, err := New(set)
		switch {
		case c.says == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.says != "" && (err == nil || s != nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%s: accepted, or refused without a word about %q: %v", c.name, c.says, err)
		}
	}
	chambers := []struct {
		name string
		set  func(*Settings)
		says string
	}{
		{"as it is", func(*Settings) {}, ""},
		{"target at 65 °C, limit at 75 °C", func(s *Settings) { s.SetPoint, s.Limit = at(65), at(75) }, ""},
		{"target over 65 °C", func(s *Settings) { s.SetPoint, s.Limit = at(65)+1, at(75) }, "target"},
		{"limit over 75 °C", func(s *Settings) { s.Limit = at(75) + 1 }, "limit"},
		{"limit at the target", func(s *Settings) { s.Limit = s.SetPoint }, "limit"},
		{"narrow differential", func(s *Settings) { s.Differential = 0 }, "differential"},
		{"no heat relay", func(s *Settings) { s.HasPad = false }, "heat relay"},
		{"no probe", func(s *Settings) { s.Probes = nil }, "probes"},
		{"a probe of a tub", func(s *Settings) { s.Probes[0].Role = RoleFloor }, "role"},
	}
	for _, c := range chambers {
		set := chamberSettings()
		c.set(&set)
		_, err := New(set)
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("chamber, %s: %v, want a word about %q", c.name, err, c.says)
		}
	}
}

func TestForgottenValuesAreTheSafeOnes(t *testing.T) {
	set := tubSettings()
	set.RampPerHour, set.FloorBound, set.MinOn, set.MinOff, set.Limits.Coast = 50*Kelvin, 0, -time.Second, 0, 0
	s, err := New(set)
	if err != nil {
		t.Fatal(err)
	}
	if got := s.set; got.RampPerHour != 2*Kelvin || got.FloorBound != at(35) || got.MinOn != time.Minute || got.MinOff != time.Minute || got.Limits.Coast != 2*time.Minute {
		t.Errorf("defaults: ramp %d, floor %s, on %v, off %v, coast %v", got.RampPerHour, got.FloorBound, got.MinOn, got.MinOff, got.Limits.Coast)
	}
	if s.latched == 0 {
		t.Error("a station that was never restored is not latched")
	}
	out := s.Step(&Input{Now: time.Second})
	if out.Command != (Command{}) || out.Permitted || out.Reason == NoCause || out.Governing != -1 {
		t.Errorf("an empty input gave %+v", out)
	}
	// Health that claims nothing and readings that do not exist heat nothing,
	// however long.
	b := newBench(tubSettings(), 20)
	b.in.Health = Health{}
	b.in.Readings = nil
	for range 3600 {
		b.now += time.Second
		b.in.Now = b.now
		if out := b.station.Step(&b.in); out.Command != (Command{}) || out.Permitted {
			t.Fatalf("%v: %+v", b.now, out)
		}
	}
}

func TestTheClockMayNotRunBackward(t *testing.T) {
	b := newBench(tubSettings(), 28)
	b.tick()
	defer func() {
		if r := recover(); r == nil {
			t.Error("a clock that ran backward was accepted")
		}
	}()
	b.in.Now -= time.Millisecond
	b.station.Step(&b.in)
}
