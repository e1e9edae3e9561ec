package observer

import (
	"fmt"
	"math"
	"time"
)

// Times and sizes that belong to no single test.
const (
	blockLength = 10.0 // s; the water does nothing faster that matters
	silentMost  = 30.0 // s; a probe that is silent for longer no longer counts
	gapMost     = 60.0 // s; after a longer gap temperature and drift are unknown
	changeLong  = 2400.0
	attendLong  = 2400.0 // s after hands left the tub, tests widened
	heatLong    = 2400.0 // s of unbroken heat, after which nothing is learned from it
	cyclesLeast = 3
	spreadMost  = 0.15
	earlyMost   = 0.14 // K
)

// Observer watches one tub. The zero value is not usable; call New.
type Observer struct {
	params   Params
	verdict  Verdict
	findings Findings
	advice   Advice

	filter  filter
	weld    signature
	dead    signature
	series  [2]float64 // pad states if the pad relay were always closed
	trace   trace
	floor   envelope
	pair    pair
	runs    [3]run
	fall    fall
	unasks  inquiry
	norise  inquiry
	answers answers
	jitter  generator

	now     time.Duration
	started bool
	known   bool // the filter has a temperature
	believe [2]bool
	silent  [2]float64 // s for which a probe gave nothing

	// The running block.
	length, heat, closed, padOn float64    // s
	sum                         [3]float64 // °C·s by probe
	n                           [3]int     // readings in it
	hottest                     float64    // °C, of believed in-water probes, latest
	setPoint                    float64    // °C
	wanted                      bool

	on, off                   float64 // s of unbroken heat and of its absence, by command
	openFor                   float64 // s for which the series relay is open
	changed                   float64 // s until a water change is over
	attended                  float64 // s until tests are narrow again
	bad                       float64 // s until a change of the believed set is over
	cycles                    int32   // complete cycles seen
	offBefore                 float64 // s of the last unbroken time without heat
	top                       float64 // °C when heat was last switched on, one coast later
	levelHold                 float64 // s for which the level rule holds
	fallHold                  float64
	unanswered                float64 // s since the last answer was measured
	sinceUnasked, sinceNoRise float64 // s left in which the other makes a crossed tub
	riseHold                  float64 // s for which the water rises with the series relay open
}

// New makes an observer for the configured tub. It refuses a gain, coast,
// differential or set point that is not a positive finite number, and a flux
// or depth that is negative or not finite.
func New(p Params) (*Observer, error) {
	if p.Coast == 0 {
		p.Coast = 120
	}
	if p.Depth == 0 {
		p.Depth = 0.15
	}
	for _, q := range []struct {
		name, unit  string
		value       float64
		least, most float64
	}{
		{"gain", "K/s", p.Gain, 1e-6, 0.1},
		{"coast", "s", p.Coast, 1, 3600},
		{"set point", "°C", p.SetPoint, 1, 60},
		{"differential", "K", p.Differential, 0.01, 10},
		{"depth", "m", p.Depth, 0.001, 10},
		{"flux", "W/m²", p.Flux, 0, 1e5},
	} {
		if !(q.value >= q.least && q.value <= q.most) {
			return nil, fmt.Errorf("observer: %s is %v %s, want %v to %v", q.name, q.value, q.unit, q.least, q.most)
		}
	}
	o := &Observer{params: p, jitter: generator(p.Seed), setPoint: p.SetPoint}
	o.filter.noise = noiseStart
	o.filter.prior(p.Gain, clamp(p.Coast, 30, 400))
	o.filter.length(blockLength)
	o.dead.Threshold, o.weld.Threshold = evidenceNew, evidenceNew
	o.pair.jumped = None
	o.pair.allowance(0, 1)
	o.findings = Findings{Jumped: None, Frozen: None}
	return o, nil
}

// Step takes in what one second brought and says what is held for true. It
// keeps nothing of in.
func (o *Observer) Step(in *Input) Verdict {
	if !o.started {
		o.started, o.now = true, in.Now
	}
	dt := float64(in.Now-o.now) / 1e9
	o.now = in.Now
	if !(dt > 0) {
		return o.verdict
	}
	if dt > gapMost {
		o.interrupt()
	}
	o.flow(in, dt)
	if in.Attended {
		o.attended = attendLong
		o.settleFall()
	}
	if in.Changed {
		o.change()
	}
	c, g := &in.Probes[Control], &in.Probes[Guard]
	o.hear(Control, c)
	o.hear(Guard, g)
	o.hear(Floor, &in.Probes[Floor])
	// The one test that cannot wait for the end of the block.
	if c.Valid && g.Valid {
		if d := c.Value - g.Value; !o.pair.near(d) {
			o.pair.apart(dt, d)
		}
		o.findings.Jumped = o.pair.jumped
	}
	if cb, gb := o.counts(Control, c, dt), o.counts(Guard, g, dt); cb != o.believe[0] || gb != o.believe[1] {
		o.shift(cb, gb, c.Value-g.Value, c.Valid && g.Valid)
	}
	if o.length >= blockLength {
		o.latest(in)
		o.block()
	}
	return o.verdict
}

// shift moves the filter's temperature when the set of believed probes
// changes, by what the set's mean changes, so that a probe that is taken out
// does not look like water that moved.
func (o *Observer) shift(control, guard bool, difference float64, both bool) {
	place := func(c, g bool) float64 { // of the set's mean, from the guard, in differences
		switch {
		case c && g:
			return 0.5
		case c:
			return 1
		default:
			return 0
		}
	}
	if (o.believe[0] || o.believe[1]) && (control || guard) {
		if !both {
			difference = o.pair.base
		}
		step := place(control, guard) - place(o.believe[0], o.believe[1])
		o.filter.x[iT] += float64(step * difference)
		o.bad = 600
	} else {
		o.known = false
	}
	o.trace.clear()
	o.fall.clear()
	o.believe = [2]bool{control, guard}
	o.sum, o.n = [3]float64{}, [3]int{}
}

// change starts the time after an announced water change: temperature, drift
// and baselines of the moment are void, gains are not.
func (o *Observer) change() {
	o.changed = changeLong
	o.known = false
	o.pair.settle = pairSettle
	o.trace.clear()
	o.settleFall()
	o.answers.clear()
	o.norise.lowest = math.Inf(1)
}

// settleFall begins the watch for falls anew after a person's doing.
func (o *Observer) settleFall() {
	o.fall.clear()
	o.fall.quiet = fallQuiet
}

// interrupt voids what a gap of unknown length voids.
func (o *Observer) interrupt() {
	o.known = false
	o.trace.clear()
	o.fall.clear()
	o.length, o.heat, o.closed, o.padOn = 0, 0, 0, 0
	o.sum, o.n = [3]float64{}, [3]int{}
	o.on, o.off, o.openFor = 0, 0, 0
	o.levelHold, o.fallHold, o.riseHold = 0, 0, 0
	o.pair.count, o.pair.n, o.pair.sum, o.pair.over = 0, 0, 0, 0
	o.floor.over, o.floor.under, o.floor.lack, o.floor.since = 0, 0, 0, 0
	for i := range o.runs {
		o.runs[i].known = false
	}
}

// block runs everything that looks at ten seconds at a time.
func (o *Observer) block() {
	h := o.length
	u, closed, pad := o.heat/h, o.closed/h, o.padOn/h
	o.length, o.heat, o.closed, o.padOn = 0, 0, 0, 0
	var mean [3]float64
	var have [3]bool
	for i := range mean {
		if have[i] = o.n[i] > 0; have[i] {
			mean[i] = o.sum[i] / float64(o.n[i])
		}
		o.sum[i], o.n[i] = 0, 0
	}
	water, known := o.water(mean, have)
	o.clocks(h, u, closed)
	o.findings.Fell = known && o.fall.add(h, o.warmest(mean), o.params.Depth)

	f := &o.filter
	f.length(h)
	p := f.lags(&f.pad, u)
	if !known {
		o.blind(h, u, closed, p)
		return
	}
	if !o.known {
		f.begin(water)
		o.weld.restart(f.pad)
		o.dead.restart(f.pad)
		o.known = true
	}
	calm := o.calm()
	learns := calm && o.switched()
	f.predict(p)
	f.weigh(water, learns)
	o.signatures(p, closed, u)
	f.correct()
	if learns {
		f.adapt()
	}
	s := f.lags(&o.series, closed)
	rate := float64(f.x[iG1]*p[0]) + float64(f.x[iG2]*p[1])
	other := float64(f.x[iG1]*s[0]) + float64(f.x[iG2]*s[1])
	o.trace.add(h, water, rate, other-rate)

	o.probes(h, mean, have, u, rate/f.rate(), learns)
	if have[Floor] && o.params.HasFloor {
		o.floor.add(h, mean[Floor]-water, u, f.coast(), closed > 0.99, o.runs[Floor].moved, calm)
	}
	o.level(h, u, water)
	o.inquire(h, u, pad, water)
	o.judge(h)
	for i := range o.runs {
		o.runs[i].moved = false
	}
}

// blind is a block without a mean: the model goes on, nothing is judged.
func (o *Observer) blind(h, u, closed float64, p [2]float64) {
	f := &o.filter
	if o.known {
		f.predict(p)
	}
	f.lags(&o.weld.pad, max(closed, u))
	f.lags(&o.dead.pad, 0)
	f.lags(&o.series, closed)
	if !o.believe[0] && !o.believe[1] {
		o.known = false
	}
	if k := o.findings.Frozen; k != None && !o.runs[k].frozen {
		o.findings.Frozen = None // its code moved: it may be believed again
	}
	o.trace.clear()
	o.judge(h)
}

// water is the mean of the believed in-water probes of this block.
func (o *Observer) water(mean [3]float64, have [3]bool) (float64, bool) {
	c := have[Control] && o.believe[0]
	g := have[Guard] && o.believe[1]
	switch {
	case c && g:
		return (mean[Control] + mean[Guard]) / 2, true
	case c && !o.believe[1]:
		return mean[Control], true
	case g && !o.believe[0]:
		return mean[Guard], true
	}
	return 0, false // a believed probe gave nothing in this block: half a mean is not a mean
}

// warmest is the warmer of the believed probes of a block in which all of them
// gave something.
func (o *Observer) warmest(mean [3]float64) float64 {
	switch {
	case !o.believe[1]:
		return mean[Control]
	case !o.believe[0]:
		return mean[Guard]
	}
	return max(mean[Control], mean[Guard])
}

// clocks moves every span on by a block.
func (o *Observer) clocks(h, u, closed float64) {
	if u > 0.5 {
		if o.on == 0 {
			o.top, o.offBefore = math.NaN(), o.off
			o.measure()
		}
		o.on += h
		o.off = 0
	} else {
		if o.off == 0 && o.on > 60 && o.learns() {
			o.cycles = min(o.cycles+1, 1<<20)
		}
		o.off += h
		o.on = 0
	}
	if closed < 0.01 {
		o.openFor += h
	} else {
		o.openFor = 0
	}
	o.unanswered += h
	o.changed = left(o.changed, h)
	o.attended = left(o.attended, h)
	o.bad = left(o.bad, h)
}

// calm says whether anything may be learned now, of what unbroken heat does not hide.
func (o *Observer) calm() bool {
	return o.weld.Sum <= evidenceCalm && o.dead.Sum <= evidenceCalm &&
		o.unasks.stage == idle && o.norise.stage == idle &&
		o.changed == 0 && o.attended == 0 && o.bad == 0 &&
		o.findings.Frozen == None && o.findings.Jumped == None
}

// learns says whether the water's answer to the pad may be learned now: heat that
// is never switched looks like a smaller loss.
func (o *Observer) learns() bool { return o.calm() && o.switched() }

// switched says that the heat has not gone on unbroken for too long.
func (o *Observer) switched() bool { return o.on < heatLong }

// signatures adds the block to both cumulative sums. Under a weld the pad
// heats whenever the series relay is closed; under a dead pad never.
func (o *Observer) signatures(mean [2]float64, closed, u float64) {
	f := &o.filter
	w := f.lags(&o.weld.pad, max(closed, u))
	o.weld.add(f, mean, w)
	d := f.lags(&o.dead.pad, 0)
	o.dead.add(f, mean, d)
	if o.dead.spent && o.on > heatLong && o.norise.stage == idle {
		// The pad did not die when the sum began, or nobody can tell any more.
		// It may die now.
		o.dead.restart(f.pad)
	}
}

// probes runs the tests that compare probes.
func (o *Observer) probes(h float64, mean [3]float64, have [3]bool, u, pad float64, calm bool) {
	flux := float64(-o.filter.x[iD]*o.params.Depth) * volumeHeat
	widen := 1.0
	if o.changed > 0 || o.attended > 0 {
		widen = 2
	}
	o.pair.allowance(max(flux, 0), widen)
	o.pair.block(h, pad, u > 0.5, calm)
	o.findings.Differ = o.pair.differ
	sigma := math.Sqrt(o.pair.variance)
	f := &o.filter
	limit := float64(frozenDrift * f.rate())
	settled := o.changed == 0 && f.cov[iD][iD] <= float64(limit*limit)
	frozen := None
	for i := range o.runs {
		r := &o.runs[i]
		if !have[i] {
			r.known = false
			continue
		}
		other := Control
		if Place(i) == Control {
			other = Guard
		}
		switch {
		case have[other]:
			r.block(h, mean[other], sigma)
		case Place(i) != Floor:
			r.alone(h, float64(float64(f.rate()*pad)*h), f.x[iD], settled)
		}
		if r.frozen && frozen == None {
			frozen = Place(i)
		}
	}
	o.findings.Frozen = frozen
}

// Findings are the facts beside the verdict of the last Step.
func (o *Observer) Findings() Findings { return o.findings }

// Advice is what the caller should do with its relays until the next Step.
func (o *Observer) Advice() Advice { return o.advice }

// Trusted says whether the learned gain and coast may be used: three complete
// cycles were seen and the gain is known to 15 %.
func (o *Observer) Trusted() bool {
	return o.cycles >= cyclesLeast && o.filter.spread() < spreadMost
}

// learned are the learned gain and coast, or the configured ones before they are
// trusted.
func (o *Observer) learned() (gain, coast float64) {
	if !o.Trusted() {
		return o.params.Gain, o.params.Coast * 1.5
	}
	return o.filter.rate(), o.filter.coast()
}

// Gain is the learned gain in K/s, within 0.4…2.5 of the configured; the
// configured one before it is trusted.
func (o *Observer) Gain() float64 {
	gain, _ := o.learned()
	return gain
}

// Coast is the learned coast in s, with the lag of the probes: what the
// reading still rises after the pad goes off is Gain×Coast without losses. Half
// as much again as configured before it is trusted.
func (o *Observer) Coast() float64 {
	_, coast := o.learned()
	return coast
}

// Early is how far under the upper switching point the operating control
// should switch off, in K: gain×coast less what the losses take, 0…0.14.
func (o *Observer) Early() float64 {
	if !o.Trusted() || !o.known {
		return 0
	}
	// Switching early makes the cycles shorter, and short cycles of noisy
	// readings teach too strong an answer: what is learned counts here only a
	// little over what was configured, or the two would chase each other.
	f := &o.filter
	rate, coast := min(f.rate(), 1.25*o.params.Gain), min(f.coast(), 1.25*o.params.Coast)
	return clamp(float64((rate-math.Abs(f.x[iD]))*coast), 0, earlyMost)
}

// Drift is the estimated rate of the water with the pad long off, in K/s.
func (o *Observer) Drift() float64 { return o.filter.x[iD] }
