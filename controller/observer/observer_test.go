package observer

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"
)

func good() Params {
	return Params{Gain: 6e-4, Coast: 120, Flux: 250, Depth: 0.06, SetPoint: setPointC, Differential: differential,
		HasFloor: true, Series: OwnSeries, Seed: 3}
}

func TestNewRefusesWhatIsNoTub(t *testing.T) {
	for name, change := range map[string]func(*Params){
		"gain":         func(p *Params) { p.Gain = 0 },
		"coast":        func(p *Params) { p.Coast = -1 },
		"set point":    func(p *Params) { p.SetPoint = math.NaN() },
		"differential": func(p *Params) { p.Differential = math.Inf(1) },
		"depth":        func(p *Params) { p.Depth = -0.1 },
		"flux":         func(p *Params) { p.Flux = -1 },
	} {
		p := good()
		change(&p)
		if _, err := New(p); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error is %v, want one that names it", name, err)
		}
	}
	p := good()
	p.Coast, p.Depth, p.Flux = 0, 0, 0
	o, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	if o.params.Coast != 120 || o.params.Depth != 0.15 {
		t.Errorf("coast %v and depth %v by default, want 120 s and 0.15 m", o.params.Coast, o.params.Depth)
	}
}

// Before three cycles nothing learned is used: the configured gain, half as
// much coast again, and no switching off early.
func TestNothingIsTrustedAtFirst(t *testing.T) {
	o, err := New(good())
	if err != nil {
		t.Fatal(err)
	}
	if o.Trusted() || o.Gain() != 6e-4 || o.Coast() != 180 || o.Early() != 0 || o.Drift() != 0 {
		t.Errorf("trusted %v gain %v coast %v early %v drift %v", o.Trusted(), o.Gain(), o.Coast(), o.Early(), o.Drift())
	}
	for _, now := range []time.Duration{1, 1, 2} { // the second brings nothing
		if v := o.Step(&Input{Now: now * time.Second}); v != Learning {
			t.Errorf("verdict %d at the start, want %d", v, Learning)
		}
	}
	if _, known := o.Ratio(); known {
		t.Error("a ratio is known before any answer")
	}
}

// A calm tub: gain and coast come out within the span that notes of the
// method give after a day (−20 … +25 %, nuisances included), and the
// anticipation stays in its bounds.
func TestGainIsLearned(t *testing.T) {
	for seed := range uint64(6) {
		b := newBench(400+seed, true, false)
		b.calm = true
		b.run(20 * 3600)
		if !b.o.Trusted() {
			t.Errorf("seed %d: not trusted after 20 h", seed)
			continue
		}
		if r := b.o.Gain() / b.gain(); r < 0.75 || r > 1.3 {
			t.Errorf("seed %d: learned gain is %.2f of the true one", seed, r)
		}
		if e := b.o.Early(); e < 0 || e > earlyMost {
			t.Errorf("seed %d: early is %v K", seed, e)
		}
		if b.verdict != Quiet || b.o.Findings() != (Findings{Jumped: None, Frozen: None, FloorBlind: b.o.Findings().FloorBlind, OffGain: b.o.Findings().OffGain}) {
			t.Errorf("seed %d: verdict %d findings %+v in a calm tub", seed, b.verdict, b.o.Findings())
		}
		if r, known := b.o.Ratio(); !known || r < 0.75 || r > 1.33 {
			t.Errorf("seed %d: ratio %v, %v in a tub that lost nothing", seed, r, known)
		}
		b.o.Filled()
		if _, known := b.o.Ratio(); known {
			t.Errorf("seed %d: a ratio is known right after a fill", seed)
		}
	}
}

// A tub that loses more than half its water answers more strongly.
func TestLessWaterAnswersMore(t *testing.T) {
	low, tubs := 0, 0
	for seed := range uint64(12) {
		b := newBench(700+seed, false, false)
		b.calm = true
		b.run(16 * 3600)
		if _, known := b.o.Ratio(); !known {
			continue
		}
		tubs++
		b.cap[2] *= 0.45
		b.run(12 * 3600)
		if b.o.Findings().Low {
			low++
			if r, _ := b.o.Ratio(); r < answerLow {
				t.Errorf("seed %d: low at a ratio of %v", seed, r)
			}
		}
	}
	if tubs < 6 || low*2 < tubs {
		t.Errorf("water low found in %d of %d tubs, want half", low, tubs)
	}
}

// One seed is one run: the bytes of two observers that saw the same are the
// same, and a saved one gives the same bytes again.
func TestSameInputsSameBytes(t *testing.T) {
	a, b := newBench(31, true, false), newBench(31, true, false)
	for range 6 {
		a.run(3 * 3600)
		b.run(3 * 3600)
		x, y := a.o.Save(), b.o.Save()
		if !bytes.Equal(x, y) {
			t.Fatal("two observers that saw the same differ")
		}
		c, err := New(a.o.params)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Restore(x); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(c.Save(), x) {
			t.Fatal("restored state saves as other bytes")
		}
		if c.Trusted() != a.o.Trusted() || c.Gain() != a.o.Gain() || c.Coast() != a.o.Coast() {
			t.Error("what was learned did not survive")
		}
	}
}

func TestRestoreRefusesAndChangesNothing(t *testing.T) {
	b := newBench(5, true, false)
	b.run(8 * 3600)
	saved := b.o.Save()
	other := good()
	other.Gain = b.o.params.Gain / 9
	wrong, err := New(other)
	if err != nil {
		t.Fatal(err)
	}
	set := func(word int, v uint64) []byte {
		c := bytes.Clone(saved)
		for i := range 8 {
			c[8*word+i] = byte(v >> (56 - 8*i))
		}
		return c
	}
	for name, c := range map[string]struct {
		o    *Observer
		b    []byte
		says string
	}{
		"empty":         {b.o, nil, "bytes"},
		"cut":           {b.o, saved[:len(saved)-3], "bytes"},
		"long":          {b.o, append(bytes.Clone(saved), 0), "bytes"},
		"version":       {b.o, set(0, 99), "version"},
		"not a number":  {b.o, set(6, math.Float64bits(math.NaN())), "noise"},
		"negative":      {b.o, set(3, math.Float64bits(-1)), "variance"},
		"stage":         {b.o, set(9, 17), "stage"},
		"gain":          {b.o, set(1, math.Float64bits(2)), "gain"},
		"another tub's": {wrong, saved, "another tub"},
	} {
		before := c.o.Save()
		err := c.o.Restore(c.b)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error is %v, want one about %q", name, err, c.says)
		}
		if !bytes.Equal(before, c.o.Save()) {
			t.Errorf("%s: refused and changed", name)
		}
	}
}

// Evidence survives a restart: a proven weld is proven, a running test goes on.
func TestEvidenceSurvivesARestart(t *testing.T) {
	for _, floor := range []bool{true, false} {
		b := newBench(77, floor, false)
		b.calm = true
		b.run(12 * 3600)
		b.welded = true
		for range 7200 {
			if b.tick(); b.o.Findings().Unasked {
				break
			}
		}
		if !b.o.Findings().Unasked {
			t.Fatal("no weld found")
		}
		o, err := New(b.o.params)
		if err != nil {
			t.Fatal(err)
		}
		if err := o.Restore(b.o.Save()); err != nil {
			t.Fatal(err)
		}
		if !o.Findings().Unasked || !o.Advice().OpenSeries {
			t.Errorf("floor %v: after a restart %+v %+v", floor, o.Findings(), o.Advice())
		}
		b.o = o
		for range 8 * 1800 {
			if b.tick(); b.verdict == ProvenUnasked {
				break
			}
		}
		if b.verdict != ProvenUnasked {
			t.Errorf("floor %v: not proven after the restart, verdict %d", floor, b.verdict)
		}
		b.o.Acquit()
		if b.o.Findings().Unasked || b.o.Advice() != (Advice{}) {
			t.Error("acquitted and still accused")
		}
	}
}

// The water over the set point in a weld of a tub without nuisances, with the
// observer's advice alone, in the promised envelope.
func TestWeldStaysUnderOneKelvin(t *testing.T) {
	for seed := range uint64(12) {
		b := newBench(900+seed, seed%2 == 0, false)
		b.calm = true
		b.run(10 * 3600)
		b.welded = true
		for range 4 * 1800 {
			b.tick()
			if over := b.mean() - setPointC; over > 1 {
				t.Fatalf("seed %d: water %.2f K over the set point", seed, over)
			}
		}
	}
}

// A shared series relay is never toggled, and a station without one gets no
// advice that it cannot follow but is told all the same.
func TestOtherSeriesRelays(t *testing.T) {
	for _, kind := range []SeriesKind{SharedSeries, NoSeries} {
		b := newBench(61, false, false)
		b.calm = true
		p := b.o.params
		p.Series = kind
		o, err := New(p)
		if err != nil {
			t.Fatal(err)
		}
		b.o, b.ignore = o, true
		b.run(10 * 3600)
		b.welded = true
		found := false
		for range 2 * 1800 {
			b.tick()
			found = found || b.o.Findings().Unasked
			if b.o.Advice().CloseSeries {
				t.Fatal("a relay that is not its own was to be toggled")
			}
		}
		if !found {
			t.Errorf("kind %d: no weld found", kind)
		}
		// Healthy again, the natural cycle acquits.
		b.welded = false
		for range 10 * 1800 {
			if b.tick(); !b.o.Findings().Unasked {
				break
			}
		}
		if b.verdict >= SuspectUnasked && b.verdict < ProvenUnasked {
			t.Errorf("kind %d: suspected after hours of obedience", kind)
		}
	}
}

// Sun on a healthy tub ends as heat from outside, or as nothing; never proven.
func TestSunIsNoWeld(t *testing.T) {
	outside := 0
	for seed := range uint64(8) {
		b := newBench(300+seed, seed%2 == 0, false)
		b.calm = true
		b.run(10 * 3600)
		b.sun, b.sunW = 3*3600, b.power
		for range 3 * 1800 {
			b.tick()
			if b.verdict == ProvenUnasked {
				t.Fatalf("seed %d: sun proven as a weld", seed)
			}
			if b.verdict == OutsideHeat {
				outside++
				break
			}
		}
	}
	if outside < 5 {
		t.Errorf("sun was named as heat from outside in %d of 8 tubs", outside)
	}
}

// Crossed tubs: the pad here heats elsewhere, and another command heats here.
func TestCrossedTubsAreHintedAt(t *testing.T) {
	hinted := 0
	for seed := range uint64(6) {
		b := newBench(500+seed, true, false)
		b.calm, b.ignore = true, true
		b.run(10 * 3600)
		for k := range 6 * 1800 {
			// The other tub's control heats here, twelve minutes in thirty.
			other := k%900 < 360
			b.welded, b.plant.dead = other, !other
			if b.tick(); b.o.Findings().Crossed {
				hinted++
				break
			}
		}
	}
	if hinted < 3 {
		t.Errorf("crossed tubs hinted at in %d of 6", hinted)
	}
}

// A floor probe that hangs in the water does not feel the pad, says so, and
// proves nothing.
func TestFloorOutOfPlaceIsBlind(t *testing.T) {
	b := newBench(8, true, false)
	b.calm = true
	b.misplaced = true
	b.run(30 * 3600)
	if !b.o.Findings().FloorBlind || b.o.floor.ready() {
		t.Errorf("blind %v ready %v, rise %.2f K", b.o.Findings().FloorBlind, b.o.floor.ready(), b.o.floor.rise)
	}
}

// One in-water probe: weld and dead pad are still found; a frozen one when
// heat and no heat both left it standing.
func TestOneProbe(t *testing.T) {
	b := newBench(41, false, false)
	b.guard, b.calm = false, true
	b.believed[1] = false
	b.run(10 * 3600)
	b.welded = true
	found := false
	for range 2 * 1800 {
		b.tick()
		found = found || b.o.Findings().Unasked
	}
	if !found {
		t.Error("no weld found with one probe")
	}
	b = newBench(41, false, false)
	b.guard, b.calm = false, true
	b.run(10 * 3600)
	b.probes[Control].frozen = true
	found = false
	for k := range 4 * 1800 { // a person switches by hand: the reading never would
		b.plant.step(2, b.pad, true)
		b.pad = k%1200 < 600
		b.o.Step(pointer(b.input(b.pad, false)))
		found = found || b.o.Findings().Frozen == Control
	}
	if !found {
		t.Error("the only probe stood still through heat and no heat, and was not found frozen")
	}
}

// Gaps, silent probes and attended time void what they must and accuse nobody.
func TestInterruptionsAccuseNobody(t *testing.T) {
	b := newBench(19, true, false)
	b.calm = true
	b.run(10 * 3600)
	gain := b.o.Gain()
	quiet := func(what string) {
		t.Helper()
		if b.verdict != Quiet || b.o.Findings().Jumped != None || b.o.Findings().Frozen != None {
			t.Errorf("%s: verdict %d findings %+v", what, b.verdict, b.o.Findings())
		}
	}
	b.now += 3600 // the program stood still
	b.run(1800)
	quiet("gap")
	b.guard = false // silent
	b.run(1800)
	quiet("guard silent")
	b.guard = true
	b.run(1800)
	quiet("guard back")
	b.believed = [2]bool{false, true} // the caller takes the control probe out
	for range 600 {
		b.plant.step(2, b.pad, b.closed)
		b.verdict = b.o.Step(pointer(b.input(false, false)))
	}
	quiet("control disbelieved")
	in := b.input(false, false)
	for range 120 { // nothing at all
		in.Now += time.Second
		in.Probes = [3]Reading{}
		b.verdict = b.o.Step(&in)
	}
	quiet("no probe")
	b.now += 120
	b.believed = [2]bool{true, true}
	b.run(600)
	b.attended, b.refillDue = 600, true
	b.run(3600)
	quiet("water change")
	if r := b.o.Gain() / gain; r < 0.9 || r > 1.1 {
		t.Errorf("gain changed by %v over interruptions", r)
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	b := newBench(23, true, false)
	b.run(8 * 3600)
	in := b.input(false, false)
	if n := testing.AllocsPerRun(5000, func() {
		in.Now += time.Second
		b.o.Step(&in)
	}); n != 0 {
		t.Errorf("a step allocates %v times", n)
	}
}

func TestSeriesOfOurOwn(t *testing.T) {
	for _, x := range []float64{0, 1e-6, 0.01, 0.25, 1, 3, 10, 20, 39} {
		if got, want := decay(x), math.Exp(-x); math.Abs(got/want-1) > 1e-8 {
			t.Errorf("decay(%v) = %v, want %v", x, got, want)
		}
	}
	if decay(40) != 0 || decay(1e9) != 0 {
		t.Error("a decay of forty lags is not over")
	}
	for _, v := range []float64{1e-12, 0.3, 1, 8, 2.4e7, 1e15} {
		if got, want := cubeRoot(v), math.Cbrt(v); math.Abs(got/want-1) > 1e-14 {
			t.Errorf("cubeRoot(%v) = %v, want %v", v, got, want)
		}
	}
	if cubeRoot(-1) != 0 || cubeRoot(math.NaN()) != 0 {
		t.Error("a cube root of nothing is not nothing")
	}
}
