package treatment

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

const mK = controller.MilliKelvin

// step shows one moment in which every reading is of that moment; nil is none.
func step(j *Judge, at time.Duration, values ...any) {
	list := make([]Reading, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case int:
			list[i] = Reading{at, celsius(int64(v)), true}
		case float64:
			list[i] = Reading{at, physic.ZeroCelsius + physic.Temperature(math.Round(v*1e9)), true}
		case physic.Temperature:
			list[i] = Reading{at, v, true}
		}
	}
	j.Take(at, list)
}

// one is a schedule for a single core, listed before the air that it is
// compared with.
func one(plan Probe, freeze bool) Rules {
	r := cores(plan)
	if freeze {
		r.Schedule.Freeze, r.Schedule.Target = true, celsius(-18)
	}
	return r
}

// A core must have stayed behind the air by a third of the planned lag, and a
// planned lag under 1.5 K proves nothing: common practice, no published source.
func TestHowFarACoreMustStayBehindTheAir(t *testing.T) {
	for _, c := range []struct {
		name   string
		lag    controller.Difference
		behind controller.Difference
		want   Doubt
	}{
		{"never behind, lag just too small to tell", 1500*mK - 1, 0, NoDoubt},
		{"never behind, smallest lag that tells", 1500 * mK, 0, LikeAir},
		{"a hair less than a third behind", 1500 * mK, 500*mK - 1, LikeAir},
		{"a third behind", 1500 * mK, 500 * mK, NoDoubt},
		{"a third of a large lag", 12 * controller.Kelvin, 4 * controller.Kelvin, NoDoubt},
	} {
		for _, freeze := range []bool{false, true} {
			j := judge(t, one(Probe{Lag: c.lag}, freeze))
			air := physic.Temperature(celsius(40))
			core := controller.Below(air, c.behind)
			end := celsius(56)
			if freeze {
				air = celsius(0)
				core, end = controller.Above(air, c.behind), celsius(-18)
			}
			step(j, 5*time.Second, core, air)
			step(j, 20*m, end, end)
			if got := j.Probes[0].Doubt; got != c.want || j.Probes[0].Behind != c.behind {
				t.Errorf("%s, freezing %v: %v, %d behind", c.name, freeze, got, j.Probes[0].Behind)
			}
		}
	}
}

// What happens after a core arrived says nothing about how it got there.
func TestBehindTheAirCountsUntilTheCoreArrives(t *testing.T) {
	j := judge(t, one(Probe{Lag: 12 * controller.Kelvin}, false))
	step(j, 0, 40, 45)
	step(j, 20*m, 56, 56)
	step(j, 21*m, 57, 65)
	if j.Probes[0].Behind != 5*controller.Kelvin {
		t.Errorf("%d", j.Probes[0].Behind)
	}
	// An air probe that speaks late leaves the first minutes without an answer.
	j = judge(t, one(Probe{Lag: 12 * controller.Kelvin}, true))
	step(j, 0, 20, nil)
	step(j, m, 15, 15)
	step(j, 30*m, -18, -18)
	if j.Probes[0].Doubt != LikeAir {
		t.Error("a core that froze with the air is believed because the air was unknown at first")
	}
	// And without air there is nothing to compare with.
	j = judge(t, one(Probe{Lag: 12 * controller.Kelvin}, false))
	step(j, 0, 20, nil)
	step(j, 30*m, 56, nil)
	if j.Probes[0].Doubt != NoDoubt {
		t.Error("a core is doubted for following an air that nobody measured")
	}
}

// The air is compared with for half a minute after its last reading.
func TestHowOldTheAirMayBe(t *testing.T) {
	for _, c := range []struct {
		age    time.Duration
		behind controller.Difference
	}{{30 * time.Second, 7 * controller.Kelvin}, {30*time.Second + 1, 0}} {
		j := judge(t, one(Probe{Lag: 12 * controller.Kelvin}, false))
		step(j, 0, nil, 50)
		step(j, c.age, 43, nil)
		if j.Probes[0].Behind != c.behind {
			t.Errorf("air %s old: %d behind", c.age, j.Probes[0].Behind)
		}
	}
}

// Half of the planned time counts from the first moment of the treatment, on
// whatever clock.
func TestHalfThePlannedTimeCountsFromTheStart(t *testing.T) {
	for _, c := range []struct {
		planned, start, arrives time.Duration
		want                    Doubt
	}{
		{time.Hour, 10 * m, 40*m - 1, TooQuick},
		{time.Hour, 10 * m, 40 * m, NoDoubt},
		{0, 10 * m, 10*m + 1, NoDoubt},
	} {
		j := judge(t, one(Probe{Planned: c.planned}, false))
		step(j, c.start, 20, 20)
		step(j, c.arrives, 56, 60)
		if got := j.Probes[0].Doubt; got != c.want {
			t.Errorf("planned %s, %s after the start: %v", c.planned, c.arrives-c.start, got)
		}
	}
	// A probe without a plan whose first reading is older than the first moment.
	j := judge(t, one(Probe{}, false))
	j.Take(10*m, []Reading{{10*m - time.Second, celsius(57), true}})
	if j.Probes[0].Doubt != NoDoubt {
		t.Error("a probe without a plan is doubted for being quick")
	}
}

// Only a core can be doubted, and its first doubt is the one that is told.
func TestDoubtsBelongToCoresAndStay(t *testing.T) {
	r := one(Probe{Planned: time.Hour, Lag: 12 * controller.Kelvin, Steepest: 100 * mK}, false)
	j := judge(t, r)
	step(j, 0, 20, 20)
	step(j, 10*m, 57, 57)
	for n := range 10 {
		step(j, 20*m+time.Duration(n)*30*time.Second, 57+n, 57)
	}
	if p := j.Probes[0]; p.Doubt != TooQuick || p.DoubtAt != 10*m {
		t.Errorf("%v at %s", p.Doubt, p.DoubtAt)
	}
	r.Probes[0].Place = Surface
	j = judge(t, r)
	step(j, 0, 20, 20)
	step(j, 10*m, 57, 57)
	if p := j.Probes[0]; p.Doubt != NoDoubt {
		t.Errorf("a surface may follow the air: %v", p.Doubt)
	}
}

// A core that may move 0.6 K in a minute may have moved three times as far in
// the minute between two readings, and 0.4 K for the noise: 2.2 K.
func TestHowFarACoreMayMoveInAMinute(t *testing.T) {
	for _, c := range []struct {
		name     string
		lag      controller.Difference
		steepest controller.Difference
		by       controller.Difference
		want     Doubt
	}{
		{"as far as it may", 12 * controller.Kelvin, 600 * mK, 2200 * mK, NoDoubt},
		{"a hair farther", 12 * controller.Kelvin, 600 * mK, 2200*mK + 1, Leapt},
		{"a hair farther down", 12 * controller.Kelvin, 600 * mK, -2200*mK - 1, Leapt},
		{"as far down as it may", 12 * controller.Kelvin, 600 * mK, -2200 * mK, NoDoubt},
		{"nothing planned of its steepness", 12 * controller.Kelvin, 0, 9 * controller.Kelvin, NoDoubt},
		{"nothing planned of its lag", 0, 600 * mK, 9 * controller.Kelvin, NoDoubt},
	} {
		j := judge(t, one(Probe{Lag: c.lag, Steepest: c.steepest}, false))
		step(j, 0, 40, 50)
		step(j, 30*time.Second, 40, 50)
		step(j, 60*time.Second, controller.Above(celsius(40), c.by), 50)
		if p := j.Probes[0]; p.Doubt != c.want || c.want == Leapt && p.DoubtAt != time.Minute {
			t.Errorf("%s: %v at %s", c.name, p.Doubt, p.DoubtAt)
		}
	}
}

// Readings are compared over at most a minute and a half.
func TestReadingsFarApartCannotLeap(t *testing.T) {
	for _, c := range []struct {
		last time.Duration
		want Doubt
	}{{90 * time.Second, Leapt}, {90*time.Second + 1, NoDoubt}} {
		j := judge(t, one(Probe{Lag: 12 * controller.Kelvin, Steepest: 600 * mK}, false))
		step(j, 0, 40, 50)
		step(j, 30*time.Second, 40, 50)
		step(j, c.last, 48, 50)
		if p := j.Probes[0]; p.Doubt != c.want {
			t.Errorf("after %s: %v", c.last, p.Doubt)
		}
	}
}

// A moment that was shown before is no evidence for anything.
func TestAMomentCountsOnce(t *testing.T) {
	j := judge(t, two(30*m, false, 56))
	step(j, 0, 57, 57)
	step(j, m, 58, 58)
	step(j, m, 60, 60)
	p := &j.Probes[0]
	if p.Readings != 2 || p.Hottest != celsius(58) || p.Coldest != celsius(57) {
		t.Errorf("%d readings, %s to %s", p.Readings, Words(p.Coldest), Words(p.Hottest))
	}
	step(j, 2*m, 50, 57)
	step(j, 3*m, 59, 57)
	if p.Readings != 4 || p.Hottest != celsius(59) || p.Coldest != celsius(50) {
		t.Errorf("%d readings, %s to %s", p.Readings, Words(p.Coldest), Words(p.Hottest))
	}
}

// The longest stretch stays when a shorter or an equal one follows.
func TestTheLongestStretchIsKept(t *testing.T) {
	j := judge(t, two(60*m, false, 56))
	at := time.Duration(0)
	for _, minutes := range []int{4, 10, 3, 10} {
		for k := range minutes + 1 {
			step(j, at+time.Duration(k)*m, 57, 57)
		}
		at += time.Duration(minutes+1) * m
		step(j, at, 50, 50)
		at += m
	}
	want := Stretch{6 * m, 16 * m}
	if j.Longest != want || j.Probes[0].Longest != want {
		t.Errorf("together %v, the first probe %v, want %v", j.Longest, j.Probes[0].Longest, want)
	}
}

// At the reference a minute counts one minute, and a z below it a tenth of one:
// the definition of z.
func TestLethalityOfReadingsAndOfTheirLowerEnds(t *testing.T) {
	r := two(30*m, false, 56)
	r.Probes[0].Uncertainty = 4 * controller.Kelvin
	r.Lethality = Usual()
	j := judge(t, r)
	for n := range 11 {
		step(j, time.Duration(n)*m, 56, 56)
	}
	p := &j.Probes[0]
	if math.Abs(p.Lethality-10) > 1e-12 || math.Abs(p.Least-1) > 1e-12 {
		t.Errorf("%g min and at least %g, want 10 and 1", p.Lethality, p.Least)
	}
	r.Lethality.Reference = 0
	j = judge(t, r)
	step(j, 0, 56, 56)
	step(j, m, 56, 56)
	if j.Probes[0].Lethality != 0 {
		t.Error("a lethality without a reference")
	}
	r = two(30*m, true, -18)
	r.Lethality = Usual()
	j = judge(t, r)
	step(j, 0, 56, 56)
	step(j, m, 56, 56)
	if j.Probes[0].Lethality != 0 {
		t.Error("a lethality of heat in a freezer")
	}
	below := Constants{Reference: celsius(56), Below: 4 * controller.Kelvin}
	if below.Rate(celsius(56)) != 1 || below.Rate(celsius(56)+1) != 0 {
		t.Error("at the reference a minute counts one minute, above it nothing without a z")
	}
	if got := powerOfTen(300); math.Abs(got/1e300-1) > 1e-12 {
		t.Errorf("10^300 is %g", got)
	}
	if got := powerOfTen(-300); math.Abs(got/1e-300-1) > 1e-12 {
		t.Errorf("10^-300 is %g", got)
	}
}

// The clock restarts only when it ran: when every probe that counts held.
func TestOnlyARunningClockRestarts(t *testing.T) {
	r := cores(Probe{}, Probe{})
	j := judge(t, r)
	step(j, 0, 57, 50, 60)
	step(j, m, 50, 50, 60)
	if j.Restarted != 0 {
		t.Error("a clock that never ran was restarted by one probe")
	}
	step(j, 2*m, 57, 57, 60)
	step(j, 3*m, 57, 57, 40)
	if j.Restarted != 0 {
		t.Error("the air restarted the clock")
	}
	step(j, 4*m, 57, 50, 60)
	if j.Restarted != 1 || j.LastRestart != (Restart{At: 4 * m, Probe: 1, Why: FellOut, Lost: m}) {
		t.Errorf("%d restarts, the last %+v", j.Restarted, j.LastRestart)
	}
	// The readings of two probes that do not overlap are not together.
	j = judge(t, r)
	j.Take(0, []Reading{{0, celsius(57), true}, {}, {}})
	j.Take(2*m, []Reading{{}, {2 * m, celsius(57), true}, {}})
	if s, on := j.Together(); on {
		t.Errorf("together in %v", s)
	}
	j.Take(3*m, []Reading{{3 * m, celsius(57), true}, {}, {}})
	if s, on := j.Together(); !on || s != (Stretch{2 * m, 2 * m}) {
		t.Errorf("together in %v, %v", s, on)
	}
}

// When more clocks are restarted than are kept, the smallest loss goes, of equal
// ones the oldest; one that lost no more than any that is kept is only counted.
func TestWhichRestartsAreKept(t *testing.T) {
	j := judge(t, two(time.Hour, false, 56))
	for n := range RestartsMost {
		j.note(Restart{At: time.Duration(n), Lost: m})
	}
	j.note(Restart{At: 1000, Lost: m})
	if j.Restarts[0].At != 0 || j.Restarts[RestartsMost-1].At != RestartsMost-1 || j.Restarted != RestartsMost+1 || j.LastRestart.At != 1000 {
		t.Errorf("an equal loss: kept %+v", j.Restarts)
	}
	j.note(Restart{At: 2000, Lost: 2 * m})
	if j.Restarts[0].At != 1 || j.Restarts[RestartsMost-1].At != 2000 || len(j.Restarts) != RestartsMost {
		t.Errorf("a larger loss: kept %+v", j.Restarts)
	}
}

// Before any probe that counts has arrived all come from the same room, and
// nobody leads; afterwards a lead must be a whole kelvin.
func TestWhenLeadingCounts(t *testing.T) {
	r := cores(Probe{}, Probe{})
	r.Required = 1
	for _, c := range []struct {
		name    string
		lead    controller.Difference
		dropped bool
	}{{"a kelvin", controller.Kelvin, true}, {"a hair less", controller.Kelvin - 1, false}} {
		j := judge(t, r)
		// The air arrives first, while both cores are equally cold.
		step(j, 0, 20, 20, 60)
		step(j, m, 50, 50, 60)
		step(j, 2*m, controller.Above(celsius(57), c.lead), 57, 60)
		if p := &j.Probes[0]; p.Led != 1 || p.Leading != c.dropped {
			t.Errorf("%s: led %d times, leading %v", c.name, p.Led, p.Leading)
		}
		step(j, 7*m, nil, 57, 60)
		if j.Probes[0].Dropped {
			t.Errorf("%s: dropped although silent for no longer than the rule allows", c.name)
		}
		if p := &j.Probes[0]; p.Led != 2 {
			t.Errorf("%s: a reading of five minutes ago still compares: led %d times", c.name, p.Led)
		}
		step(j, 7*m+1, nil, 57, 60)
		if j.Probes[0].Dropped != c.dropped {
			t.Errorf("%s: dropped %v", c.name, j.Probes[0].Dropped)
		}
	}
}

// A silent probe that may not be dropped is not compared with either.
func TestSilentProbesDoNotLead(t *testing.T) {
	r := cores(Probe{}, Probe{})
	j := judge(t, r)
	step(j, 0, 60, 57, 60)
	step(j, 5*m+1, nil, 57, 60)
	step(j, 6*m, nil, 62, 60)
	if p := &j.Probes[0]; p.Led != 1 || !p.Leading || p.Dropped || p.Holds {
		t.Errorf("%+v", p)
	}
	// One that fell out before it fell silent is not dispensable.
	r.Required = 1
	j = judge(t, r)
	step(j, 0, 59, 57, 60)
	step(j, m, 55, 53, 60)
	step(j, 7*m, nil, 57, 60)
	if j.Probes[0].Dropped {
		t.Error("a probe that was short of the target was dropped")
	}
}

// A verdict names the first probe as readily as any other.
func TestVerdictNamesTheProbeThatIsMissing(t *testing.T) {
	j := judge(t, two(30*m, false, 56))
	step(j, 0, nil, 57)
	held(t, j, false, "a gave no reading")
	step(j, m, 20, 57)
	held(t, j, false, "a never got there, 36.5 K was missing in the end")
	step(j, 2*m, 57, 57)
	step(j, 3*m, 50, 57)
	held(t, j, false, "the last time at 3m0s by a reading short of the target (a)")
}

// Equality is allowed at both ends of what a chamber and a freezer can.
func TestTheLimitingProbeIsFarthestBehind(t *testing.T) {
	r := cores(Probe{}, Probe{}, Probe{})
	r.Probes[0], r.Probes[3] = r.Probes[3], r.Probes[0] // the air comes first
	j := judge(t, r)
	for _, c := range []struct {
		name   string
		values []any
		probe  int
		behind controller.Difference
	}{
		{"two gave no reading", []any{60, 20, nil, nil}, 2, 0},
		{"one gave no reading", []any{60, 20, 20, nil}, 3, 0},
		{"none arrived", []any{60, 20, 18, 19}, 2, 38 * controller.Kelvin},
		{"one arrived and cooled again", []any{60, 50, 57, 54}, 1, 6 * controller.Kelvin},
		{"it alone never arrived", []any{60, 57, 20, 55}, 3, controller.Kelvin},
		{"all arrived", []any{60, 58, 57, 59}, 2, -1 * controller.Kelvin},
		{"equally far", []any{60, 57, 57, 59}, 1, -1 * controller.Kelvin},
	} {
		step(j, j.Now+m, c.values...)
		if i, behind := j.Limiting(); i != c.probe || behind != c.behind {
			t.Errorf("%s: probe %d, %d behind", c.name, i, behind)
		}
	}
}

func TestSchedulesOfOnesOwnAtTheEdges(t *testing.T) {
	for _, s := range []Schedule{
		{Target: celsius(65), Hold: 30 * time.Minute},
		{Target: celsius(45), Hold: 48 * time.Hour},
		{Target: celsius(50) - 1, Hold: 48 * time.Hour},
		{Target: celsius(55) - 1, Hold: 5 * time.Hour},
		{Freeze: true, Target: celsius(-40), Hold: 7 * day},
		{Freeze: true, Target: celsius(-30) + 1, Hold: 14 * day},
	} {
		if why := s.RefusalOf(); why != "" {
			t.Errorf("%+v: %s", s, why)
		}
	}
	for _, s := range []Schedule{
		{Target: celsius(65) + 1, Hold: 30 * time.Minute},
		{Target: celsius(65), Hold: 30*time.Minute - 1},
		{Target: celsius(45) - 1, Hold: 1000 * time.Hour},
		{Target: celsius(50) - 1, Hold: 48*time.Hour - 1},
		{Target: celsius(55) - 1, Hold: 5*time.Hour - 1},
		{Freeze: true, Target: celsius(-40) - 1, Hold: 14 * day},
		{Freeze: true, Target: celsius(-30), Hold: 7*day - 1},
		{Freeze: true, Target: celsius(-30) + 1, Hold: 14*day - 1},
		{Freeze: true, Target: celsius(-18) + 1, Hold: 100 * day},
	} {
		if s.RefusalOf() == "" {
			t.Errorf("%+v is not refused", s)
		}
	}
}

func TestTheMostProbesAndTheLongestGap(t *testing.T) {
	r := two(30*m, false, 56)
	r.LongestGap = time.Hour
	if _, err := NewJudge(r); err != nil {
		t.Error(err)
	}
	r.Probes = make([]Probe, 64)
	if _, err := NewJudge(r); err != nil {
		t.Error(err)
	}
}
