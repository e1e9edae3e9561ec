package controller

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// What lies on a bound of the settings is allowed, or is what a forgotten value
// becomes.
func TestSettingsOnTheirBounds(t *testing.T) {
	probes := func(n int, roles ...Role) (all []ProbeSettings) {
		for i := range n {
			all = append(all, ProbeSettings{Role: roles[i%len(roles)]})
		}
		return all
	}
	for _, c := range []struct {
		name    string
		chamber bool
		set     func(*Settings)
		says    string // empty: accepted; else with this word, and not with the next
		not     string
	}{
		{"set point at its most", false, func(s *Settings) { s.SetPoint, s.Cutoff = physic.ZeroCelsius+32223*physic.MilliKelvin, at(33.9) }, "", ""},
		{"set point a hair over it", false, func(s *Settings) { s.SetPoint, s.Cutoff = physic.ZeroCelsius+32223*physic.MilliKelvin+1, at(33.9) }, "set point", ""},
		{"set point of 0 °C", false, func(s *Settings) { s.SetPoint, s.TooCold = at(0), 1 }, "over 0 °C", ""},
		{"differential of 2 K", false, func(s *Settings) { s.Differential = 2 * Kelvin }, "", ""},
		{"differential a hair over", false, func(s *Settings) { s.Differential = 2*Kelvin + 1 }, "differential", ""},
		{"gain of nothing", false, func(s *Settings) { s.Limits.GainPerHour = 0 }, "must be over 0 K an hour", ""},
		{"no losses and no floor rise", false, func(s *Settings) { s.Limits.LossPerHour, s.Limits.FloorRise = 0, 0 }, "", ""},
		{"negative floor rise", false, func(s *Settings) { s.Limits.FloorRise = -1 }, "floor rise", ""},
		{"floor bound of 35 °C", false, func(s *Settings) { s.FloorBound = at(35) }, "", ""},
		{"too cold a hair under the set point", false, func(s *Settings) { s.TooCold = s.SetPoint - 1 }, "", ""},
		{"32 probes, most of one role", false, func(s *Settings) { s.Probes = probes(32, RoleControl, RoleGuard) }, "same role", "at most 32"},
		{"33 probes", false, func(s *Settings) { s.Probes = probes(33, RoleControl, RoleGuard) }, "at most 32", ""},
		{"chamber with 32 probes", true, func(s *Settings) { s.Probes = probes(32, RoleCore, RoleSurface, RoleAir) }, "", ""},
		{"chamber with 33 probes", true, func(s *Settings) { s.Probes = probes(33, RoleCore) }, "1 to 32", ""},
		{"chamber without a probe", true, func(s *Settings) { s.Probes = nil }, "1 to 32", ""},
		{"chamber with a differential of 0.2 K", true, func(s *Settings) { s.Differential = 200 * MilliKelvin }, "", ""},
		{"chamber a hair under", true, func(s *Settings) { s.Differential = 200*MilliKelvin - 1 }, "differential", ""},
		{"chamber heated to 0 °C", true, func(s *Settings) { s.SetPoint = at(0) }, "over 0 °C", ""},
		{"chamber heated to a hair more", true, func(s *Settings) { s.SetPoint = at(0) + 1 }, "", ""},
		{"freezer at −18 °C", true, func(s *Settings) { s.HasPad, s.HasSeries, s.SetPoint, s.Limit = false, false, at(-18), at(20) }, "", ""},
		{"freezer at nothing", true, func(s *Settings) { s.HasPad, s.HasSeries, s.SetPoint, s.Limit = false, false, 0, at(20) }, "target", ""},
		{"limit a hair over the target", true, func(s *Settings) { s.Limit = s.SetPoint + 1 }, "", ""},
		{"probes of every place of a chamber", true, func(s *Settings) { s.Probes = probes(3, RoleCore, RoleSurface, RoleAir) }, "", ""},
	} {
		set := tubSettings()
		if c.chamber {
			set = chamberSettings()
		}
		c.set(&set)
		_, err := New(set)
		if (err == nil) != (c.says == "") || err != nil && (!strings.Contains(err.Error(), c.says) || c.not != "" && strings.Contains(err.Error(), c.not)) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestWhatForgottenSettingsBecome(t *testing.T) {
	for _, c := range []struct{ ramp, want Difference }{{0, 2 * Kelvin}, {-1, 2 * Kelvin}, {1, 1}, {2 * Kelvin, 2 * Kelvin}, {2*Kelvin + 1, 2 * Kelvin}} {
		set := tubSettings()
		set.RampPerHour = c.ramp
		if s := newReady(t, set, at(29.4)).s; s.set.RampPerHour != c.want {
			t.Errorf("a ramp of %d becomes %d, want %d", c.ramp, s.set.RampPerHour, c.want)
		}
	}
	for _, c := range []struct{ is, want time.Duration }{{-1, time.Minute}, {0, time.Minute}, {1, 1}, {time.Hour, time.Hour}} {
		set := tubSettings()
		set.MinOn, set.MinOff, set.Limits.Coast = c.is, c.is, c.is
		coast := c.want
		if c.is <= 0 {
			coast = 2 * time.Minute
		} else if coast < time.Second {
			set.Limits.Coast, coast = time.Second, time.Second
		}
		if s := newReady(t, set, at(29.4)).s.set; s.MinOn != c.want || s.MinOff != c.want || s.Limits.Coast != coast {
			t.Errorf("%s becomes %s on, %s off, a coast of %s", c.is, s.MinOn, s.MinOff, s.Limits.Coast)
		}
	}
}

// One probe whose calibration is overdue is enough.
func TestOneOverdueCalibrationIsTold(t *testing.T) {
	for _, overdue := range [][2]bool{{}, {true, false}, {false, true}, {true, true}} {
		set := tubSettings()
		set.Probes = append([]ProbeSettings(nil), set.Probes...)
		set.Probes[0].Overdue, set.Probes[1].Overdue = overdue[0], overdue[1]
		r := newReady(t, set, at(29.4))
		if want := overdue[0] || overdue[1]; r.s.Cause(CalibrationOverdue).Acting != want {
			t.Errorf("overdue %v: told %v", overdue, !want)
		}
	}
}

// Probes may stand in any order.
func TestProbesInAnyOrder(t *testing.T) {
	set := tubSettings()
	set.Probes = []ProbeSettings{{Role: RoleFloor, Calibrated: true}, {Role: RoleRoom}, {Role: RoleGuard, Calibrated: true}, {Role: RoleControl, Calibrated: true}}
	r := newReady(t, set, at(29.4))
	if r.s.place != [3]int{3, 2, 0} || r.s.room != 1 || !r.s.fit {
		t.Errorf("places %v, room %d, fit to be left alone %v", r.s.place, r.s.room, r.s.fit)
	}
	if s := r.s; s.control != s.probes[3] || s.guard != s.probes[2] || s.floor != s.probes[0] || len(s.wet) != 2 {
		t.Errorf("control %d, guard %d, floor %d, %d in the water", s.control.index, s.guard.index, s.floor.index, len(s.wet))
	}
	set.Probes = []ProbeSettings{{Role: RoleFloor, Calibrated: true}, {Role: RoleControl, Calibrated: true}}
	if s := newReady(t, set, at(29.4)).s; s.control != s.probes[1] || s.floor != s.probes[0] || len(s.wet) != 1 || s.guard.recent() {
		t.Errorf("without a guard: control %d, floor %d, %d in the water, guard recent %v", s.control.index, s.floor.index, len(s.wet), s.guard.recent())
	}
}

// How long a pulse must heat to raise the water by 0.18 K: one to thirty
// minutes.
func TestLengthOfAPulse(t *testing.T) {
	for _, c := range []struct {
		gain Difference // an hour
		want time.Duration
	}{{648 * MilliKelvin, 1000 * time.Second}, {10800 * MilliKelvin, time.Minute}, {20 * Kelvin, time.Minute}, {360 * MilliKelvin, 30 * time.Minute}, {100 * MilliKelvin, 30 * time.Minute}} {
		set := tubSettings()
		set.Limits.GainPerHour = c.gain
		s := newReady(t, set, at(29.4)).s
		if got := s.rate.pulse; got < c.want-time.Second || got > c.want {
			t.Errorf("%d nK an hour: a pulse of %s, want %s", c.gain, got, c.want)
		}
	}
}
