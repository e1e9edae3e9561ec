package treatment

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

func judge(t testing.TB, r Rules) *Judge {
	t.Helper()
	j, err := NewJudge(r)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

const none = -1000.0

// row is one moment: a time and a value in °C for each probe, none for nothing.
type row struct {
	at     time.Duration
	values []float64
}

func show(j *Judge, rows ...row) {
	for _, r := range rows {
		var list []Reading
		for _, v := range r.values {
			list = append(list, Reading{At: r.at, Value: physic.ZeroCelsius + physic.Temperature(v*1e9), Good: v != none})
		}
		j.Take(r.at, list)
	}
}

func two(hold time.Duration, freeze bool, target int64) Rules {
	return Rules{
		Schedule: Schedule{Target: celsius(target), Hold: hold, Freeze: freeze},
		Probes:   []Probe{{Name: "a", Place: Surface, Uncertainty: 500 * controller.MilliKelvin}, {Name: "b", Place: Surface, Uncertainty: 500 * controller.MilliKelvin}},
		Required: 2, LongestGap: 5 * time.Minute,
	}
}

func held(t *testing.T, j *Judge, want bool, words string) {
	t.Helper()
	v := j.Verdict()
	if v.Held != want || !strings.Contains(v.Reason, words) {
		t.Errorf("held %v, %q; want %v with %q", v.Held, v.Reason, want, words)
	}
}

const m = time.Minute

// Equality counts for the target, for the time and for the gap; a nanokelvin or
// a nanosecond less or more does not.
func TestExactBoundaries(t *testing.T) {
	for _, c := range []struct {
		name     string
		freeze   bool
		target   int64
		v        float64
		off      physic.Temperature
		gap, end time.Duration
		want     bool
	}{
		{"heat, all equal", false, 56, 56.5, 0, 5 * m, 30 * m, true},
		{"heat, a nanokelvin short", false, 56, 56.5, -1, 5 * m, 30 * m, false},
		{"heat, a nanosecond short", false, 56, 56.5, 0, 5 * m, 30*m - 1, false},
		{"heat, gap a nanosecond over", false, 56, 56.5, 0, 5*m + 1, 30 * m, false},
		{"freeze, all equal", true, -18, -18.5, 0, 5 * m, 30 * m, true},
		{"freeze, a nanokelvin short", true, -18, -18.5, 1, 5 * m, 30 * m, false},
		{"freeze, a nanosecond short", true, -18, -18.5, 0, 5 * m, 30*m - 1, false},
		{"freeze, gap a nanosecond over", true, -18, -18.5, 0, 5*m + 1, 30 * m, false},
	} {
		j := judge(t, two(30*m, c.freeze, c.target))
		v := physic.ZeroCelsius + physic.Temperature(c.v*1e9) + c.off
		for at := time.Duration(0); ; at = min(at+c.gap, c.end) {
			j.Take(at, []Reading{{at, v, true}, {at, v, true}})
			if at == c.end {
				break
			}
		}
		if got := j.Verdict().Held; got != c.want {
			t.Errorf("%s: held %v", c.name, got)
		}
	}
}

func TestClockRestarts(t *testing.T) {
	j := judge(t, two(30*m, false, 56))
	show(j, row{0, []float64{57, 50}}, row{5 * m, []float64{57, 57}}, row{10 * m, []float64{57, 57}})
	held(t, j, false, "for 5m0s of the 30m0s asked for: it ended too early")
	if i, _ := j.Limiting(); i != 0 {
		t.Errorf("limiting %d", i)
	}
	// One reading short of the target, the other probe still hot.
	show(j, row{15 * m, []float64{56.4, 57}}, row{20 * m, []float64{57, 57}})
	held(t, j, false, "restarted, the last time at 15m0s by a reading short of the target (a)")
	// No data from b for a second more than the rule.
	show(j, row{25 * m, []float64{57, none}}, row{25*m + time.Second, []float64{57, none}}, row{30 * m, []float64{57, 57}})
	held(t, j, false, "25m1s by no data for longer than the rule allows (b)")
	j.Interrupt(31 * m)
	held(t, j, false, "31m0s by an interruption (all)")
	if len(j.Restarts) != 3 || j.Restarted != 3 || j.Restarts[0].Lost != 5*m {
		t.Errorf("restarts %+v", j.Restarts)
	}
	// A stale reading is no evidence for, but counts against.
	show(j, row{32 * m, []float64{57, 57}}, row{33 * m, []float64{57, 57}})
	j.Take(34*m, []Reading{{33 * m, celsius(20), true}, {34 * m, celsius(57), true}})
	held(t, j, false, "34m0s by a reading short of the target (a)")
	if _, on := j.Together(); on {
		t.Error("a contradiction at the same moment was not heard")
	}
	for n := range 40 {
		show(j, row{time.Duration(40+n) * m, []float64{57, 57}})
	}
	held(t, j, true, "all 2 probes at 56.0 °C (132.8 °F) or above, together for 39m0s of the 30m0s asked for")
	if j.LargestGap() != 10*m || j.Probes[1].LargestGap != 10*m {
		t.Errorf("largest gap %s", j.LargestGap())
	}
	// Afterwards it may cool: what was held was held.
	show(j, row{90 * m, []float64{20, 20}})
	held(t, j, true, "39m0s")
}

func TestManyRestartsAreCountedAndTheWorstKept(t *testing.T) {
	j := judge(t, two(30*m, true, -18))
	at := time.Duration(0)
	hold := func(n int) {
		for k := range n {
			show(j, row{at + time.Duration(k)*m, []float64{-20, -20}})
		}
		at += time.Duration(n) * m
		show(j, row{at, []float64{-10, -20}})
		at += m
	}
	hold(9)
	for range 2 * RestartsMost {
		hold(2)
	}
	hold(12)
	hold(1)
	if len(j.Restarts) != RestartsMost || j.Restarted != 2*RestartsMost+3 {
		t.Errorf("%d kept, %d counted", len(j.Restarts), j.Restarted)
	}
	if j.Restarts[0].Lost != 8*m || j.Restarts[RestartsMost-1].Lost != 11*m || j.LastRestart.Lost != 0 {
		t.Errorf("%+v", j.Restarts)
	}
	held(t, j, false, j.LastRestart.At.String())
}

func TestProbeLoss(t *testing.T) {
	start := func(required int, lead float64) *Judge {
		r := two(30*m, false, 56)
		r.Required = required
		j := judge(t, r)
		for n := range 10 {
			show(j, row{time.Duration(n) * m, []float64{58 + lead, 58}})
		}
		for n := 10; n < 40; n++ {
			show(j, row{time.Duration(n) * m, []float64{none, 58}})
		}
		return j
	}
	j := start(1, 1)
	held(t, j, true, "all 1 remaining probes (1 dropped) at 56.0 °C (132.8 °F) or above, together for 39m0s")
	if !j.Probes[0].Dropped || j.Probes[0].DroppedAt != 15*m {
		t.Errorf("%+v", j.Probes[0])
	}
	held(t, start(1, 0.9), false, "no data")
	held(t, start(2, 1), false, "no data")
	// A dropped probe that speaks again is heard again.
	show(j, row{40 * m, []float64{30, 58}})
	if j.Probes[0].Dropped || j.Probes[0].Holds {
		t.Error("it stayed dropped")
	}
	if len(j.Restarts) != 1 || j.Restarts[0].Why != CameBack {
		t.Errorf("%+v", j.Restarts)
	}
}

func TestProbeLossOfThreeAndInFreezing(t *testing.T) {
	r := two(30*m, true, -18)
	r.Probes = append(r.Probes, Probe{Name: "c", Place: Surface}, Probe{Name: "air", Place: Air})
	r.Required = 2
	j := judge(t, r)
	for n := range 40 {
		v := []float64{-22, -20, -19, -25}
		if n >= 10 {
			v[0] = none
		}
		show(j, row{time.Duration(n) * m, v})
	}
	held(t, j, true, "all 2 remaining probes (1 dropped) at −18.0 °C (−0.4 °F) or below, together for 39m0s")
	// The next one may not go too.
	for n := 40; n < 60; n++ {
		show(j, row{time.Duration(n) * m, []float64{none, none, -19, -25}})
	}
	if j.Probes[1].Dropped || j.Probes[1].Holds {
		t.Error("fewer than required remain")
	}
	if j.Probes[3].Coldest != celsius(-25) || j.Probes[3].Lethality != 0 {
		t.Errorf("%+v", j.Probes[3])
	}
}

func TestVerdictsBeforeTheEnd(t *testing.T) {
	j := judge(t, two(30*m, false, 56))
	held(t, j, false, "there are no readings")
	show(j, row{0, []float64{20, none}})
	held(t, j, false, "b gave no reading")
	show(j, row{m, []float64{20, 57}})
	held(t, j, false, "a never got there, 36.5 K was missing in the end")
	j.Take(2*m, nil)
	if j.Now != 2*m {
		t.Error("the clock stands still without readings")
	}
}

func cores(plan ...Probe) Rules {
	r := two(30*m, false, 56)
	r.Probes = nil
	for i, p := range plan {
		p.Name, p.Place = string(rune('a'+i)), Core
		r.Probes = append(r.Probes, p)
	}
	r.Probes = append(r.Probes, Probe{Name: "air", Place: Air})
	r.Required = len(plan)
	return r
}

func TestImplausiblyQuickCore(t *testing.T) {
	for _, c := range []struct {
		at   time.Duration
		want Doubt
	}{{30*m - 1, TooQuick}, {30 * m, NoDoubt}} {
		j := judge(t, cores(Probe{Planned: time.Hour}))
		show(j, row{0, []float64{20, 20}}, row{c.at, []float64{57, 59}})
		if got := j.Probes[0].Doubt; got != c.want {
			t.Errorf("at the target after %s: %v", c.at, got)
		}
	}
	j := judge(t, cores(Probe{Planned: time.Hour}))
	for n := range 100 {
		show(j, row{time.Duration(n) * m, []float64{57, 57}})
	}
	if v := j.Verdict(); v.Held || !v.Review || !strings.Contains(v.Reason, "for review: a was at the target in under half") {
		t.Errorf("%+v", v)
	}
}

func TestCoreThatFollowsTheAir(t *testing.T) {
	for _, c := range []struct {
		core float64 // K behind the air
		want Doubt
	}{{1, LikeAir}, {4, NoDoubt}} {
		j := judge(t, cores(Probe{Planned: time.Hour, Lag: 12 * controller.Kelvin}))
		for n := range 60 {
			air := 20 + float64(n)
			show(j, row{time.Duration(n) * m, []float64{air - c.core, air}})
		}
		if got := j.Probes[0].Doubt; got != c.want {
			t.Errorf("%g K behind: %v", c.core, got)
		}
	}
	// In freezing it must stay warmer than the air.
	r := cores(Probe{Lag: 12 * controller.Kelvin})
	r.Schedule.Freeze, r.Schedule.Target = true, celsius(-18)
	j := judge(t, r)
	for n := range 45 {
		show(j, row{time.Duration(n) * m, []float64{20.5 - float64(n), 20 - float64(n)}})
	}
	if j.Probes[0].Doubt != LikeAir || !strings.Contains(j.Verdict().Reason, "followed the air") {
		t.Errorf("%+v", j.Probes[0])
	}
}

func TestCoreThatLeaps(t *testing.T) {
	for _, c := range []struct {
		by   float64
		want Doubt
	}{{0.6, NoDoubt}, {1.3, Leapt}, {-1.3, Leapt}} {
		j := judge(t, cores(Probe{Lag: 12 * controller.Kelvin, Steepest: 200 * controller.MilliKelvin}))
		for n := range 600 {
			v := 40.0
			if n >= 300 {
				v += c.by
			}
			show(j, row{time.Duration(n) * time.Second, []float64{v, 55}})
		}
		if got := j.Probes[0].Doubt; got != c.want {
			t.Errorf("by %g K: %v", c.by, got)
		}
	}
	if NoDoubt.String() != "no doubt" || !strings.Contains(Leapt.String(), "came out of its core") {
		t.Error("words")
	}
}
