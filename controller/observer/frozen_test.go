package observer

import (
	"math"
	"testing"
)

// standing is a probe whose code repeats while another reading of the same
// water begins at 29 °C and is away from there by so much.
func standing(longest, sigma, away float64, until float64) float64 {
	r := run{known: true, code: 470, longest: longest}
	r.block(10, 29, sigma, 0, false)
	for t := 20.0; t <= until; t += 10 {
		r.step(470)
		if r.block(10, 29+away, sigma, 0, false); r.frozen {
			return t
		}
	}
	return -1
}

// A code that repeats for more than 300 s and three times its longest healthy
// run, or 1800 s, while the other probe moved by a code and a half is frozen;
// sooner, after a minute, when the other moved by two codes and by five
// deviations over one.
func TestFrozenAtItsBounds(t *testing.T) {
	const code = 0.0625
	for _, c := range []struct {
		name                 string
		longest, sigma, away float64
		found                float64
	}{
		{"a code and a half away", 0, 1, 1.5 * code, 310},
		{"a hair less", 0, 1, 1.5*code - 1e-9, -1},
		{"as far down", 0, 1, -1.5 * code, 310},
		{"healthy runs of 200 s", 200, 1, 1.5 * code, 610},
		{"healthy runs of an hour", 3600, 1, 1.5 * code, 1810},
		{"two codes away, quiet water", 3600, 0, 2 * code, 130},
		{"a hair under two codes", 3600, 0, 2*code - 1e-9, 1810},
		{"five deviations over a code", 3600, 0.02, code + 0.1, 130},
		{"a hair less than that", 3600, 0.02, code + 0.1 - 1e-9, 1810},
	} {
		if got := standing(c.longest, c.sigma, c.away, 3000); got != c.found {
			t.Errorf("%s: found after %v s, want %v", c.name, got, c.found)
		}
	}
	// Far away for less than a minute without a break proves nothing yet.
	r := run{known: true, code: 470, longest: 3600}
	r.block(10, 29, 0, 0, false)
	for k := range 60 {
		away := 0.5
		if k%6 == 5 {
			away = 0
		}
		if r.block(10, 29+away, 0, 0, false); r.frozen {
			t.Fatal("stretches of distance were added up")
		}
	}
	// Once found it stays until the code moves.
	r = run{known: true, code: 470}
	r.block(10, 29, 1, 0, false)
	for range 40 {
		r.block(10, 29.2, 1, 0, false)
	}
	if r.block(10, 29, 1, 0, false); !r.frozen {
		t.Error("it thawed although its code never moved")
	}
}

// One probe alone is frozen when its code stood longer than when healthy, through
// more heat and more rest than move the water by two codes.
func TestLoneProbeFrozenAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name     string
		longest  float64
		heat     int // blocks of heat, then of none
		rest     int
		need     float64
		isFrozen bool
	}{
		{"enough of both", 0, 21, 21, 200, true},
		{"no more than enough heat", 0, 20, 60, 200, false},
		{"no more than enough rest", 0, 60, 20, 200, false},
		{"not longer than 300 s", 0, 15, 15, 20, false},
		{"longer than 300 s", 0, 15, 16, 20, true},
		{"not three times its longest run", 200, 30, 30, 20, false},
		{"more than that", 200, 30, 31, 20, true},
	} {
		r := run{known: true, code: 470, longest: c.longest}
		for range c.heat {
			r.block(10, math.NaN(), 0, c.need, true)
		}
		for range c.rest {
			r.block(10, math.NaN(), 0, c.need, false)
		}
		if r.frozen != c.isFrozen {
			t.Errorf("%s: frozen %v", c.name, r.frozen)
		}
	}
}

// The longest healthy run is remembered, and a fiftieth of it forgotten with
// each run over a minute; shorter ones, those of a frozen probe and the first
// code teach nothing.
func TestLongestHealthyRun(t *testing.T) {
	for _, c := range []struct {
		name    string
		run     run
		longest float64
	}{
		{"longer than ever", run{known: true, code: 1, age: 500, longest: 400}, 500},
		{"shorter", run{known: true, code: 1, age: 100, longest: 400}, 392},
		{"just over a minute", run{known: true, code: 1, age: 61}, 61},
		{"a minute", run{known: true, code: 1, age: 60, longest: 400}, 400},
		{"frozen", run{known: true, code: 1, age: 5000, longest: 400, frozen: true}, 400},
		{"the first code", run{age: 5000, longest: 400}, 400},
	} {
		r := c.run
		r.step(2)
		if want := (run{code: 2, known: true, moved: true, longest: c.longest}); r != want {
			t.Errorf("%s: %+v, want %+v", c.name, r, want)
		}
	}
	r := run{known: true, code: 2, age: 50}
	if r.step(2); r.age != 50 || r.moved {
		t.Error("a code that repeats is a new one")
	}
	r = run{code: 2, age: 50}
	if r.step(2); !r.known || !r.moved {
		t.Error("the first code of a probe that was silent is the one before")
	}
}
