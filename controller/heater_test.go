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
		minutes(r, 9, 0.04)
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
	t.Run("a hand", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(18))
		r.in.Treatment.Running = false
		minutes(r, 15, 0)
		minutes(r, 5, 3) // to 33 °C: somebody places the probe
		if r.s.Cause(UnaskedRise).Acting {
			t.Error("a hand was taken for a stuck relay")
		}
		minutes(r, 3, 1)
		if got := r.s.Cause(UnaskedRise); !got.Latched || got.Value < at(35) {
			t.Errorf("warmer than a hand: %+v", got)
		}
	})
	t.Run("frozen", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		air, surface := 2, 1
		for k := 1; k <= 580; k++ {
			r.set(surface, at(40)+at(float64(k)/600)-at(0))
			r.step()
		}
		if st := r.s.Cause(ProbeFrozen); st.Acting || !r.out.Command.Pad {
			t.Fatalf("within ten minutes of heat: %+v, %+v", st, r.out.Command)
		}
		r.steps(25)
		if st := r.s.Cause(ProbeFrozen); !st.Acting || st.Latched || r.out.Permitted {
			t.Errorf("after ten minutes of heat in which another rose: %+v", st)
		}
		r.steps(60)
		if st := r.s.Cause(ProbeFrozen); !st.Latched || r.out.Command.Series {
			t.Errorf("a minute later: %+v", st)
		}
		reset := Act{Kind: Reset, Cause: ProbeFrozen, Place: Page, Seen: SeenProbe}
		r.want("while it repeats", reset, CausePersists)
		r.set(air, at(41))
		r.steps(15)
		r.want("after it moved", reset, NoRefusal)
	})
	t.Run("a heater that gives nothing is no frozen probe", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		r.steps(30 * 60)
		if r.s.Cause(ProbeFrozen).Acting || !r.s.Cause(NoRise).Acting {
			t.Error("still air, and nothing that moved")
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
	t.Run("reset of an unasked rise", func(t *testing.T) {
		r := newReady(t, chamberSettings(), at(40))
		r.in.Treatment.Running = false
		minutes(r, 15, 0)
		minutes(r, 15, 0.15)
		reset := Act{Kind: Reset, Cause: UnaskedRise, Place: Board, Seen: SeenPad}
		if got := r.answer(reset); got != CausePersists {
			t.Errorf("while it rises: %v", got)
		}
		// Hot and steady: the heater may still be on, held by its own cut-out.
		for i := range r.in.Readings {
			r.set(i, r.s.set.SetPoint+at(3)-at(0))
		}
		r.steps(40 * 60)
		if got := r.answer(reset); got != CausePersists {
			t.Errorf("while it is hot: %v", got)
		}
		for i := range r.in.Readings {
			r.set(i, at(25))
		}
		r.steps(60)
		if reset.Seen = SeenAnimal; r.answer(reset) != NotSeen {
			t.Error("without a look at the heater")
		}
		reset.Seen, reset.Place = SeenPad, Page
		if got := r.answer(reset); got != WrongPlace {
			t.Errorf("from the page: %v", got)
		}
		reset.Place = Board
		if got := r.answer(reset); got != NoRefusal || r.s.Cause(UnaskedRise).Latched {
			t.Errorf("cool, looked at, at the board: %v", got)
		}
	})
}
