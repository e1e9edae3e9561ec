package controller

import "soakwarden/controller/alarm"

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
	// One alarm about warmth is enough.
	silentWarm causes = 1 << HeatFromOutside
	// The proof is on its way.
	silentProving causes = 1 << Unproven
)

// tell keeps the alarm of a cause in step with it.
func (s *Station) tell(c Cause) {
	m := &s.marks[c]
	m.alarm.Update(s.acting.has(c) && m.severity >= Warning, s.latched.has(c))
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
	if s.acting&(1<<UnaskedRise|1<<OverBand) != 0 {
		set |= silentWarm
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
