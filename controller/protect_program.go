package controller

import "time"

// Lines of the program's own health.
const lateMost = 5 * time.Second

// lookAtProgram turns the program's own health into causes.
func (s *Station) lookAtProgram(in *Input) {
	h := &in.Health
	if h.Unclean && s.now-s.start < waitAfterRestart(h.Restarts) {
		s.plain(TooManyRestarts, true)
		if h.Restarts >= restartsMost {
			s.condemn(TooManyRestarts)
		}
	}
	s.plain(LoopLate, h.LateBy > lateMost)
	s.plain(ClockStepped, h.ClockStepped)
	if h.JournalFailing || !h.StoreProven {
		s.plain(JournalFailing, true)
	}
	s.plain(CardNearlyFull, h.CardNearlyFull)
	s.plain(SupplyLow, h.SupplyLow)
	s.plain(CalibrationOverdue, s.overdue)
}

// lookAtPeople finds out whether somebody must be there and is not, and
// whether somebody is there for too long.
func (s *Station) lookAtPeople() {
	if s.attended {
		s.plain(AttendedTooLong, s.attendedFor >= s.attendedAllowed())
	} else if s.mustBeAttended() {
		s.plain(NobodyPresent, !s.someoneHere())
	}
	if !s.proven() {
		s.plain(Unproven, true)
		if !s.provingHeat() {
			s.withhold(Unproven)
		}
	}
}
