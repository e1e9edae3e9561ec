package controller

import "periph.io/x/conn/v3/physic"

// Lines of a chamber.
const (
	limitBack = 500 * MilliKelvin
	limitTrip = 2 * Kelvin // over the limit
)

// lookAtChamber compares the hottest probe with the limit of the furnishings,
// and the air with its proof.
func (s *Station) lookAtChamber(in *Input) {
	hot := s.hottestOfAll()
	if hot >= 0 {
		v := s.probes[hot].last.Value
		if v >= s.below(OverLimit, s.set.Limit, limitBack) {
			s.raise(OverLimit, v, hot)
			if v >= s.set.Limit+physic.Temperature(limitTrip) {
				s.condemn(OverLimit)
			}
		}
	}
	s.plain(AirflowLost, s.set.HasAirflow && s.command.Fan && !in.Health.AirflowSeen)
	s.plain(DoorOpened, s.set.HasDoor && in.Health.DoorOpen)
	s.plain(OverTime, in.Treatment.Running && in.Treatment.OverTime)
	s.plain(OutOfPiece, in.Treatment.Running && in.Treatment.OutOfPiece)
}

// hottestOfAll is the index of the hottest probe whose reading still counts,
// −1 for none.
func (s *Station) hottestOfAll() int {
	hot := -1
	for i := range s.probes {
		p := &s.probes[i]
		if p.believable() && (hot < 0 || p.last.Value > s.probes[hot].last.Value) {
			hot = i
		}
	}
	return hot
}
