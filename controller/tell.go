package controller

import (
	"time"

	"soakwarden/controller/alarm"
)

// Sets of causes whose alarms the station's mode silences by design. Their
// conditions go on acting on the relays.
const (
	// Hands, lids and water changes look like all of these.
	silentAttended causes = 1<<TooCold | 1<<ProbeJumped | 1<<ProbesDiffer | 1<<NoRise | 1<<HeatFromOutside |
		1<<WaterLow | 1<<ProofOverdue | 1<<NobodyPresent | 1<<Unproven
	// Nobody is in the water who could be cold.
	silentEmpty causes = 1<<TooCold | 1<<NobodyPresent
	// The first filling; an animal that is said to be in ends this.
	silentFilling causes = 1 << TooCold
	// All of these say that the water is warmer than the heat we gave makes it.
	aboutWarmth causes = 1<<OverBand | 1<<UnaskedRise | 1<<HeatFromOutside
	// The proof is on its way.
	silentProving causes = 1 << Unproven
)

// warmLong is how long nothing may speak of warmth before it is another event.
const warmLong = 30 * time.Minute

// announceWarmth makes one event one alarm: sun is an unasked rise, over the
// band and heat from outside within half an hour. Who speaks first speaks until
// all of it is over; but what may be a stuck relay may speak after the sun.
func (s *Station) announceWarmth(c Cause) {
	if !aboutWarmth.has(c) || !s.acting.has(c) || s.warm == c || s.silent().has(c) {
		return
	}
	s.warm = c
}

// coolDown lets the event end.
func (s *Station) coolDown() {
	switch {
	case s.warm == NoCause:
	case s.acting&aboutWarmth != 0:
		s.warmFor = warmLong
	case s.warmFor > s.dt:
		s.warmFor -= s.dt
	default:
		s.warm, s.warmFor = NoCause, 0
	}
}

// tell keeps the alarm of a cause in step with it.
func (s *Station) tell(c Cause) {
	m := &s.marks[c]
	s.announceWarmth(c)
	speaks := s.acting.has(c) && m.severity >= Warning
	if s.warm == c && c != NoCause {
		speaks = true
	}
	m.alarm.Update(speaks, s.latched.has(c))
	if s.latched.has(c) {
		m.alarm.Unshelve()
	}
	quiet := s.silent().has(c)
	if quiet && m.alarm.Beneath() == alarm.Returned {
		m.alarm.Acknowledge() // nobody was asked, so nobody has to answer
	}
	there := m.alarm.Beneath() != alarm.Normal
	m.alarm.Suppress(there && quiet)
	m.alarm.TakeOut(there && s.outOfService && rules[c].Deferrable)
	s.report(c)
}

// silent is the set of causes whose alarms are suppressed by design now.
func (s *Station) silent() causes {
	var set causes
	if s.attended {
		set |= silentAttended
	}
	if s.animal == AnimalIsOut {
		set |= silentEmpty
	}
	if s.animal == AnimalMayBeIn && !s.everReady {
		set |= silentFilling
	}
	if !s.proofs[ProofPairing].Failed && !s.proofs[ProofAllOff].Failed {
		set |= silentProving
	}
	if w := s.warm; w != NoCause {
		var others causes = 1 << HeatFromOutside
		if w != HeatFromOutside {
			others = aboutWarmth
		}
		set |= others &^ (1 << w)
	}
	return set &^ s.latched
}

// report tells of an alarm that changed since it was last told of.
func (s *Station) report(c Cause) {
	m := &s.marks[c]
	if m.alarm.Idle() { // a normal alarm needs no silence
		m.alarm.Suppress(false)
		m.alarm.TakeOut(false)
	}
	to := m.alarm.State()
	if from := s.told[c]; from != to {
		s.told[c] = to
		s.event(Event{Kind: AlarmChanged, Cause: c, From: uint8(from), To: uint8(to), Probe: m.probe, Value: m.value})
	}
	if m.alarm.Idle() {
		s.alive &^= 1 << c
		return
	}
	s.alive |= 1 << c
}
