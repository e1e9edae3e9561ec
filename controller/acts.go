package controller

import "time"

// takeActs carries out what people did since the last Step, in their order,
// and answers each with one event.
func (s *Station) takeActs(acts []Act) {
	for i := range acts {
		a := &acts[i]
		if a.Kind == NoAct {
			continue
		}
		e := Event{Kind: ActDone, Cause: a.Cause, Number: a.Number, Probe: -1, Value: a.Value}
		if a.Kind == Reset {
			e.Kind = ResetDone
		}
		if e.Refusal = s.take(a); e.Refusal != NoRefusal {
			e.Kind = ActRefused
		}
		s.event(e)
	}
}

// take carries out one act, or says why not.
func (s *Station) take(a *Act) Refusal {
	if a.Cause >= causeCount {
		return NotActive
	}
	if a.Place == Nowhere {
		return WrongPlace
	}
	switch a.Kind {
	case Acknowledge:
		return s.acknowledge(a.Cause)
	case Reset:
		return s.reset(a)
	case Shelve, Unshelve:
		return s.shelve(a)
	case BeginAttended, ExtendAttended, EndAttended:
		return s.handsIn(a.Kind)
	case TakeOutOfService, PutInService:
		return s.service(a.Kind == TakeOutOfService)
	case WaterChanged:
		s.refilled()
	case ConfirmFill:
		s.confirm()
	case AnimalIn:
		s.animal = AnimalIsIn
	case AnimalOut:
		s.animal = AnimalIsOut
	case Presence:
	case Prove:
		return s.proveAnew()
	default:
		return NotNow
	}
	s.present30()
	return NoRefusal
}

// presenceLong is how long a person counts as present after an act at the tub.
const presenceLong = 30 * time.Minute

// present30 remembers that somebody is at the tub now.
func (s *Station) present30() { s.presence = presenceLong }

// someoneHere says whether a person counts as present.
func (s *Station) someoneHere() bool { return s.presence > 0 || s.attended }

// unattendedFit says whether the station may be left alone with an animal: two
// calibrated in-water probes, and a series relay that is its own.
func (s *Station) unattendedFit() bool {
	if s.set.AttendedOnly || !s.set.HasSeries || s.set.SeriesShared {
		return false
	}
	for _, i := range s.place[:2] {
		if i < 0 || !s.set.Probes[i].Calibrated {
			return false
		}
	}
	return true
}

// mustBeAttended says whether heat needs a person who is present. With no
// animal in the tub nobody has to watch it.
func (s *Station) mustBeAttended() bool {
	return !s.fit && s.animal != AnimalIsOut && s.set.Kind == Tub
}

func (s *Station) acknowledge(c Cause) Refusal {
	if !s.marks[c].alarm.Acknowledge() {
		return NotActive
	}
	s.report(c)
	return NoRefusal
}

func (s *Station) shelve(a *Act) Refusal {
	m := &s.marks[a.Cause].alarm
	switch {
	case a.Kind == Unshelve:
		if !m.Unshelve() {
			return NotActive
		}
	case m.Idle():
		return NotActive
	case !rules[a.Cause].Deferrable || s.latched.has(a.Cause) || !m.Shelve(a.Span):
		return NotNow
	}
	s.report(a.Cause)
	return NoRefusal
}

// service takes the station out of service, or puts it back. It does not heat
// meanwhile; alarms that nobody may put off go on.
func (s *Station) service(out bool) Refusal {
	if s.outOfService == out {
		return NotNow
	}
	s.outOfService = out
	return NoRefusal
}

// refilled begins the time after a water change: the new water's mass is not
// proven, its temperature is no longer the old one's.
func (s *Station) refilled() {
	s.changed = true
	s.waterFits = false
	s.confirm()
	s.widened = widenedLong
	s.run.anchored = false
	s.restage()
}

// confirm makes the water's next answers the measure of the fill.
func (s *Station) confirm() {
	s.gone = NoCause
	if s.obs != nil {
		s.obs.Filled()
		s.look.ask = s.now
	}
}

// proveAnew forgets every proof, because a person changed the wiring or wants
// to see it.
func (s *Station) proveAnew() Refusal {
	if s.set.Kind != Tub || s.outOfService {
		return NotNow
	}
	s.proofs = [ProofKindCount]ProofState{}
	s.waterFits, s.crossed = false, false
	s.restage()
	s.present30()
	return NoRefusal
}
