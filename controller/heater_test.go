package controller

import "testing"

// A chamber whose air does not rise by half a kelvin in ten minutes of heat has
// an alarm; the answer clears it. Warmth that nobody asked for latches, and the
// slow warmth of a room does not.
func TestHeaterOfAChamber(t *testing.T) {
	minutes := func(r *ready, n int, perMinute float64) {
		from := r.in.Readings[1].Value
		for k := 1; k <= n*60; k++ {
			for i := range r.in.Readings {
				r.set(i, from+at(perMinute*float64(k)/60)-at(0))
			}
			r.step()
		}
	}
	t.Run("no rise", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		minutes(r, 10, 0.04)
		if r.s.Cause(NoRise).Acting {
			t.Error("before its time")
		}
		minutes(r, 2, 0.04)
		if got := r.s.Cause(NoRise); !got.Acting || got.Latched || got.Severity != Warning {
			t.Errorf("%+v", got)
		}
		minutes(r, 20, 0.2)
		if r.s.Cause(NoRise).Acting {
			t.Error("the answer did not clear it")
		}
	})
	t.Run("unasked rise", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		r.in.Treatment.Running = false
		minutes(r, 15, 0)
		minutes(r, 10, 0.15)
		if r.s.Cause(UnaskedRise).Acting {
			t.Error("before 2 K")
		}
		minutes(r, 5, 0.15)
		if got := r.s.Cause(UnaskedRise); !got.Latched {
			t.Errorf("%+v", got)
		}
	})
	t.Run("a warm room", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(16))
		r.in.Treatment.Running = false
		minutes(r, 240, 0.06) // 3.6 K/h
		if r.s.Cause(UnaskedRise).Acting {
			t.Error("the room was taken for a stuck relay")
		}
	})
	t.Run("coast", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		minutes(r, 5, 0.5)
		r.in.Treatment.Running = false
		minutes(r, 3, 1)
		minutes(r, 30, -0.1)
		if r.s.Cause(UnaskedRise).Acting {
			t.Error("what the coil still gave was taken for a stuck relay")
		}
	})
}
