package observer

import (
	"math"
	"testing"
)

// The first five answers after a fill are the measure of all that follow, by
// their medians; one wild answer changes neither.
func TestAnswersAreComparedByTheirMedians(t *testing.T) {
	var a answers
	for k, v := range []float64{5, 1, 4, 2, 99} {
		if _, known := a.ratio(); known {
			t.Fatalf("known after %d answers", k)
		}
		a.add(v)
	}
	if r, known := a.ratio(); !known || r != 1 || a.first != 4 {
		t.Fatalf("ratio %v, known %v, first %v", r, known, a.first)
	}
	for k, c := range []struct{ add, ratio float64 }{
		{6, 1}, {6, 6.0 / 4}, {6, 6.0 / 4}, {8, 6.0 / 4}, {8, 6.0 / 4}, {8, 2}, {8, 2}, {1, 2}, {1, 2}, {1, 0.25}, {1, 0.25},
	} {
		if a.add(c.add); a.first != 4 {
			t.Fatalf("answer %d after the fifth moved the measure", k+1)
		}
		if r, _ := a.ratio(); math.Abs(r-c.ratio) > 1e-12 {
			t.Errorf("answer %d after the fifth: ratio %v, want %v", k+1, r, c.ratio)
		}
	}
	if a.clear(); a != (answers{}) {
		t.Error("a fill forgets nothing")
	}
}

func TestMedianOfFive(t *testing.T) {
	for _, order := range [][5]float64{{1, 2, 3, 4, 5}, {5, 4, 3, 2, 1}, {3, 5, 1, 4, 2}, {2, 3, 1, 5, 4}, {4, 1, 5, 2, 3}, {3, 3, 3, 1, 2}} {
		a := answers{last: order}
		if got := a.median(); got != 3 {
			t.Errorf("median of %v is %v", order, got)
		}
	}
}

// Water is low when four of the last five answers are 1.4 times the first.
func TestLowAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		last  [5]float64
		first float64
		low   bool
	}{
		{[5]float64{1.4, 1.4, 1.4, 1.4, 1}, 1, true},
		{[5]float64{1, 1.4, 1.4, 1.4, 1}, 1, false},
		{[5]float64{1.3999, 1.4, 1.4, 1.4, 1}, 1, false},
		{[5]float64{9, 9, 9, 9, 9}, 1, true},
		{[5]float64{9, 9, 9, 9, 9}, 0, false},
	} {
		a := answers{last: c.last, first: c.first}
		if a.weigh(); a.low() != c.low {
			t.Errorf("%+v: low %v", c, a.low())
		}
	}
}

// A sum alarms past its threshold and not at it; only what is over the slack
// counts.
func TestCusumAtItsThreshold(t *testing.T) {
	c := Cusum{Slack: 0.5, Threshold: 2}
	if c.Add(2.5) || c.Sum != 2 {
		t.Errorf("an alarm at the threshold, sum %v", c.Sum)
	}
	if !c.Add(0.75) || c.Sum != 2.25 {
		t.Errorf("no alarm past it, sum %v", c.Sum)
	}
	if c.Add(-1) || c.Sum != 0.75 {
		t.Errorf("sum %v", c.Sum)
	}
}

// A signature foretells the innovation: when the water gets, beside what was
// commanded, three quarters of what the filter believes the other pad state
// gives, and nothing is noisy, then the innovation of every block is the
// signature's, and the evidence grows by half its square over the variance.
func TestSignatureForetellsTheInnovation(t *testing.T) {
	for _, learn := range []bool{false, true} {
		var f filter
		f.noise = 0.003
		f.prior(6e-4, 120)
		f.length(10)
		f.begin(29)
		f.x[iD] = -2e-4
		truth := f.x
		var s signature
		s.Sum, s.Threshold = 1, 1e9
		want := 1.0
		for k := range 240 {
			u := float64(k / 40 % 2)
			mean := f.lags(&f.pad, u)
			hyp := f.lags(&s.pad, 1)
			truth[iT] += 10 * (truth[iD] + truth[iG1]*mean[0] + truth[iG2]*mean[1] +
				0.75*(f.x[iG1]*(hyp[0]-mean[0])+f.x[iG2]*(hyp[1]-mean[1])))
			f.predict(mean)
			f.weigh(truth[iT], learn)
			s.add(&f, mean, hyp)
			want += f.nu * f.nu / 2 / f.s
			if !near(s.Sum, want, 0) {
				t.Fatalf("learning %v, block %d: evidence %v, want %v", learn, k, s.Sum, want)
			}
			f.correct()
			for i := range states {
				if math.Abs(s.diff[i]-(truth[i]-f.x[i])) > 1e-12 {
					t.Fatalf("learning %v, block %d: state %d is off by %v, the signature says %v", learn, k, i, truth[i]-f.x[i], s.diff[i])
				}
			}
		}
	}
}

// Evidence against a hypothesis ends it: it begins anew from the pad's present
// state.
func TestSignatureBeginsAnewWhenNothingSpeaksForIt(t *testing.T) {
	var f filter
	f.noise = 0.003
	f.prior(6e-4, 120)
	f.length(10)
	f.begin(29)
	f.pad = [2]float64{0.3, 0.2}
	s := signature{Cusum: Cusum{Sum: 1e-9}, pad: [2]float64{1, 1}, diff: [states]float64{iT: 0.1}}
	f.predict([2]float64{})
	f.weigh(28.8, false)
	s.add(&f, [2]float64{}, [2]float64{1, 1})
	if s.Sum != 0 || s.pad != f.pad || s.diff != ([states]float64{}) {
		t.Errorf("%+v", s)
	}
}
