package observer

import (
	"math"
	"testing"
)

// runLength is the mean number of values until c alarms, one- or two-sided, on
// normal values with a shifted mean.
func runLength(k, h, shift float64, twoSided bool, runs int, seed uint64) float64 {
	r := chance{generator(seed)}
	total := 0
	for range runs {
		up, down := Cusum{Slack: k, Threshold: h}, Cusum{Slack: k, Threshold: h}
		for {
			total++
			v := r.gauss() + shift
			if up.Add(v) || twoSided && down.Add(-v) {
				break
			}
		}
	}
	return float64(total) / float64(runs)
}

// gauss is an exact normal deviate (polar method, Marsaglia); the run length
// at 5 σ sums is too sensitive to tails for a sum of uniforms.
func (c *chance) gauss() float64 {
	for {
		u, v := c.between(-1, 1), c.between(-1, 1)
		if s := u*u + v*v; s > 0 && s < 1 {
			return u * math.Sqrt(-2*math.Log(s)/s)
		}
	}
}

// siegmund is the one-sided mean run length by Siegmund (1985), with the
// boundary correction 1.166.
func siegmund(k, h, shift float64) float64 {
	d, b := shift-k, h+1.166
	return (math.Exp(-2*d*b) + 2*d*b - 1) / (2 * d * d)
}

// Montgomery, Introduction to Statistical Quality Control, table of run lengths
// of the two-sided cumulative sum with k = ½ (from memory): h = 4: 168 in
// control, 8.38 at one standard deviation; h = 5: 465 and 10.4.
func TestCusumRunLengthsOfMontgomery(t *testing.T) {
	for _, c := range []struct {
		h, shift, want float64
		runs           int
	}{
		{4, 0, 168, 12000},
		{4, 1, 8.38, 20000},
		{5, 0, 465, 8000},
		{5, 1, 10.4, 20000},
	} {
		got := runLength(0.5, c.h, c.shift, true, c.runs, 7)
		if math.Abs(got/c.want-1) > 0.04 {
			t.Errorf("h %v shift %v: mean run length %.2f, want %.2f", c.h, c.shift, got, c.want)
		}
	}
}

func TestCusumRunLengthsOfSiegmund(t *testing.T) {
	for _, c := range []struct{ k, h, shift float64 }{
		{0.5, 3, 0}, {0.5, 4, 0}, {0.5, 4, 1}, {0.5, 5, 1}, {0.5, 5, 2}, {0.25, 8, 0.5}, {1, 2.5, 0},
	} {
		got, want := runLength(c.k, c.h, c.shift, false, 6000, 11), siegmund(c.k, c.h, c.shift)
		if math.Abs(got/want-1) > 0.06 {
			t.Errorf("k %v h %v shift %v: mean run length %.2f, Siegmund's formula gives %.2f", c.k, c.h, c.shift, got, want)
		}
	}
}

// A sum that is at its floor owes nothing: the alarm comes as soon as from new.
func TestCusumForgetsGoodTimes(t *testing.T) {
	c := Cusum{Slack: 0.5, Threshold: 2}
	for range 1000 {
		c.Add(-3)
	}
	if c.Sum != 0 {
		t.Fatalf("sum is %v after good times, want 0", c.Sum)
	}
	if c.Add(2.5) || !c.Add(2.5) {
		t.Errorf("want an alarm at the second value, sum is %v", c.Sum)
	}
}

// The signature of a step in the very model: under the hypothesis the mean
// evidence grows by half the squared signature over the variance, without it
// it falls by as much (Willsky and Jones). Both by Monte Carlo on the filter.
func TestSignatureGathersWhatTheoryGives(t *testing.T) {
	for _, faulty := range []bool{false, true} {
		var got, want float64
		for run := range 300 {
			r := chance{generator(uint64(run)*77 + 1)}
			var f filter
			f.noise = 0.003
			f.prior(0.0006, 120)
			f.length(10)
			f.begin(29)
			water, pad := 29.0, [2]float64{}
			var s signature
			s.Threshold = 1e9
			var evidence float64
			for k := range 150 {
				mean := f.lags(&f.pad, 0)
				u := 0.0
				if faulty && k >= 100 {
					u = 1
				}
				p := f.lags(&pad, u)
				water += 10 * part * (f.x[iG1]*p[0] + f.x[iG2]*p[1])
				f.predict(mean)
				f.weigh(water+math.Sqrt(f.noise)*r.gauss(), false)
				if k == 100 {
					s.restart(f.pad)
				}
				if k >= 100 {
					hyp := f.lags(&s.pad, 1)
					// The increment without the floor at zero.
					before := s.diff
					push := f.x[iG1]*(hyp[0]-mean[0]) + f.x[iG2]*(hyp[1]-mean[1])
					d := before[iT] + 10*before[iD] + part*10*push
					evidence += (d*f.nu - d*d/2) / f.s
					want += d * d / 2 / f.s
					s.Sum = 1e6 // so that add does not restart it
					s.add(&f, mean, hyp)
				}
				f.correct()
			}
			got += evidence
		}
		if !faulty {
			want = -want
		}
		// A drift that walks only in the filter's mind makes S a little large,
		// so the evidence is conservative; a tenth either way is the claim.
		if math.Abs(got-want) > 0.15*math.Abs(want) {
			t.Errorf("faulty %v: mean evidence %.2f, theory %.2f", faulty, got/300, want/300)
		}
	}
}

// The most likely factor of a known signal in white noise is Σtν/S over Σt²/S,
// with variance 1/(Σt²/S) (the matched filter; Kay 1998, "Detection Theory",
// from memory). Heat that is missing once or twice over must be told apart.
func TestSignatureKnowsItsSize(t *testing.T) {
	for _, times := range []float64{1, 2} {
		r := chance{11}
		var sum, squares float64
		const runs = 300
		for range runs {
			var f filter
			f.noise = 0.003
			f.prior(0.0006, 120)
			f.length(10)
			f.begin(29)
			water, pad := 29.0, [2]float64{}
			var s signature
			for k := range 160 {
				p := f.lags(&f.pad, 1)
				real := p
				if k < 100 {
					pad = f.pad
				} else {
					real = f.lags(&pad, 0)
				}
				for i, g := range f.x[iG1:] {
					water += 10 * g * (p[i] + times*(real[i]-p[i]))
				}
				f.predict(p)
				f.weigh(water+math.Sqrt(f.noise)*r.gauss(), false)
				if k == 100 {
					s.restart(f.pad)
					s.Sum = 1e6 // so that add does not restart it
				}
				if k >= 100 {
					hyp := f.lags(&s.pad, 0)
					s.add(&f, p, hyp)
				}
				f.correct()
			}
			s.Sum -= 1e6
			v := s.size()
			sum += v
			squares += v * v
		}
		mean := sum / runs
		if math.Abs(mean-times) > 0.15*times {
			t.Errorf("heat missing %v times over: size %.2f", times, mean)
		}
		if sd := math.Sqrt(squares/runs - mean*mean); sd > 0.4 {
			t.Errorf("heat missing %v times over: spread %.2f", times, sd)
		}
	}
	var none signature
	if none.size() != part {
		t.Error("without evidence the size is not the signature's own")
	}
}

// A pad that is on for hours gives no evidence about when it died long ago: the
// filter has swallowed what a death at the switch would have done. The sum then
// begins anew, or a pad that dies in the fourth hour would never be accused.
func TestSpentEvidenceBeginsAnew(t *testing.T) {
	o := watcher(t)
	f := &o.filter
	o.norise = inquiry{}
	o.on, o.off = 0, 600
	f.pad, f.gain = [2]float64{}, [states]float64{}
	o.dead.restart(f.pad)
	spentAt, most := -1.0, 0.0
	for k := range 720 {
		o.on += 10
		p := f.lags(&f.pad, 1)
		f.predict(p)
		f.weigh(f.x[iT], false) // the very reading that is expected: no evidence either way
		before := o.dead.known
		o.dead.Sum += 1 // so that the floor at zero restarts nothing
		o.signatures(p, 1, 1)
		most = max(most, o.dead.known)
		f.correct()
		if o.dead.known == 0 && before > 0 {
			spentAt = o.on
			if before > most+1e-12 || o.dead.Sum != 0 {
				t.Errorf("begun anew with %v nats", o.dead.Sum)
			}
			break
		}
		if k == 719 {
			t.Fatalf("after two hours of heat still waiting for evidence: %+v", o.dead)
		}
	}
	if spentAt != 2410 {
		t.Errorf("begun anew after %v s of heat, want the first block after forty minutes", spentAt)
	}
	if o.dead.pad != f.pad {
		t.Error("the pad of the story does not begin where the real one is")
	}
	// Before that, and in an inquiry, what was gathered stays.
	for name, set := range map[string]func(){
		"forty minutes": func() { o.on = 2400 },
		"an inquiry":    func() { o.on, o.norise.stage = 9999, watched },
	} {
		o.norise.stage = idle
		set()
		o.dead.Sum, o.dead.known, o.dead.diff, o.dead.pad = 5, 30, [states]float64{}, [2]float64{}
		p := f.lags(&f.pad, 1)
		f.predict(p)
		f.weigh(f.x[iT], false)
		o.dead.diff[iT] = 0
		o.dead.diff[iD] = part * f.rate() // swallowed to the last
		o.signatures(p, 1, 1)
		f.correct()
		if !o.dead.spent || o.dead.known < 30 {
			t.Errorf("%s: spent %v, known %v", name, o.dead.spent, o.dead.known)
		}
	}
}

// Spent is a transient whose square, and that of its change in ten blocks, is
// under a thousandth of what is known of it; one that passes through zero is not.
func TestWhatIsSpent(t *testing.T) {
	for _, c := range []struct {
		name             string
		before, t, known float64 // K, K, units of the signature
		spent            bool
	}{
		{"all swallowed", 0, 0, 1, true},
		{"through zero", 0.004, 0, 30, false},
		{"a hair under the bound", 0.01, 0.01, 0.0001/0.003*1000 + 1e-6, true},
		{"a hair over it", 0.01, 0.01, 0.0001/0.003*1000 - 1e-1, false},
		{"a hair under the bound, by its change", 0, 0.001, (0.000001+0.0001)/0.003*1000 + 1e-6, true},
		{"a hair over it, by its change", 0, 0.001, (0.000001+0.0001)/0.003*1000 - 1e-1, false},
		{"nothing known yet", 0, 0, 0, false},
	} {
		f := filter{s: 0.003, h: 10}
		s := signature{known: c.known - c.t*c.t/0.003}
		if c.name == "nothing known yet" {
			s.known = 0
		}
		s.diff[iT], s.diff[iD] = c.before, (c.t-c.before)/10
		s.Sum = 100
		if s.add(&f, [2]float64{1, 1}, [2]float64{1, 1}); s.spent != c.spent {
			t.Errorf("%s: spent %v, known %v", c.name, s.spent, s.known)
		}
	}
	s := signature{spent: true}
	if s.restart([2]float64{}); s.spent {
		t.Error("spent before it began")
	}
}
