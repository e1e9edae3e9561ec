package observer

import (
	"math"
	"testing"
)

// Every pair of stages, with and without heat from outside, has one word.
func TestVerdictOfEveryPairOfStages(t *testing.T) {
	stages := []stage{idle, watched, suspected, undecided, proven}
	for _, trusted := range []bool{false, true} {
		for _, outside := range []bool{false, true} {
			for _, w := range stages {
				for _, d := range stages {
					for _, before := range []Verdict{Quiet, SuspectNoRise, SuspectUnasked, CannotTell} {
						o := watcher(t)
						if !trusted {
							o.cycles = 0
						}
						o.unasks.stage, o.norise.stage, o.verdict = w, d, before
						if o.riseHold = 599; outside {
							o.riseHold = 600
						}
						o.judge(10)
						unasked := w == proven || (w == suspected || w == undecided) && !outside
						noRise := d >= suspected
						f := o.Findings()
						if f.Unasked != unasked || f.NoRise != noRise {
							t.Fatalf("stages %d and %d, outside %v: %+v", w, d, outside, f)
						}
						want := Learning
						switch {
						case w == proven:
							want = ProvenUnasked
						case d == proven:
							want = ProvenNoRise
						case noRise && unasked && (before == SuspectUnasked || before == CannotTell):
							if want = SuspectUnasked; w == undecided { // the word that was said first stays
								want = CannotTell
							}
						case noRise:
							want = SuspectNoRise
						case unasked && w == suspected:
							want = SuspectUnasked
						case unasked:
							want = CannotTell
						case outside:
							want = OutsideHeat
						case trusted:
							want = Quiet
						}
						if o.verdict != want {
							t.Fatalf("stages %d and %d, outside %v, trusted %v, before %d: verdict %d, want %d", w, d, outside, trusted, before, o.verdict, want)
						}
						testing := w == watched || w == suspected || w == undecided || d == watched || d == suspected || d == undecided
						if f.Testing != testing {
							t.Fatalf("stages %d and %d: testing %v", w, d, f.Testing)
						}
						if a := o.Advice(); a.OpenSeries != (w != idle) || a.WithholdPad || a.CloseSeries {
							t.Fatalf("stages %d and %d: %+v", w, d, a)
						}
					}
				}
			}
		}
	}
}

// Advice about the relays: withheld heat opens the series relay too, and a test
// closes it only without hands in the tub and in water that is cool enough.
func TestAdviceAboutRelays(t *testing.T) {
	for _, c := range []struct {
		name    string
		set     func(*Observer)
		advised Advice
	}{
		{"nothing", func(*Observer) {}, Advice{}},
		{"heat is withheld", func(o *Observer) { o.norise.shut = true }, Advice{OpenSeries: true, WithholdPad: true}},
		{"the relay is closed in its test", func(o *Observer) { o.unasks.shut = true }, Advice{CloseSeries: true}},
		{"with hands in the tub", func(o *Observer) { o.unasks.shut, o.attended = true, 1 }, Advice{}},
		{"0.45 K over the set point", func(o *Observer) { o.unasks.shut, o.hottest = true, 29.85+1e-9 }, Advice{}},
		{"a hair less", func(o *Observer) { o.unasks.shut, o.hottest = true, 29.85-1e-9 }, Advice{CloseSeries: true}},
	} {
		o := watcher(t)
		c.set(o)
		if o.judge(10); o.Advice() != c.advised {
			t.Errorf("%s: %+v, want %+v", c.name, o.Advice(), c.advised)
		}
	}
}

// A tub that within two hours both rises unasked and does not rise when asked
// may be crossed with another.
func TestCrossedWithinTwoHours(t *testing.T) {
	for _, c := range []struct {
		blocks  int
		crossed bool
	}{{719, true}, {720, false}} {
		for _, first := range []bool{false, true} {
			o := watcher(t)
			one, other := &o.unasks, &o.norise
			if first {
				one, other = other, one
			}
			one.stage = suspected
			o.judge(10)
			one.stage = idle
			for range c.blocks - 1 {
				o.judge(10)
			}
			if o.Findings().Crossed {
				t.Error("one of the two is enough")
			}
			other.stage = suspected
			if o.judge(10); o.Findings().Crossed != c.crossed {
				t.Errorf("%d s apart: crossed %v", c.blocks*10, o.Findings().Crossed)
			}
		}
	}
}

// A learned gain under six tenths or over sixteen tenths of the configured one
// is told, once it is trusted.
func TestGainThatIsNotAsConfigured(t *testing.T) {
	for _, c := range []struct {
		gain    float64
		trusted bool
		off     bool
	}{{0.599, true, true}, {0.601, true, false}, {1.599, true, false}, {1.601, true, true}, {2, false, false}, {0.5, false, false}} {
		o := watcher(t)
		if !c.trusted {
			o.cycles = 0
		}
		o.filter.x[iG1] *= c.gain
		o.filter.x[iG2] *= c.gain
		if o.judge(10); o.Findings().OffGain != c.off {
			t.Errorf("%+v: told %v", c, o.Findings().OffGain)
		}
	}
}

// The floor's blindness is told of a tub that has a floor probe.
func TestBlindFloorIsToldWhereThereIsOne(t *testing.T) {
	for _, has := range []bool{false, true} {
		o := watcher(t)
		o.params.HasFloor = has
		o.floor = envelope{age: 9000, heat: 4000, rise: 0.1}
		if o.judge(10); o.Findings().FloorBlind != has {
			t.Errorf("floor probe %v: blind %v", has, o.Findings().FloorBlind)
		}
	}
}

// Every act that answers takes back suspicions, proofs and tests, and leaves
// what was learned.
func TestAcquittalForgetsSuspicionsAlone(t *testing.T) {
	o := watcher(t)
	o.unasks, o.norise = inquiry{stage: proven, sum: 30}, inquiry{stage: proven, shut: true}
	o.weld.Sum, o.dead.Sum = 9, 9
	o.floor = learned()
	o.floor.over, o.floor.under = 90, 90
	o.levelHold, o.fallHold, o.riseHold = 60, 60, 900
	o.sinceUnasked, o.sinceNoRise = 100, 100
	o.pair.jumped, o.pair.differ, o.pair.base, o.pair.age = Guard, true, 0.1, 900
	o.pair.long, o.pair.on, o.pair.off, o.pair.over = 1, 1, 1, 1
	for i := range o.runs {
		o.runs[i] = run{frozen: true, known: true, longest: 300}
	}
	gain, still := o.Gain(), o.floor.still
	o.Acquit()
	if o.verdict != Quiet || o.Advice() != (Advice{}) {
		t.Errorf("verdict %d, advice %+v", o.verdict, o.Advice())
	}
	if f := o.Findings(); f.Unasked || f.NoRise || f.Crossed || f.Testing {
		t.Errorf("%+v", f)
	}
	if o.weld.Sum != 0 || o.dead.Sum != 0 || o.floor.unasked() || o.floor.absent() || o.floor.changed ||
		o.levelHold != 0 || o.fallHold != 0 || o.riseHold != 0 || o.sinceUnasked != 0 || o.sinceNoRise != 0 {
		t.Error("evidence is left")
	}
	if p := o.pair; p.jumped != None || p.differ || p.long != 0 || p.on != 0 || p.off != 0 || p.over != 0 {
		t.Errorf("%+v", p)
	}
	for _, r := range o.runs {
		if r.frozen || r.known || r.longest != 300 {
			t.Errorf("%+v", r)
		}
	}
	if o.Gain() != gain || o.floor.still != still || o.pair.base != 0.1 || o.pair.age != 900 {
		t.Error("what was learned is lost")
	}
}

// Sixteen nats and a row of strong votes are guilty, minus seven and two votes
// innocent, twelve votes without either undecided.
func TestCountOfVotesAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name    string
		q       inquiry
		vote    float64
		guilty  int32
		decided int
		after   inquiry
	}{
		{"a row of three", inquiry{sum: 14, row: 2, votes: 2}, 2.1, 3, 1, inquiry{sum: 16.1, last: 2.1, row: 3, votes: 3}},
		{"sixteen nats are not more", inquiry{sum: 13, row: 2, votes: 2}, 3, 3, 0, inquiry{sum: 16, last: 3, row: 3, votes: 3}},
		{"a row of two", inquiry{sum: 14, row: 1, votes: 2}, 2.1, 3, 0, inquiry{sum: 16.1, last: 2.1, row: 2, votes: 3}},
		{"a vote of two nats ends a row", inquiry{sum: 30, row: 5, votes: 5}, 2, 3, 0, inquiry{sum: 32, last: 2, votes: 6}},
		{"innocent", inquiry{sum: -6, votes: 1}, -1.1, 3, -1, inquiry{sum: -7.1, last: -1.1, votes: 2}},
		{"minus seven is not less", inquiry{sum: -6, votes: 1}, -1, 3, 0, inquiry{sum: -7, last: -1, votes: 2}},
		{"one vote", inquiry{}, -8, 3, 0, inquiry{sum: -8, last: -8, votes: 1}},
		{"the twelfth", inquiry{stage: suspected, sum: 3, votes: 11}, 1, 3, 0, inquiry{stage: undecided, last: 1}},
		{"the eleventh", inquiry{stage: suspected, sum: 3, votes: 10}, 1, 3, 0, inquiry{stage: suspected, sum: 4, last: 1, votes: 11}},
		{"the twelfth of a proof", inquiry{stage: proven, sum: 3, votes: 11}, 1, 3, 0, inquiry{stage: proven, last: 1}},
		{"nothing was said", inquiry{sum: 3, last: 2, row: 2, votes: 4}, 0, 3, 0, inquiry{sum: 3, last: 2, row: 2, votes: 4}},
	} {
		q := c.q
		if got := q.cast(c.vote, c.guilty); got != c.decided || q.stage != c.after.stage || q.votes != c.after.votes || q.row != c.after.row ||
			math.Abs(q.sum-c.after.sum) > 1e-9 || q.last != c.after.last {
			t.Errorf("%s: decided %d, %+v, want %d, %+v", c.name, got, q, c.decided, c.after)
		}
	}
}

// What is found about a probe is told from what is found about the water.
func TestFindingsAboutProbes(t *testing.T) {
	for name, c := range map[string]struct {
		set   func(*Findings)
		about bool
	}{
		"nothing":     {func(*Findings) {}, false},
		"jumped":      {func(f *Findings) { f.Jumped = Control }, true},
		"frozen":      {func(f *Findings) { f.Frozen = Control }, true},
		"differ":      {func(f *Findings) { f.Differ = true }, true},
		"floor blind": {func(f *Findings) { f.FloorBlind = true }, true},
		"the water":   {func(f *Findings) { f.Unasked, f.NoRise, f.Low, f.Crossed, f.Fell = true, true, true, true, true }, false},
	} {
		f := Findings{Jumped: None, Frozen: None}
		if c.set(&f); f.AboutProbes() != c.about {
			t.Errorf("%s: about probes %v", name, !c.about)
		}
	}
}
