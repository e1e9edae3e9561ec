package observer

import (
	"fmt"
	"math"
	"os"
	"sort"
	"strconv"
	"testing"
)

// tubYears is how much a campaign runs: SOAKWARDEN_TUB_YEARS, else a little.
func tubYears(t *testing.T, otherwise float64) float64 {
	s := os.Getenv("SOAKWARDEN_TUB_YEARS")
	if s == "" {
		return otherwise
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v > 0) {
		t.Fatalf("SOAKWARDEN_TUB_YEARS is %q, want a number over 0", s)
	}
	return v
}

// firstSeed moves a campaign to other tubs: SOAKWARDEN_FIRST_SEED, else 0.
// Thresholds were chosen on the tubs from 0; others show what they are worth.
func firstSeed(t *testing.T) uint64 {
	s := os.Getenv("SOAKWARDEN_FIRST_SEED")
	if s == "" {
		return 0
	}
	v, err := strconv.ParseUint(s, 10, 64)
	if err != nil {
		t.Fatalf("SOAKWARDEN_FIRST_SEED is %q, want a whole number", s)
	}
	return v
}

// spread describes a list of minutes; misses count as later than any.
func spread(minutes []float64, missed int) string {
	sort.Float64s(minutes)
	n := len(minutes) + missed
	at := func(q float64) string {
		i := int(q * float64(n))
		if i >= len(minutes) {
			return "miss"
		}
		return fmt.Sprintf("%.1f", minutes[i])
	}
	return fmt.Sprintf("n %d found %.1f %%  p50 %s p90 %s p99 %s min", n,
		100*float64(len(minutes))/float64(n), at(0.5), at(0.9), at(0.99))
}

// found runs one fault to its finding. begin makes the fault and says whether
// it has an effect now; accused says whether the observer named it.
func found(b *bench, settle, limit float64, begin func(*bench), effect, accused func(*bench) bool) (minutes, acting, peak float64, ok bool) {
	b.run(settle)
	for range 48 { // a false suspicion that stands is no finding: wait for its end
		if !accused(b) {
			break
		}
		b.run(1800)
	}
	begin(b)
	if accused(b) {
		return -2, 0, 0, false // a false suspicion stands already: no finding
	}
	exposed, lit := 0.0, -1e9
	peak = b.mean()
	for end := b.now + limit*60; b.now < end; {
		b.tick()
		if b.sun > 0 {
			lit = b.now
		}
		if b.now-lit > 3600 { // heat from outside excepted
			peak = max(peak, b.mean())
		}
		if exposed == 0 && effect(b) {
			peak = b.mean()
			exposed = b.now
			end = b.now + limit*60
		}
		if exposed > 0 && !ok && effect(b) {
			acting += b.dt
		}
		if exposed > 0 && !ok && accused(b) {
			minutes, ok = (b.now-exposed)/60, true
			end = min(end, b.now+7200)
		}
	}
	if exposed == 0 {
		minutes = -1 // the fault never had an effect
	}
	return minutes, acting / 60, peak - setPointC, ok
}

type faultCase struct {
	name    string
	floor   bool
	quiet   bool
	limit   float64 // min
	median  float64 // min, at most
	share   float64 // found, at least
	begin   func(*bench)
	effect  func(*bench) bool
	accused func(*bench) bool
}

func faultCases() []faultCase {
	always := func(*bench) bool { return true }
	weld := func(b *bench) { b.welded = true }
	weldActs := func(b *bench) bool { return !b.pad && b.closed }
	weldNamed := func(b *bench) bool { return b.o.Findings().Unasked }
	dead := func(b *bench) { b.plant.dead = true }
	deadActs := func(b *bench) bool { return b.pad }
	deadNamed := func(b *bench) bool { return b.o.Findings().NoRise }
	out := func(p Place) func(*bench) { return func(b *bench) { b.outside = p } }
	// Only from where the air differs is an effect that anything can see.
	off := func(b *bench) bool { return math.Abs(b.t[nAir]-b.mean()) > 1.5 }
	outNamed := func(p Place) func(*bench) bool {
		return func(b *bench) bool { return b.o.Findings().Jumped == p }
	}
	freeze := func(p Place) func(*bench) { return func(b *bench) { b.probes[p].frozen = true } }
	frozen := func(p Place) func(*bench) bool {
		return func(b *bench) bool { return b.o.Findings().Frozen == p }
	}
	return []faultCase{
		{"weld, floor", true, false, 240, 5, 0.9, weld, weldActs, weldNamed},
		{"weld proven, floor", true, false, 240, 5, 0.8, weld, weldActs, func(b *bench) bool { return b.verdict == ProvenUnasked }},
		{"weld, two probes", false, false, 240, 8, 0.85, weld, weldActs, weldNamed},
		{"weld proven, two probes", false, false, 480, 200, 0.5, weld, weldActs, func(b *bench) bool { return b.verdict == ProvenUnasked }},
		{"dead, floor", true, false, 240, 6.5, 0.9, dead, deadActs, deadNamed},
		{"dead proven, floor", true, false, 240, 6.5, 0.8, dead, deadActs, func(b *bench) bool { return b.verdict == ProvenNoRise }},
		{"dead, two probes", false, false, 240, 9, 0.9, dead, deadActs, deadNamed},
		{"control out of water", false, false, 240, 1, 0.95, out(Control), off, outNamed(Control)},
		{"guard out of water", false, false, 240, 1, 0.95, out(Guard), off, outNamed(Guard)},
		{"control frozen", false, false, 240, 10, 0.95, freeze(Control), always, frozen(Control)},
		{"guard frozen", false, false, 240, 10, 0.95, freeze(Guard), always, frozen(Guard)},
		{"guard frozen, quiet", false, true, 480, 40, 0.95, freeze(Guard), always, frozen(Guard)},
		{"floor frozen", true, false, 480, 10, 0.95, freeze(Floor), always, frozen(Floor)},
	}
}

func TestCampaignOfFaults(t *testing.T) {
	runs := max(int(tubYears(t, 0.04)*200), 4)
	for _, c := range faultCases() {
		t.Run(c.name, func(t *testing.T) {
			var minutes, actings, peaks []float64
			missed, without := 0, 0
			for i := range runs {
				b := newBench(firstSeed(t)+uint64(1000+i), c.floor, c.quiet)
				at := b.between(12, 24) * 3600
				m, acting, peak, ok := found(b, at, c.limit, c.begin, c.effect, c.accused)
				if m < 0 {
					without++
				} else if ok {
					minutes = append(minutes, m)
					actings = append(actings, acting)
				} else {
					missed++
				}
				peaks = append(peaks, peak)
			}
			// A few runs cannot show a 99th percentile; the bounds here are
			// the promised medians with room for the luck of few draws.
			sort.Float64s(minutes)
			n := len(minutes) + missed
			if float64(len(minutes)) < c.share*float64(n)-1 {
				t.Errorf("found %d of %d", len(minutes), n)
			}
			if k := n / 2; n > 0 && (k >= len(minutes) || minutes[k] > float64(c.median*(1+2/math.Sqrt(float64(n))))) {
				t.Errorf("median is far over %v min", c.median)
			}
			sort.Float64s(peaks)
			if over := peaks[len(peaks)-1]; over > 1 {
				t.Errorf("water %.2f K over the set point", over)
			}
			t.Logf("%-26s %s; water over set point p50 %.2f p90 %.2f p99 %.2f max %.2f K; %d without effect; exposed %s", c.name, spread(minutes, missed),
				peaks[len(peaks)/2], peaks[len(peaks)*9/10], peaks[len(peaks)*99/100], peaks[len(peaks)-1], without, spread(actings, missed))
		})
	}
}

// alarms counts what a bench without a fault said.
type alarms struct {
	verdicts [ProvenUnasked + 1]int
	jumped   int
	frozen   int
	differ   int
	watched  int
	days     float64
	tandem   float64 // s
	cold     float64 // s
}

func quietRun(seed uint64, floor bool, days float64, sum *alarms) {
	b := newBench(seed, floor, false)
	var before Verdict
	f := Findings{Jumped: None, Frozen: None}
	w := idle
	for end := days * 86400; b.now < end; {
		b.tick()
		g := b.o.Findings()
		if g.Unasked && !f.Unasked {
			sum.verdicts[SuspectUnasked]++
		}
		if g.NoRise && !f.NoRise {
			sum.verdicts[SuspectNoRise]++
		}
		if b.verdict != before {
			if b.verdict != SuspectUnasked && b.verdict != SuspectNoRise {
				sum.verdicts[b.verdict]++
			}
			before = b.verdict
			if b.verdict == ProvenUnasked || b.verdict == ProvenNoRise {
				b.o.Acquit() // counted; go on
			}
		}
		if g.Unasked {
			sum.tandem += b.dt
		}
		if g.NoRise {
			sum.cold += b.dt
		}
		if g.Jumped != f.Jumped && g.Jumped != None {
			sum.jumped++
		}
		if g.Frozen != f.Frozen && g.Frozen != None {
			sum.frozen++
		}
		if g.Differ && !f.Differ {
			sum.differ++
		}
		f = g
		if s := b.o.norise.stage; s != w {
			if s == watched {
				sum.watched++
			}
			w = s
		}
	}
	sum.days += b.now / 86400
}

func TestCampaignWithoutFaults(t *testing.T) {
	years := tubYears(t, 0.1)
	for _, floor := range []bool{true, false} {
		t.Run(fmt.Sprint(floor), func(t *testing.T) {
			var sum alarms
			const days = 14
			for i := range max(int(years*365/days), 2) {
				quietRun(firstSeed(t)+uint64(50000+i), floor, days, &sum)
			}
			y := sum.days / 365
			if n := sum.verdicts[ProvenUnasked] + sum.verdicts[ProvenNoRise]; float64(n) > max(0, y/100) {
				t.Errorf("%d false proofs in %.1f tub-years", n, y)
			}
			said := sum.jumped + sum.frozen + sum.differ
			for _, v := range []Verdict{OutsideHeat, CannotTell, SuspectNoRise, SuspectUnasked} {
				said += sum.verdicts[v]
			}
			if perDay := float64(said) / sum.days; perDay > 2.2 {
				t.Errorf("%.2f alarms without a fault a tub-day", perDay)
			}
			t.Logf("floor %v: %.2f tub-years; a year: outside %.2f cannot tell %.2f no rise %.2f proven %.2f (watched %.1f) unasked %.2f proven %.2f; jumped %.2f frozen %.2f differ %.2f; suspected unasked %.1f %%, no rise %.1f %% of the time",
				floor, y, float64(sum.verdicts[OutsideHeat])/y, float64(sum.verdicts[CannotTell])/y,
				float64(sum.verdicts[SuspectNoRise])/y, float64(sum.verdicts[ProvenNoRise])/y, float64(sum.watched)/y,
				float64(sum.verdicts[SuspectUnasked])/y, float64(sum.verdicts[ProvenUnasked])/y,
				float64(sum.jumped)/y, float64(sum.frozen)/y, float64(sum.differ)/y,
				sum.tandem/864/sum.days, sum.cold/864/sum.days)
		})
	}
}
