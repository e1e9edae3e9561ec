package controller

import "time"

// lookAtRelays compares the feedback with the command that was in force, and
// the heat with what a warm-up can need.
func (s *Station) lookAtRelays(in *Input) {
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
	s.plain(SeriesWelded, seriesStuck || s.trial.welded)
	if padStuck && (seriesStuck || !set.HasSeries) {
		s.plain(BothWelded, true)
		s.condemn(BothWelded)
	}
	if in.Health.RelayUnwritten {
		s.plain(RelayUnwritable, true)
	}
	if s.set.Kind == Tub {
		s.plain(OnTooLong, s.onTime > set.Limits.LongestOn)
	}
	if set.HasSeries && s.set.Kind == Tub {
		p := &s.proofs[ProofSeries]
		s.plain(ProofOverdue, p.Passed && p.Age > proofOverdue)
	}
	if s.crossed || in.Health.CrossedWarming {
		s.crossed = true
		s.plain(WrongTub, true)
		s.withhold(WrongTub)
	}
	s.plain(WrongTub, s.look.facts.Crossed)
}

// Ages of the series relay's proof.
const (
	proofDue     = 7 * 24 * time.Hour
	proofOverdue = 8 * 24 * time.Hour
)
