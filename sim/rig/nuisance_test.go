package rig

import (
	"math"
	"testing"
	"time"
)

// counted is what one kind of nuisance did in many days.
type counted struct {
	events, seconds int
	low, high       float64
}

// The rates and sizes are the ones that the type's comment promises. Arrivals
// wait exponentially after the last one's end, so their number in a time is
// about Poisson: four standard deviations are the bound.
func TestNuisancesComeAtTheirRates(t *testing.T) {
	const days = 400
	n := newNuisance(Busy, 11, 1)
	var lids, draughts, suns, flickers, changes, moves counted
	stirred := 0
	note := func(c *counted, on, was bool, size float64) {
		if !on {
			return
		}
		c.seconds++
		if !was {
			c.events++
		}
		if c.events == 1 && !was {
			c.low, c.high = size, size
		}
		c.low, c.high = min(c.low, size), max(c.high, size)
	}
	var a, b around
	for second := 1; second <= days*86400; second++ {
		n.step(time.Duration(second)*time.Second, &a)
		note(&lids, a.drive.LidOff, b.drive.LidOff, 0)
		note(&draughts, a.roomDelta < 0, b.roomDelta < 0, -a.roomDelta)
		note(&suns, a.drive.Sun > 0, b.drive.Sun > 0, a.drive.Sun)
		note(&flickers, a.padsOff, b.padsOff, 0)
		note(&changes, a.changes, b.changes, a.change)
		moving := a.drive.Stir == 0.3
		note(&moves, moving, b.drive.Stir == 0.3, a.drive.Film)
		if a.drive.Stir == 1 && b.drive.Stir != 1 {
			stirred++
		}
		b = a
	}
	for _, c := range []struct {
		name      string
		c         counted
		perDay    float64
		longest   float64 // mean length, s
		low, high float64
	}{
		{"lids", lids, Busy.LidsPerDay, 1050, 0, 0},
		{"draughts", draughts, Busy.DraughtsPerDay, 2100, 1, 5},
		{"flickers", flickers, Busy.FlickersPerDay, 3, 0, 0},
		{"water changes", changes, Busy.ChangesPerDay, 1, -2, 2},
	} {
		// One arrives every 1/rate plus its own length.
		want := days / (1/c.perDay + c.longest/86400)
		if math.Abs(float64(c.c.events)-want) > 4*math.Sqrt(want) {
			t.Errorf("%s: %d, wanted about %.0f", c.name, c.c.events, want)
		}
		if mean := float64(c.c.seconds) / float64(c.c.events); math.Abs(mean-c.longest) > 0.15*c.longest {
			t.Errorf("%s last %.0f s, wanted about %.0f", c.name, mean, c.longest)
		}
		if c.c.low < c.low || c.c.high > c.high {
			t.Errorf("%s of %g to %g", c.name, c.c.low, c.c.high)
		}
	}
	if suns.events == 0 || suns.low < 3 || suns.high > 15 {
		t.Errorf("sun: %+v", suns)
	}
	if moves.events < days*24 || moves.low < 0.6 || moves.high > 1.2 {
		t.Errorf("moves: %+v", moves)
	}
	if share := float64(stirred) / float64(lids.events); math.Abs(share-0.5) > 0.1 {
		t.Errorf("%.2f of the lids come with stirring", share)
	}
}

func TestRoomWithoutNuisancesIsQuiet(t *testing.T) {
	n := newNuisance(Nuisances{}, 1, 1)
	want := around{}
	want.drive.Film = 1
	for second := range 10 * 86400 {
		var a around
		if n.step(time.Duration(second)*time.Second, &a); a != want {
			t.Fatalf("second %d: %+v", second, a)
		}
	}
}

// The bench hands each nuisance on: a keeper who changes water, mains that
// flicker for the pads and not for the board.
func TestBenchPassesNuisancesOn(t *testing.T) {
	w := standWiring()
	w.Nuisances = Nuisances{ChangesPerDay: 1000, FlickersPerDay: 2000, LidsPerDay: 100, SunsPerDay: 100}
	b, err := NewBench(w)
	if err != nil {
		t.Fatal(err)
	}
	s := &stand{b, t}
	s.drive(true)
	var changes, dark, open, sunny int
	for range 7200 {
		s.run(1)
		if kelvin, yes := s.NuisanceChange(0); yes {
			changes++
			if kelvin < -2 || kelvin > 2 {
				t.Errorf("water %g K from the set point", kelvin)
			}
		}
		if !s.Heats(0) {
			dark++
		}
		if s.LidOff(0) {
			open++
		}
		if s.Sunny(0) {
			sunny++
		}
		if !s.Board().Powered {
			t.Fatal("the board lost its power")
		}
	}
	if changes == 0 || dark == 0 || dark > 3600 || open == 0 || sunny == 0 {
		t.Errorf("%d water changes, %d s dark, %d s open, %d s of sun", changes, dark, open, sunny)
	}
}
