package observer

import (
	"math"
	"testing"
)

// A straight line and a known answer come back out of a fit, whatever part of
// the ring they lie in; too few blocks and a window without a switch say so.
func TestFitFindsTheAnswer(t *testing.T) {
	var tr trace
	if _, v := tr.fit(100, scaled, 1e-4); v != unknown {
		t.Errorf("variance of an empty fit is %v", v)
	}
	if v := tr.weigh(100, dead, 1e-4); v != 0 {
		t.Errorf("an empty trace votes %v", v)
	}
	water := 29.0
	block := func(k int, share float64) {
		cmd := 0.0
		if k%60 >= 30 {
			cmd = 6e-4
		}
		water += 10 * (share*cmd - 2e-4)
		tr.add(10, water, cmd, 6e-4-cmd)
	}
	for k := range 20 {
		block(k, 1)
	}
	if _, v := tr.fit(20, scaled, 1e-4); v != unknown {
		t.Errorf("variance without a switch is %v", v)
	}
	for k := 20; k < 1000; k++ {
		block(k, 1.2)
	}
	if phi, v := tr.fit(150, scaled, 1e-4); math.Abs(phi-1.2) > 1e-6 || v > 0.02 {
		t.Errorf("answer %v ± %v, want 1.2", phi, math.Sqrt(v))
	}
	if v := tr.weigh(150, dead, 1e-3); v >= -2 {
		t.Errorf("obedient water votes %v for a dead pad", v)
	}
	for k := 1000; k < 1300; k++ {
		block(k, 0)
	}
	if phi, _ := tr.fit(150, scaled, 1e-4); math.Abs(phi) > 1e-6 {
		t.Errorf("answer of a dead pad is %v", phi)
	}
	if v := tr.weigh(150, dead, 1e-3); v <= 2 {
		t.Errorf("dead water votes %v for a dead pad", v)
	}
	for k := 1300; k < 1600; k++ {
		block(k, 9*float64(k%2))
	}
	if v := tr.weigh(150, dead, 1e-5); v != 0 {
		t.Errorf("water that fits neither story votes %v", v)
	}
	tr.clear()
	if tr.count != 0 {
		t.Error("a cleared trace holds something")
	}
}

// One bend at an unknown moment (a lid) does not decide; two bends that follow
// the command do.
func TestOneBendDecidesNothing(t *testing.T) {
	for _, obeys := range []bool{true, false} {
		var tr trace
		water, slope := 29.0, -2e-4
		for k := range 180 {
			cmd := 6e-4
			if k >= 60 && k < 120 {
				cmd = 0
			}
			if k == 85 {
				slope -= 9e-4 // the lid comes off
			}
			answer := 0.0
			if obeys {
				answer = cmd
			}
			water += 10 * (answer + slope)
			tr.add(10, water, cmd, 0)
		}
		v := tr.weigh(180, dead, 0.003)
		if obeys && v > -strongVote || !obeys && v < strongVote {
			t.Errorf("obeys %v: the vote is %v", obeys, v)
		}
	}
}

func TestInquiryCounts(t *testing.T) {
	q := inquiry{stage: suspected}
	if q.cast(0, 3) != 0 || q.votes != 0 {
		t.Error("nothing was counted as something")
	}
	for k, want := range []int{0, 0, 1} {
		if got := q.cast(8, 3); got != want {
			t.Errorf("strong vote %d decides %d, want %d", k+1, got, want)
		}
	}
	q = inquiry{stage: suspected}
	if q.cast(-8, 3) != 0 || q.cast(-1, 3) != -1 {
		t.Error("two votes for obedience do not decide")
	}
	q = inquiry{stage: suspected}
	for range votesMost {
		if q.cast(0.1, 3) != 0 {
			t.Error("weak votes decide")
		}
	}
	if q.stage != undecided || q.votes != 0 {
		t.Errorf("after %d weak votes stage %d votes %d", votesMost, q.stage, q.votes)
	}
}

// The cooler of two probes is the one that jumped, whichever moved; it is
// believed again when it has agreed for ten minutes.
func TestJumpNamesTheCooler(t *testing.T) {
	for _, size := range []float64{-0.8, 0.8} {
		p := pair{jumped: None}
		p.allowance(0, 1)
		second := func(d float64, n int) {
			for k := range n {
				p.step(1, d)
				if k%10 == 9 {
					p.block(10, 0, false, true)
				}
			}
		}
		second(0.05, 1800)
		second(size, int(pairHold)-1)
		if p.jumped != None {
			t.Error("jumped before its time")
		}
		second(size, 2)
		want := Guard
		if size < 0 {
			want = Control
		}
		if p.jumped != want {
			t.Errorf("jump of %v K: %d jumped, want %d", size, p.jumped, want)
		}
		second(0.05, int(pairHeal)-60)
		if p.jumped != want {
			t.Error("believed again too early")
		}
		second(0.05, 120)
		if p.jumped != None {
			t.Error("never believed again")
		}
		if p.block(10, 0, false, true); p.count != 0 {
			t.Error("a block without readings keeps its past")
		}
	}
}

// A slow drift apart is no jump; it differs after half an hour, or after five
// minutes in each phase.
func TestSlowDriftDiffers(t *testing.T) {
	for _, phases := range []bool{true, false} {
		p := pair{jumped: None}
		p.allowance(0, 1)
		d, took := 0.0, 0.0
		for k := range 1200 {
			d = min(d+0.004, 0.7)
			for range 10 {
				p.step(1, d)
			}
			p.block(10, 0, phases && k%60 < 30, false)
			if d >= 0.7 {
				took += 10
			}
			if p.differ {
				break
			}
		}
		if p.jumped != None || !p.differ || took > pairLong || phases && took > 900 {
			t.Errorf("phases %v: jumped %d differ %v after %v s", phases, p.jumped, p.differ, took)
		}
	}
}

// The allowance grows with the flux through the surface and is bounded.
func TestAllowanceOfFlux(t *testing.T) {
	var p pair
	for _, c := range []struct{ flux, widen, want float64 }{
		{0, 1, 0.45}, {60, 1, 0.45}, {200, 1, 0.8}, {9000, 1, 1.2}, {0, 2, 0.9},
	} {
		if p.allowance(c.flux, c.widen); math.Abs(p.limit-c.want) > 1e-12 {
			t.Errorf("flux %v: %v K, want %v", c.flux, p.limit, c.want)
		}
	}
}

func TestFrozenNeedsWaterThatMoved(t *testing.T) {
	still := func(reference func(k int) float64) *run {
		var r run
		r.block(10, 29, 0.02) // nothing known yet: says nothing
		r.step(470)
		for k := range 360 {
			r.step(470)
			r.block(10, reference(k), 0.02)
		}
		return &r
	}
	if r := still(func(int) float64 { return 29.4 }); r.frozen {
		t.Error("a quiet sensor in still water is called frozen")
	}
	r := still(func(k int) float64 { return 29.4 + 0.001*float64(k) })
	if !r.frozen {
		t.Error("a code that stood while the water rose 0.36 K is not frozen")
	}
	if r.step(471); r.frozen || r.age != 0 {
		t.Error("a probe whose code moves again is still frozen")
	}
	r = &run{}
	for range 100 { // healthy runs of 200 s are remembered, and slowly forgotten
		r.step(int16(r.age))
		for range 20 {
			r.block(10, 29.4, 0.02)
		}
		r.step(-1)
	}
	if r.longest < 190 {
		t.Errorf("longest healthy run is %v s, want 200", r.longest)
	}
}

// The gain stays within 0.4…2.5 of the configured whatever the water does.
func TestGainIsBounded(t *testing.T) {
	for _, push := range []float64{-1, 1} {
		var f filter
		f.noise = 0.003
		f.prior(6e-4, 120)
		f.length(10)
		f.begin(29)
		water := 29.0
		for k := range 4000 {
			p := f.lags(&f.pad, float64(k/60%2))
			f.predict(p)
			water += push * 0.05 * p[0]
			f.weigh(water, true)
			f.correct()
			if g := f.rate(); !(g >= 0.399*6e-4 && g <= 2.501*6e-4) {
				t.Fatalf("gain is %v K/s", g)
			}
		}
	}
	var f filter
	f.prior(6e-4, 120)
	f.length(10)
	f.x[iG1], f.x[iG2] = -1e-3, 1e-4
	f.noise = 0.003
	f.begin(29)
	f.weigh(29, false)
	if f.correct(); math.Abs(f.rate()-0.4*6e-4) > 1e-12 {
		t.Errorf("a gain that vanished is %v K/s, want the least", f.rate())
	}
}

// The effective set point of the caller governs the level rule.
func TestSetPointOfTheCaller(t *testing.T) {
	o, err := New(good())
	if err != nil {
		t.Fatal(err)
	}
	in := Input{SetPoint: 27}
	for k := range 4000 {
		in.Now += 1e9
		v := 28.5 + 5e-5*float64(k)
		code := int16(v * 16)
		for i := range in.Probes {
			in.Probes[i] = Reading{Value: v, Code: code, Valid: true, Believed: true, Fresh: true}
		}
		in.Series = true
		o.Step(&in)
	}
	if !o.Findings().Unasked && o.verdict != OutsideHeat {
		t.Errorf("water 1.5 K over the effective set point and rising: verdict %d", o.verdict)
	}
}

// A dead pad on a station whose series relay may not be toggled: the test
// withholds heat, and unasked heat is no question then.
func TestDeadPadOfSharedSeries(t *testing.T) {
	found := 0
	for seed := range uint64(6) {
		b := newBench(820+seed, false, false)
		b.calm = true
		p := b.o.params
		p.Series = SharedSeries
		o, err := New(p)
		if err != nil {
			t.Fatal(err)
		}
		b.o = o
		b.run(9 * 3600)
		b.plant.dead = true
		for range 4 * 1800 {
			if b.tick(); b.o.Findings().NoRise {
				found++
				break
			}
			if b.o.Findings().Unasked {
				t.Fatalf("seed %d: a dead pad was called unasked rise", seed)
			}
		}
	}
	if found < 5 {
		t.Errorf("dead pad found in %d of 6", found)
	}
}
