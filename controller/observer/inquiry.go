package observer

import "math"

// Evidence is in nats: the log likelihood ratio of the fault to obedience. The
// levels evidence, evidenceNew, evidenceLook, evidenceLayer, sayVote, plainVote,
// straightVote, watchFirst and lookFirst (and leanLag, leanClear, leanSays of the
// layers, noiseClosed of the filter) are not derived: they were chosen among some
// twenty settings by campaigns on the test plant, for speed against alarms.
// Their figures on the seeds of that choice are therefore a little too good.
const (
	// evidence accuses. By Wald's bound white noise alone passes it with
	// probability e⁻⁷ an independent start, a few times a year; lids and sun
	// pass it daily because they are no noise. So it only accuses: what follows
	// costs no heat that was not asked, and at most some that was.
	evidence      = 7.0
	evidenceNew   = 9.0 // before gain and coast are trusted
	evidenceLook  = 5.0 // more than this is worth a look at the last switch
	evidenceLayer = 5.0 // with layers that say the same
	evidenceCalm  = 2.0 // more than this freezes learning
	evidenceWide  = 2.0 // factor after hands were in the tub
	// The level rule: what the reading may be over the switching point without
	// a fault: noise and eddies, and a part of the coast.
	levelOver  = 0.2
	levelCoast = 0.3 // of gain × coast
	levelWait  = 60.0
	// A fall that the pad did not stop: three coasts of heat, then this much
	// under where it stood one coast after switching on.
	fallWait = 180.0
	fallMost = 0.3 // K
	// Toggling. A half period carries about three nats when the change of
	// slope is known to g/√6: var = 192·h·R/(2T)³ ⇒ T³ = 2400·R/g² with h = 10 s.
	halfNats    = 2400.0
	halfLeast   = 300.0  // s
	halfMost    = 1200.0 // s
	halfJitter  = 0.2    // either way: sun and draughts have periods too
	closeRoom   = 0.45   // K over the set point up to which the series relay may close in a test
	guiltySum   = 16.0
	innocentSum = -7.0
	strongVote  = 2.0
	sayVote     = 6.5  // nats of one test of a dead pad that are said aloud: nearly all that a bend costs
	plainVote   = 7.0  // nats that end a test before its half period is over
	voteKnown   = 0.25 // variance of φ above which there is no vote yet
	voteAgain   = 60.0 // s until it is looked at again
	guiltyWeld  = 6    // strong votes in a row; without the bend a nuisance imitates one in four
	// cases (measured), which made 0.018 a year with five; six is extrapolated, not shown
	guiltyDead    = 8
	innocentVotes = 2
	votesMost     = 12
	riseWait      = 600.0  // s of rise with the series relay open before it is called outside heat
	crossedSpan   = 7200.0 // s within which a tub both rises unasked and does not rise when asked
	riseAnswer    = 0.25   // K over the lowest since the accusation, heat on: the water answers
	testsMost     = 3      // times that heat is withheld in one inquiry
	watchFirst    = 120.0  // s of looking before heat is withheld
	lookFirst     = 900.0  // s in which a first look may accuse
	straightVote  = 4.5    // nats that accuse at once: two thirds of what a bend costs
)

// stage is where an inquiry stands.
type stage uint8

const (
	idle      stage = iota
	watched         // the sum accuses, but a lid or sun may explain it
	suspected       // said aloud
	undecided       // votesMost votes brought no decision: careful, and testing on
	proven          // until acquitted by a person
)

// inquiry gathers votes about one accusation.
type inquiry struct {
	stage stage
	sum   float64
	last  float64 // the last vote
	votes int32
	row   int32   // strong votes in a row
	wait  float64 // s until the next vote
	shut  bool    // this half period lets heat through (weld) or withholds it (dead)
	phase float64 // s until the series relay changes in a test
	asked bool    // heat came back after it was withheld: the next vote counts

	first  float64 // s left in which a first look may accuse
	tests  int32   // times that heat was withheld
	lowest float64 // °C of the water since the accusation
}

// open begins an inquiry at a stage, with the first vote after one half period.
func (q *inquiry) open(at stage, half float64) { *q = inquiry{stage: at, wait: half} }

// cast counts a vote and says whether it decided: +1 guilty, −1 innocent.
func (q *inquiry) cast(v float64, guilty int32) int {
	if v == 0 {
		return 0
	}
	q.sum += v
	q.last = v
	q.votes++
	if v > strongVote {
		q.row++
	} else {
		q.row = 0
	}
	switch {
	case q.sum > guiltySum && q.row >= guilty:
		return 1
	case q.sum < innocentSum && q.votes >= innocentVotes:
		return -1
	case q.votes >= votesMost:
		q.sum, q.votes = 0, 0
		q.stage = max(q.stage, undecided)
	}
	return 0
}

// half is the next half period in s, with jitter.
func (o *Observer) half() float64 {
	g := o.filter.rate()
	t := o.filter.coast() + cubeRoot(halfNats*o.filter.noise/float64(g*g))
	return clamp(t, halfLeast, halfMost) * (1 - halfJitter + float64(2*halfJitter*o.jitter.unit()))
}

// level bounds what the filter has swallowed: heat off, water over the band
// and not falling; or heat on and water falling ever further.
func (o *Observer) level(h, u, water float64) {
	g, c := o.learned()
	d := o.filter.x[iD]
	over := o.setPoint + float64(o.params.Differential/2) + levelOver + float64(levelCoast*g*c)
	o.levelHold = lasting(o.levelHold, h, u < 0.01 && o.off >= levelWait+c && d > 0 && o.hottest > over)
	o.riseHold = lasting(o.riseHold, h, o.openFor >= float64(3*c)+levelWait && d > 0.1*g &&
		o.hottest > o.setPoint+float64(o.params.Differential/2))
	if o.on > c && math.IsNaN(o.top) {
		o.top = water
	}
	o.fallHold = lasting(o.fallHold, h, o.on > float64(2.5*c)+fallWait && water < o.top-fallMost)
}

// inquire moves both inquiries on by a block.
func (o *Observer) inquire(h, u, pad, water float64) {
	limit := evidenceNew
	if o.Trusted() {
		limit = evidence
	}
	if o.attended > 0 {
		limit *= evidenceWide
	}
	o.weld.Threshold, o.dead.Threshold = limit, limit
	quiet := o.changed == 0
	o.inquireWeld(h, pad, quiet)
	o.inquireDead(h, u, water, quiet)
}

// inquireWeld: an accusation opens the series relay at each off, which costs
// nothing. Where the relay is the station's own, the test lets it close with
// the pad relay open and looks whether the water answers. Heat that was asked
// for says nothing for or against, but a switch from it to a closed series
// relay does: over a welded relay the water does not bend there.
func (o *Observer) inquireWeld(h, pad float64, quiet bool) {
	q := &o.unasks
	if o.floor.unasked() {
		q.stage = proven
	}
	if q.stage == proven {
		q.shut = false
		return
	}
	if q.stage == idle {
		if o.norise.shut && o.params.Series != OwnSeries {
			// Heat is wanted and withheld by a test: unasked it cannot be.
			o.weld.restart(o.filter.pad)
		} else if (quiet && o.weld.Sum > o.weld.Threshold) || o.levelHold > 0 {
			q.open(suspected, o.half())
			q.phase = q.wait
		}
		return
	}
	if o.floor.cleared() {
		o.acquitWeld()
		return
	}
	if o.attended > 0 || !quiet {
		q.shut, q.phase, q.wait = false, 0, o.half()
		return
	}
	cool := o.hottest < o.setPoint+closeRoom
	switch {
	case o.params.Series != OwnSeries:
		q.shut = false
	case o.norise.shut:
		q.shut = false // one test at a time: the other one needs the relay open
	case pad > 0:
		q.shut, q.phase = false, 0 // the next off begins with the relay closed
	case q.shut && !cool:
		q.shut, q.phase = false, o.half()
	default:
		if q.phase -= h; q.phase <= 0 {
			q.shut = !q.shut && cool
			q.phase = o.half()
		}
	}
	if q.wait -= h; q.wait > 0 {
		return
	}
	span := o.half()
	_, variance := o.trace.fit(int(2*span/blockLength), welded, o.filter.noise)
	if variance > voteKnown {
		q.wait = voteAgain
		return
	}
	q.wait = span
	switch q.cast(o.trace.weigh(int(2*span/blockLength), welded, o.filter.noise), guiltyWeld) {
	case 1:
		if o.Trusted() {
			q.stage = proven
		}
	case -1:
		o.acquitWeld()
	}
}

// acquitWeld ends the inquiry: the water, or the floor, does not answer to the
// series relay.
func (o *Observer) acquitWeld() {
	o.unasks = inquiry{}
	o.weld.restart(o.filter.pad)
	o.levelHold = 0
}

// inquireDead: an accusation alone is watched, because a lid that comes off
// looks the same. It is said aloud when the water went straight through a
// switch of the pad, or falls on. Where it is open, the test withholds permitted
// heat for half a period and looks whether the water bends when it returns.
func (o *Observer) inquireDead(h, u, water float64, quiet bool) {
	q := &o.norise
	if o.floor.absent() {
		q.stage = proven
	}
	if q.stage == proven {
		q.shut = false
		return
	}
	if q.stage < suspected && o.floor.lacking() {
		q.open(suspected, o.half())
		q.lowest = water
	}
	q.first = left(q.first, h)
	// Where a floor probe can tell, it tells within minutes: wait for it.
	e := &o.floor
	pending := e.ready() && e.on && (e.fine > 0 || e.since < float64(floorDead*o.filter.coast())+3*floorHold)
	if q.stage == idle {
		if quiet && !pending && o.dead.Sum > evidenceLook && o.plain() {
			q.open(suspected, o.half())
			q.lowest = water
		} else if quiet && o.dead.Sum > o.dead.Threshold {
			q.open(watched, watchFirst)
			q.lowest, q.first = water, lookFirst
		} else if quiet && o.fallHold > 0 && !(e.ready() && e.answer > floorAlive) {
			q.open(watched, 0)
			q.lowest = water
		}
		return
	}
	if q.stage == watched && q.first > 0 && !pending && o.plain() {
		q.stage = suspected
	}
	// Below the set point in a cooler room water does not rise by itself.
	if q.lowest = min(q.lowest, water); u > 0.5 && water > q.lowest+riseAnswer {
		o.acquitDead()
		return
	}
	if !quiet || o.attended > 0 {
		q.shut, q.wait = false, o.half()
		return
	}
	if o.floor.heated() || o.levelHold > 0 {
		// The floor answers; or the water is over the band, and a pad that
		// does not obey is then not a dead one.
		o.acquitDead()
		return
	}
	q.wait -= h
	if q.asked && q.wait > 0 && o.on > o.filter.coast() {
		// The answer may be plain before the half period is over.
		v := o.trace.weigh(int(float64(3*halfLeast)/blockLength), dead, o.filter.noise)
		if math.Abs(v) > plainVote {
			q.wait = 0
		}
	}
	if q.wait > 0 || pending {
		return
	}
	span := o.half()
	q.wait = span
	if q.shut { // the pad was withheld; it is back from now on
		q.shut, q.asked = false, true
		return
	}
	if q.asked || q.tests >= testsMost {
		q.asked = false
		switch q.cast(o.trace.weigh(int(float64(3*span)/blockLength), dead, o.filter.noise), guiltyDead) {
		case 1:
			if q.stage = max(q.stage, suspected); o.Trusted() {
				q.stage = proven
			}
			return
		case -1:
			o.acquitDead()
			return
		}
		if q.last > sayVote {
			q.stage = max(q.stage, suspected)
		}
	}
	if part, known := o.pair.missing(); known && part < 0 {
		return // more layering than the pad makes: a lid is off, and heat is needed
	}
	if o.wanted && q.tests < testsMost {
		q.shut = true
		q.tests++
	}
}

// sizeMost is the most that may seem to be missing, in gains, when it is the
// pad's heat: five nats of a transient of one gain know its size to a standard
// deviation of 0.31 (they come from a known of 6, and part/√6), of which two are
// granted. A lid that comes off takes one to four.
const sizeMost = 1.6

// plain says whether it is a dead pad at first sight.
func (o *Observer) plain() bool {
	if o.dead.size() > sizeMost {
		return false
	}
	if part, known := o.pair.missing(); known && o.dead.Sum > evidenceLayer {
		return part > leanSays
	}
	return o.straight()
}

// straight says whether the water went through the last switching on of the
// pad without a bend, as it does over a dead pad. A lid that came off bends it
// by one to four gains, and mostly not at the switch.
func (o *Observer) straight() bool {
	if o.on > 2*halfMost || o.offBefore < o.filter.coast() {
		return false
	}
	span := o.on + min(o.offBefore, halfLeast+o.filter.coast())
	return o.trace.weigh(int(span/blockLength), dead, o.filter.noise) > straightVote
}

// acquitDead ends the inquiry: the water answered.
func (o *Observer) acquitDead() {
	o.norise = inquiry{}
	o.dead.restart(o.filter.pad)
	o.top, o.fallHold = math.NaN(), 0
}

// judge puts all that is known into one word and one advice.
func (o *Observer) judge(h float64) {
	w, d, trusted := o.unasks.stage, o.norise.stage, o.Trusted()
	outside := o.riseHold >= riseWait
	f := &o.findings
	f.Unasked = w >= suspected && !(outside && w < proven)
	f.NoRise = d >= suspected
	o.sinceUnasked, o.sinceNoRise = recent(o.sinceUnasked, h, f.Unasked), recent(o.sinceNoRise, h, f.NoRise)
	f.Crossed = o.sinceUnasked > 0 && o.sinceNoRise > 0
	f.Low = o.answers.low()
	f.FloorBlind = o.params.HasFloor && o.floor.blind(o.params.Flux)
	switch {
	case w == proven:
		o.verdict = ProvenUnasked
	case d == proven:
		o.verdict = ProvenNoRise
	case f.NoRise && (!f.Unasked || o.verdict != SuspectUnasked && o.verdict != CannotTell):
		o.verdict = SuspectNoRise // with both suspected the word that was said first stays
	case f.Unasked && w == suspected:
		o.verdict = SuspectUnasked
	case f.Unasked:
		o.verdict = CannotTell
	case outside:
		o.verdict = OutsideHeat
	case trusted:
		o.verdict = Quiet
	default:
		o.verdict = Learning
	}
	f.Testing = (w != idle && w != proven) || (d != idle && d != proven)
	o.advice = Advice{
		OpenSeries:  w != idle || o.norise.shut,
		WithholdPad: o.norise.shut,
		CloseSeries: o.unasks.shut && o.attended == 0 && o.hottest < o.setPoint+closeRoom,
	}
	g := o.filter.rate()
	f.OffGain = trusted && (g < 0.6*o.params.Gain || g > 1.6*o.params.Gain)
}

// recent counts down from crossedSpan after the last time a condition held.
func recent(t, h float64, holds bool) float64 {
	if holds {
		return crossedSpan
	}
	return left(t, h)
}

// Acquit forgets every suspicion, proof and running test: a person looked and
// reset. What was learned of the tub stays.
func (o *Observer) Acquit() {
	o.unasks, o.norise = inquiry{}, inquiry{}
	o.weld.restart(o.filter.pad)
	o.dead.restart(o.filter.pad)
	o.floor.over, o.floor.under = 0, 0
	o.floor.changed = false
	o.levelHold, o.fallHold, o.riseHold = 0, 0, 0
	o.sinceUnasked, o.sinceNoRise = 0, 0
	o.pair.jumped, o.pair.differ = None, false
	o.pair.long, o.pair.on, o.pair.off, o.pair.over = 0, 0, 0, 0
	for i := range o.runs {
		o.runs[i].frozen, o.runs[i].known = false, false
	}
	o.judge(0)
}
