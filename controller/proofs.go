package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// Stage is where a tub stands with its proofs. The zero value heats nothing.
type Stage uint8

// The stages of proving.
const (
	StageWatch  Stage = iota // everything off for ten minutes
	StageSettle              // everything off until the drift is known
	StagePulse               // waits for its turn and for a need, then heats once
	StageAnswer              // everything off: the answer arrives; then rest, so that at most a fifth of the time is heat
	StageSeries              // pad relay on, series relay open: nothing may warm
	StageDone
)

// sequence is what proofs have shown, kept over restarts.
//
//	Restore(nil), Prove
//	  │ required probes agree
//	  ▼
//	Watch ── 10 min all off; warms ──▶ alarm, watch again
//	  │ does not warm: ProofAllOff
//	  ▼
//	Pulse ── heat for 0.18 K of expected rise (1…30 min), once the bench
//	  │      gives the turn and the water is under its band
//	  ▼      far too quick ──▶ trip "no water"
//	Answer ─ off for coast + 90 s; too little ──▶ rest until the pulse was a
//	  │      fifth of the time, then Pulse again; from the third on alarm
//	  │      "no rise", and only with a person present or an empty tub
//	  │ 0.4…2.5 of what was expected: ProofPairing, water confirmed
//	  ▼
//	Series ─ pad on, series open, for the same span + coast + 60 s;
//	  │      warms ──▶ off for as long, again; three times in a row ──▶ trip
//	  │ does not warm: ProofSeries
//	  ▼
//	Done ─── ordinary control; at the first pause of heat after a start and
//	         weekly: Series again
//
// WaterChanged leads to Settle, and from there to Pulse: the mass of the water
// is proven anew, the relays are not. An interruption (a trip, hands in the
// water, blindness) begins at the first proof that is still missing.
type sequence struct {
	proofs    [ProofKindCount]ProofState
	waterFits bool // the rise fitted the water since it was last confirmed
}

// Spans and shares of the proofs. The rise is three codes of a 12-bit probe,
// and four times the scatter that local eddies leave in a mean over 30 s.
const (
	proofRise   = 0.18 // K
	pulseLeast  = time.Minute
	pulseMost   = 30 * time.Minute
	watchLong   = 10 * time.Minute
	settleLong  = 5 * time.Minute
	answerLong  = 90 * time.Second // on top of the coast: three times smoothTime
	openTail    = time.Minute      // on top of the coast
	restParts   = 4                // off for four times the pulse: a fifth of the time is heat
	fitsLeast   = 0.4              // of the expected rise
	fitsMost    = 2.5
	slack       = 0.1 // K, of stirring and layering on a fit's upper side
	dryRise     = 0.5 // K over fitsMost times the expected rise, at once
	dryFloor    = 3 * physic.Kelvin
	judgeLeast  = 0.1 // K of expected rise, under which a pulse proves nothing
	triesMost   = 3
	votesMost   = 4
	longVotes   = 2 // after which the pulses of the series relay's proof are twice as long
	warmsMost   = 2
	naturalMost = 0.5 // of the gain, that a warm room may give cold water
)

// trial is the proof that is under way.
type trial struct {
	time   time.Duration // in this stage
	on     time.Duration // of heat in this pulse
	since  time.Duration // the base was taken
	base   float64       // °C
	based  bool
	drift  float64 // K/s with everything off
	floor  physic.Temperature
	tries  uint8 // pulses without an answer
	votes  uint8 // for a series relay that does not open
	warms  uint8 // watches that warmed
	judged bool
	pause  bool // the off half of the series relay's proof
	dry    bool
	welded bool
	drives bool // the proof commands the relays, and not the operating control
	pad    bool
	open   bool // the series relay must be open, shared or not
}

// restage goes to the first stage that is not proven.
func (s *Station) restage() {
	s.trial = trial{}
	switch {
	case s.set.Kind != Tub || s.proven():
		s.stage = StageDone
	case !s.proofs[ProofAllOff].Passed:
		s.stage = StageWatch
	default:
		s.stage = StageSettle
	}
}

// proven says whether nothing is left to prove.
func (s *Station) proven() bool {
	return s.proofs[ProofAllOff].Passed && s.proofs[ProofPairing].Passed && s.waterFits &&
		(s.proofs[ProofSeries].Passed || !s.set.HasSeries)
}

// provingHeat says whether the proof may heat in this stage: when a pulse was
// left without an answer too often, only while somebody looks or nobody is in
// the water.
func (s *Station) provingHeat() bool {
	if s.stage < StagePulse {
		return false
	}
	return !s.proofs[ProofPairing].Failed || s.someoneHere() || s.animal == AnimalIsOut
}

// prove moves the proof on and says what it commands.
func (s *Station) prove(in *Input) {
	t := &s.trial
	t.drives, t.pad, t.open = false, false, false
	if s.stage == StageDone {
		if s.seriesDue() {
			s.renew(in)
		}
		if s.stage == StageDone {
			return
		}
	}
	if !s.begin || s.attended || s.outOfService || s.latched != 0 || s.water.count == 0 {
		s.restage()
		return
	}
	t.drives = true
	t.time += s.dt
	t.since += s.dt
	switch s.stage {
	case StageWatch:
		s.watchOff()
	case StageSettle:
		if s.measureDrift(settleLong) {
			s.enter(s.afterSettle())
		}
	case StagePulse:
		s.pulse(in)
	case StageAnswer:
		s.answer()
	case StageSeries:
		s.proveSeries(in)
	}
}

// enter begins a stage; what was learned of the drift stays.
func (s *Station) enter(stage Stage) {
	s.stage = stage
	t := &s.trial
	t.time, t.on, t.based, t.judged, t.pause = 0, 0, false, false, false
}

// take takes the water as it is now for the base of what follows.
func (s *Station) base() {
	t := &s.trial
	t.base, t.since, t.based = s.water.slow, 0, true
	if i := s.place[observer.Floor]; i >= 0 {
		t.floor = s.probes[i].last.Value
	}
}

// rise is how far the water stands over where its drift alone would have
// brought it since the base was taken, in K.
func (s *Station) rise() float64 {
	t := &s.trial
	return s.water.slow - t.base - float64(t.drift*t.since.Seconds())
}

// measureDrift measures how the water drifts with everything off. It is true
// when that took the given span, the coast of what was before left out.
func (s *Station) measureDrift(long time.Duration) bool {
	t := &s.trial
	if !t.based {
		if t.time > s.rate.coast {
			s.base()
		}
		return false
	}
	if t.time < max(long, s.rate.coast+2*time.Minute) {
		return false
	}
	t.drift = (s.water.slow - t.base) / t.since.Seconds()
	return true
}

func (s *Station) afterSettle() Stage {
	if s.proofs[ProofPairing].Passed && s.waterFits {
		return StageSeries
	}
	return StagePulse
}

// watchOff is the ten minutes with everything off. Water that is colder than
// the room can be warms by itself, but not as the pad warms it.
func (s *Station) watchOff() {
	t := &s.trial
	if !s.measureDrift(watchLong) {
		return
	}
	limit := float64(fitsLeast * s.rate.gain)
	if s.water.mean < inCelsius(s.set.RoomWarmest)-1 {
		limit += float64(naturalMost * s.rate.gain)
	}
	if t.drift > limit {
		t.warms = min(t.warms+1, warmsMost)
		s.conclude(ProofAllOff, false)
		s.enter(StageWatch)
		return
	}
	t.warms = 0
	s.conclude(ProofAllOff, true)
	s.enter(s.afterSettle())
}

// conclude records how a proof ended.
func (s *Station) conclude(p ProofKind, passed bool) {
	s.proofs[p] = ProofState{Passed: passed, Failed: !passed}
	s.event(Event{Kind: Proof, To: uint8(p), On: passed, Probe: -1, Value: s.water.hottest})
	s.tell(Unproven)
}

// pulse waits until heat is permitted and of use, then heats once.
func (s *Station) pulse(in *Input) {
	t := &s.trial
	clear := s.worst() == NoCause && s.hindrance(in) == NoWait
	half := s.rate.half
	if t.on == 0 && !t.pad && !s.command.Pad {
		if !clear || s.water.hottest > s.set.SetPoint-half {
			if t.time >= settleLong { // the drift that was measured grows old
				if t.based {
					t.drift = (s.water.slow - t.base) / t.since.Seconds()
				}
				s.base()
				t.time = 0
			}
			return
		}
		s.base()
		t.pad = true
		return
	}
	t.on += s.dt
	if !clear {
		s.enter(StageSettle)
		return
	}
	if s.tooQuick() {
		return
	}
	if t.on >= s.rate.pulse || s.water.hottest >= s.set.SetPoint+half {
		t.time = 0
		s.stage = StageAnswer
		return
	}
	t.pad = true
}

// expected is the rise that this pulse's heat must give, in K.
func (s *Station) expected() float64 { return float64(s.rate.gain * s.trial.on.Seconds()) }

// tooQuick says whether water or floor warm as only a pad without water over
// it warms them.
func (s *Station) tooQuick() bool {
	t := &s.trial
	quick := s.water.mean-t.base > float64(fitsMost*s.expected())+dryRise
	if i := s.place[observer.Floor]; i >= 0 && s.probes[i].good() {
		floor := s.probes[i].last.Value - t.floor
		quick = quick || floor > physic.Temperature(2*s.set.Limits.FloorRise)+dryFloor
	}
	t.dry = t.dry || quick
	return quick
}

// answer waits for what the pulse did to the water and judges it once.
func (s *Station) answer() {
	t := &s.trial
	if s.tooQuick() {
		return
	}
	wait := s.rate.coast + answerLong
	switch {
	case !t.judged && t.time >= wait:
		t.judged = true
		if s.judge() {
			return
		}
		on := t.on
		s.base()
		t.on = on
	case t.judged && t.time >= max(restParts*t.on, wait+2*time.Minute):
		t.drift = (s.water.slow - t.base) / t.since.Seconds()
		s.enter(StagePulse)
	}
}

// judge compares the rise with what was expected; it is true when the pulse
// proved the pairing and the water.
func (s *Station) judge() bool {
	t := &s.trial
	want, got := s.expected(), s.rise()
	switch {
	case want < judgeLeast:
		return false
	case got < float64(fitsLeast*want) || got > float64(fitsMost*want)+slack:
		t.tries = min(t.tries+1, triesMost)
		if t.tries == triesMost && !s.proofs[ProofPairing].Failed {
			s.conclude(ProofPairing, false)
		}
		return false
	}
	s.waterFits = true
	s.conclude(ProofPairing, true)
	t.tries = 0
	if s.set.HasSeries && !s.proofs[ProofSeries].Passed {
		s.enter(StageSeries)
	} else {
		s.restage()
	}
	return true
}
