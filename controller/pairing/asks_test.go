package pairing

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// asked is a doubt of tub 0 (rises) and tub 1 (misses heat) in one phase that
// began at a moment, with the water where it stood then.
func asked(p phase, since time.Duration) *pair {
	r := newPair()
	r.bench.crossed, r.bench.base, r.bench.based = make([]bool, 2), make([]physic.Temperature, 2), make([]bool, 2)
	r.bench.started, r.now = true, since
	r.bench.doubt = doubt{phase: p, warms: 0, heats: 1, since: since, base: start, begun: since}
	r.bench.last = since
	return r
}

// Each phase of a doubt takes its time to the second: five minutes to settle, ten
// of stillness, heat of six codes, five minutes for the answer; a pad that asks
// for no heat is waited for for twenty minutes.
func TestPhasesOfADoubtTakeTheirTime(t *testing.T) {
	for _, c := range []struct {
		name  string
		phase phase
		heats bool
		lasts int // s
		then  phase
	}{
		{"settle", asksSettle, false, 300, asksStill},
		{"still", asksStill, false, 600, asksHeat},
		{"heat", asksHeat, true, 375, asksAnswer},
		{"heat that nobody asks for", asksHeat, false, 1200, asksNothing},
		{"answer", asksAnswer, false, 300, asksStill},
	} {
		p := asked(c.phase, 7*time.Minute)
		for n := 1; n <= c.lasts; n++ {
			p.tubs[1].Heating = c.heats
			p.step(1)
			if want := n < c.lasts; (p.bench.doubt.phase == c.phase) != want {
				t.Errorf("%s: phase %d after %d s", c.name, p.bench.doubt.phase, n)
				break
			}
		}
		if p.bench.doubt.phase != c.then {
			t.Errorf("%s: then phase %d, want %d", c.name, p.bench.doubt.phase, c.then)
		}
	}
	// Seconds with heat are added up, whatever lies between them, and the water
	// counts from the first.
	p := asked(asksHeat, time.Minute)
	p.tubs[0].Water += 5 * mK
	p.step(10)
	for n := range 700 {
		p.tubs[1].Heating = n%2 == 0
		p.step(1)
	}
	if d := p.bench.doubt; d.heated != 350*time.Second || d.base != start+5*mK || d.begun != time.Minute+11*time.Second || d.phase != asksHeat {
		t.Errorf("%+v", d)
	}
}

// While a doubt is asked the rising tub has no permit, and the one in doubt has
// it for its heat alone.
func TestWhosePermitADoubtTakes(t *testing.T) {
	for p, held := range map[phase][2]bool{asksNothing: {false, false}, asksSettle: {true, true}, asksStill: {true, true}, asksHeat: {true, false}, asksAnswer: {true, true}} {
		d := doubt{phase: p, warms: 0, heats: 1}
		if d.holds(0) != held[0] || d.holds(1) != held[1] || d.holds(2) {
			t.Errorf("phase %d: holds %v %v %v", p, d.holds(0), d.holds(1), d.holds(2))
		}
	}
}

// The answer speaks for a crossing when the water rose by half of what the pad
// gives its own tub, over what it drifted by itself; two such answers are one.
func TestAnswerToADoubtAtItsBounds(t *testing.T) {
	const hair = 1 * physic.NanoKelvin
	for _, c := range []struct {
		name  string
		still physic.Temperature // drift in ten minutes
		rise  physic.Temperature // in twenty
		votes int
		phase phase
		after int
		cross bool
	}{
		{"half of it", 0, 200 * mK, 0, asksStill, 1, false},
		{"a hair less", 0, 200*mK - hair, 0, asksNothing, 0, false},
		{"half of it over a drift", 60 * mK, 320 * mK, 0, asksStill, 1, false},
		{"a hair less over a drift", 60 * mK, 320*mK - hair, 0, asksNothing, 0, false},
		{"half of it against a drift", -60 * mK, 80 * mK, 0, asksStill, 1, false},
		{"the second", 0, 200 * mK, 1, asksNothing, 0, true},
		{"the second, a hair less", 0, 200*mK - hair, 1, asksNothing, 0, false},
	} {
		p := asked(asksAnswer, 15*time.Minute)
		d := &p.bench.doubt
		d.begun, d.heated, d.still, d.votes = 0, 400*time.Second, c.still, c.votes
		p.tubs[0].Water = start + c.rise
		p.now += 5*time.Minute - time.Second
		if p.step(1); d.phase != c.phase || d.votes != c.after || p.out[0].Crossed != c.cross || p.out[1].Crossed != c.cross {
			t.Errorf("%s: %+v, crossed %v", c.name, *d, p.out[0].Crossed)
		}
		if c.phase == asksStill && (d.base != start+c.rise || d.since != p.now) {
			t.Errorf("%s: the next look does not begin here: %+v", c.name, *d)
		}
	}
}

// A pair that was asked about is left alone for half an hour and comes last.
func TestPairsAreAskedInTurn(t *testing.T) {
	r := &turns{tubs: make([]Station, 3), out: make([]Verdict, 3)}
	for i := range r.tubs {
		r.tubs[i] = Station{Proven: true, Valid: true, Water: start, Gain: 3600 * mK, Unasked: true, Misses: true}
	}
	var pairs [][2]int
	for range 7 {
		r.step(1)
		d := &r.bench.doubt
		if d.phase != asksSettle {
			t.Fatalf("no doubt at %s: %+v", r.now, *d)
		}
		pairs = append(pairs, [2]int{d.warms, d.heats})
		r.tubs[d.warms].Valid = false
		r.step(1)
		for i := range r.tubs {
			r.tubs[i].Valid = true
		}
		if d.phase != asksNothing {
			t.Fatalf("it goes on at %s", r.now)
		}
		r.step(1799)
		if d.phase != asksNothing {
			t.Fatalf("asked again before half an hour was over")
		}
	}
	want := [][2]int{{0, 1}, {0, 2}, {1, 0}, {1, 2}, {2, 0}, {2, 1}, {0, 1}}
	for i := range want {
		if pairs[i] != want[i] {
			t.Fatalf("asked about %v, want %v", pairs, want)
		}
	}
}

// Who is asked about: of two proven tubs with believable water the one rises
// with its pad off and the other misses its heat, and neither is crossed.
func TestWhoIsInDoubt(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(p *pair)
		asks bool
	}{
		{"both signs", func(*pair) {}, true},
		{"the one that misses heats", func(p *pair) { p.tubs[1].Heating = true }, true},
		{"the one that rises is crossed", func(p *pair) { p.bench.crossed[0] = true }, false},
		{"the one that misses is crossed", func(p *pair) { p.bench.crossed[1] = true }, false},
		{"the one that rises is not believed", func(p *pair) { p.tubs[0].Valid = false }, false},
		{"the one that misses is not believed", func(p *pair) { p.tubs[1].Valid = false }, false},
		{"quiet", func(p *pair) { p.bench.doubt.quiet = p.now + 2*time.Second }, false},
		{"quiet is over", func(p *pair) { p.bench.doubt.quiet = p.now + time.Second }, true},
	} {
		p := asked(asksNothing, time.Hour)
		c.set(p)
		if p.step(1); (p.bench.doubt.phase == asksSettle) != c.asks {
			t.Errorf("%s: %+v", c.name, p.bench.doubt)
		}
	}
}
