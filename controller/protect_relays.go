package controller

import "time"

// lookAtRelays looks at what is known of the relays beside their feedback, and at
// how long they have let heat through.
func (s *Station) lookAtRelays(in *Input) {
	set := &s.set
	if s.trial.welded {
		s.plain(SeriesWelded, true)
	}
	if in.Health.RelayUnwritten {
		s.plain(RelayUnwritable, true)
	}
	if set.Kind == Tub {
		s.plain(OnTooLong, s.onTime > set.Limits.LongestOn) // longer than a warm-up can need
		if p := &s.proofs[ProofSeries]; p.Age > proofOverdue && p.Passed && set.HasSeries {
			s.plain(ProofOverdue, true)
		}
	}
	if s.crossed || in.Health.CrossedWarming {
		s.crossed = true
		s.plain(WrongTub, true)
		s.withhold(WrongTub)
	}
	s.plain(WrongTub, s.look.facts.Crossed)
}

// lookAtFeedback compares the feedback with the command that was in force.
func (s *Station) lookAtFeedback(in *Input) {
	set := &s.set
	c := s.command
	padStuck := set.HasPadSeen && in.PadSeen == ContactClosed && !c.Pad
	seriesMust := !set.SeriesShared || s.out.OpenShared // nobody else may hold it closed
	seriesStuck := set.HasSeriesSeen && in.SeriesSeen == ContactClosed && !c.Series && seriesMust
	s.plain(RelayDisagrees,
		padStuck ||
			set.HasPadSeen && c.Pad && in.PadSeen != ContactClosed ||
			set.HasPadSeen && in.PadSeen == ContactUnknown ||
			set.HasSeriesSeen && c.Series && in.SeriesSeen != ContactClosed && !in.Health.SharedTrip ||
			set.HasSeriesSeen && in.SeriesSeen == ContactUnknown)
	s.plain(SeriesWelded, seriesStuck)
	if padStuck && (seriesStuck || !set.HasSeries) {
		s.plain(BothWelded, true)
		s.condemn(BothWelded)
	}
}

// Ages of the series relay's proof.
const (
	proofDue     = 7 * 24 * time.Hour
	proofOverdue = 8 * 24 * time.Hour
)
