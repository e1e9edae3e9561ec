package observer

import "math"

// The floor over the pad is warmer than the water by P/(h·A) while the pad
// heats, 0.4 to 4 K, and loses that within one coast. Lids, draughts and sun do
// not touch it. Stirring (film × 1.8) makes the answer 0.55 of what was
// learned; an animal lying on the floor (film × 0.6) makes it 1.7 and its
// decay 1.7 times slower. The bounds below leave those inside. A relay that
// chatters gives half of the heat, and what was learned may be a third too
// small: two thirds of the answer are not yet the pad's. That delays an acquittal
// under stirring and accuses nobody.
const (
	floorWarm    = 0.35 // of the learned answer: more than this, long after the pad went off, is heat
	floorCold    = 0.25 // less than this, long after it went on, is none
	floorSlow    = 1.8  // the slowest decay, in coasts
	floorLow     = 0.6  // what the answer at switching counts at least …
	floorHigh    = 1.7  // … and at most
	floorAlive   = 0.7  // more than this, long after it went on, is heat that arrives
	floorHold    = 70.0 // s that the excess must last
	floorRise    = 0.35 // K; a smaller learned answer drowns in eddies and codes
	floorAge     = 7200.0
	floorHeat    = 1800.0
	floorRest    = 900.0  // s without heat before a floor that stays warm says anything
	floorNew     = 3600.0 // s for which each half of what is learned goes at the quicker pace
	floorDead    = 2.5    // coasts of heat before its absence is judged
	floorPace    = 0.002  // of the error, per block, once old enough
	floorPaceNew = 0.01   // before that
)

// envelope watches floor minus water.
type envelope struct {
	still, rise float64 // K: learned difference with the pad off, and what full heat adds
	age, heat   float64 // s of learning, and of full heat in it
	pad         float64 // 0…1, pad power with one coast of lag
	start       float64 // answer at the last switch, floorLow…floorHigh
	since       float64 // s since the last switch of the heat that is judged
	over, under float64 // s for which the excess and the absence last
	lack        float64 // s for which the answer is less than a pad at work makes it
	fine        float64 // s for which the answer is as commanded
	answer      float64 // (floor − water − still)/rise, of the last block
	changed     bool    // the floor's code changed since the switch: it is not frozen
	on          bool    // the pad was on in the last block
	open        bool    // the series relay was open in the last block
}

// ready says whether the envelope may judge.
func (e *envelope) ready() bool {
	return e.age >= floorAge && e.heat >= floorHeat && e.rise > floorRise
}

// rest is how many of the seconds of learning had no heat, and pace how much of
// the error a block takes in after t seconds of one or the other.
func (e *envelope) rest() float64 { return e.age - e.heat }

func pace(t float64) float64 {
	if t < floorNew {
		return floorPaceNew
	}
	return floorPace
}

// blind says that the learned answer is too small to judge by, though there was
// heat enough to learn it: the probe is out of place, or it is another tub's.
// A warm plate under water rises by (q/267)^¾ K with q in W/m² (Nu = 0.15 Ra^⅓,
// Incropera and DeWitt); a quarter of that is out of place.
func (e *envelope) blind(flux float64) bool {
	r := math.Sqrt(flux / 267)
	expected := r * math.Sqrt(r)
	return e.age >= floorAge && e.heat >= floorHeat && e.rise <= max(floorRise, expected/4)
}

// add takes one block: z is floor minus water in K, u the part of it with heat
// commanded, closed whether heat could flow if the pad relay were welded.
func (e *envelope) add(h, z, u, coast float64, closed, moved, learn bool) {
	keep := decay(h / coast)
	before := e.pad
	e.pad = u + float64((before-u)*keep)
	mean := float64((before + e.pad) / 2)
	if e.rise > 0 {
		e.answer = (z - e.still) / e.rise
	}
	on := u > 0.5
	if on != e.on || (closed && e.open) {
		e.start = clamp(e.answer, floorLow, floorHigh)
		e.since, e.over, e.under, e.lack, e.fine = 0, 0, 0, 0, 0
		e.changed = false
	}
	e.on, e.open = on, !closed
	e.since += h
	e.changed = e.changed || moved
	if learn {
		err := z - e.still - float64(e.rise*mean)
		e.still += float64(float64(pace(e.rest())*err) * (1 - mean))
		e.rise += float64(float64(pace(e.heat)*err) * mean)
		e.age = min(e.age+h, 1e9)
		e.heat = min(e.heat+float64(h*u), 1e9)
	}
	warm := !on && closed && e.since > coast &&
		e.answer > float64(e.start*decay(e.since/float64(floorSlow*coast)))+floorWarm
	cold := on && e.since > float64(floorDead*coast) && e.answer < floorCold
	e.over, e.under = lasting(e.over, h, warm), lasting(e.under, h, cold)
	e.lack = lasting(e.lack, h, on && e.since > coast && e.answer < float64(floorCold*e.pad))
	fine := closed && e.since > float64(floorDead*coast) && (on && e.answer > floorAlive || !on && e.answer < floorCold)
	e.fine = lasting(e.fine, h, fine)
}

// unasked and absent are the floor's proofs. A floor probe that repeats one
// code since the switch proves nothing: that is the frozen test's business.
func (e *envelope) unasked() bool {
	return e.over >= floorHold && e.changed && e.ready() && e.rest() >= floorRest
}
func (e *envelope) absent() bool { return e.under >= floorHold && e.changed && e.ready() }

// lacking accuses sooner than absent, and proves nothing: one coast after the
// pad went on it has given 0.63 of its answer, with the slowest decay 0.43, and
// under stirring 0.55 of that, 0.24; a quarter of 0.63 is 0.16. The pulses of
// heat after a water change are often too short for the proof. It need not wait
// for the age of a witness: an answer that is not learned to the end yet is
// taken for larger than it is, and the person is only asked to look.
func (e *envelope) lacking() bool {
	return e.lack >= floorHold && e.changed && e.heat >= floorHeat && e.rise > floorRise
}

// heated and cleared are the floor's acquittals: it answers to heat; it lost
// its heat with the way for unasked heat open.
func (e *envelope) heated() bool { return e.fine >= floorHold && e.on && e.changed && e.ready() }
func (e *envelope) cleared() bool {
	return e.fine >= floorHold && !e.on && !e.open && e.changed && e.ready()
}

// lasting adds up the time for which a condition holds without a break.
func lasting(t, h float64, holds bool) float64 {
	if !holds {
		return 0
	}
	return t + h
}
