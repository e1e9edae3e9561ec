package observer

import "testing"

// standing is a probe whose code repeats while another reading of the same
// water begins at 29 °C and is away from there by so much.
func standing(longest, sigma, away float64, until float64) float64 {
	r := run{known: true, code: 470, longest: longest}
	r.block(10, 29, sigma)
	for t := 20.0; t <= until; t += 10 {
		r.step(470)
		if r.block(10, 29+away, sigma); r.frozen {
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
	r.block(10, 29, 0)
	for k := range 60 {
		away := 0.5
		if k%6 == 5 {
			away = 0
		}
		if r.block(10, 29+away, 0); r.frozen {
			t.Fatal("stretches of distance were added up")
		}
	}
	// Once found it stays until the code moves.
	r = run{known: true, code: 470}
	r.block(10, 29, 1)
	for range 40 {
		r.block(10, 29.2, 1)
	}
	if r.block(10, 29, 1); !r.frozen {
		t.Error("it thawed although its code never moved")
	}
}

// One probe alone is frozen after 300 s when heat and drift together must have
// moved the water by three codes either way, or the heat alone by five, or when
// its code stood for two hours and three times its longest healthy run.
func TestLoneProbeFrozenAtItsBounds(t *testing.T) {
	const code, least = 0.0625, 1e-9
	for _, c := range []struct {
		name    string
		longest float64
		heat    float64 // K a block
		drift   float64 // K/s
		known   bool
		found   float64
	}{
		{"heat of three codes in 400 s, drift known to be none", 0, 3*code/40 + least, 0, true, 400},
		{"a hair less a block", 0, 3*code/40 - least, 0, true, 410},
		{"the same with a drift that is not known: five codes", 0, 5*code/80 + least, 0, false, 800},
		{"a hair less of that", 0, 5*code/80 - least, 0, false, 810},
		{"cooling by three codes", 0, 0, -3*code/400 - least, true, 400},
		{"warming by three codes", 0, 0, 3*code/400 + least, true, 400},
		{"drift that is not known", 0, 0, -1, false, 7210},
		{"heat that the drift takes away: five codes of it", 0, 5*code/80 + least, -5 * code / 800, true, 800},
		{"a great lot of heat: not before 300 s", 0, 1, 0, true, 310},
		{"nothing for two hours", 0, 0, 0, true, 7210},
		{"nothing, and healthy runs of fifty minutes", 3000, 0, 0, true, 9010},
		{"nothing, and healthy runs of forty minutes", 2400, 0, 0, true, 7210},
	} {
		r := run{known: true, code: 470, longest: c.longest}
		found := -1.0
		for t := 10.0; t <= 12000 && found < 0; t += 10 {
			r.step(470)
			if r.alone(10, c.heat, c.drift, c.known); r.frozen {
				found = t
			}
		}
		if found != c.found {
			t.Errorf("%s: found after %v s, want %v", c.name, found, c.found)
		}
	}
	// The drift is that of the beginning; what it becomes says nothing.
	r := run{known: true, code: 470}
	for k := range 100 {
		if r.alone(10, 0, -float64(k), true); r.frozen {
			t.Fatal("a drift of later was counted")
		}
	}
	// Up by two codes with heat and then down, without, to one under the start
	// spans three.
	r = run{known: true, code: 470}
	for k := range 40 {
		heat := 3 * code / 20
		if k >= 20 {
			heat = -2 * code / 20
		}
		r.alone(10, heat, -code/200, true)
	}
	if !r.frozen {
		t.Errorf("from %v to %v K, and not frozen", r.low, r.high)
	}
	r = run{}
	if r.alone(9999, 9, 9, true); r != (run{}) {
		t.Error("a probe without a code is judged")
	}
	// What a probe alone went through is no anchor for two.
	r = run{known: true, code: 470}
	r.alone(10, 0, 0, true)
	for range 60 {
		r.block(10, 29.4, 0.02)
	}
	if r.frozen {
		t.Error("the other probe came back, and the first is called frozen")
	}
	// Once found it stays until the code moves.
	r = run{known: true, code: 470, frozen: true}
	if r.alone(10, 0, 0, true); !r.frozen {
		t.Error("it thawed although its code never moved")
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
