package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// Lines of a chamber.
const (
	limitBack = 500 * MilliKelvin
	limitTrip = 2 * Kelvin // over the limit

	heaterCoasts = 3 * time.Minute  // beside its configured coast: what a hot coil still gives the air
	unaskedSpan  = 20 * time.Minute // a room or the sun warms a chamber more slowly
	unaskedRise  = 2 * Kelvin
	warmHand     = physic.ZeroCelsius + 35*physic.Kelvin // skin is cooler: a probe held while it is placed
	answerSpan   = 10 * time.Minute                      // of unbroken heat
	answerLeast  = 500 * MilliKelvin
)

// heater is what a chamber's air says of its heater.
type heater struct {
	on      time.Duration      // of heat since the air last rose by answerLeast
	from    physic.Temperature // of the air then
	off     time.Duration      // since heat was last commanded
	low     physic.Temperature // the coldest since the window began
	before  physic.Temperature // the coldest of the window before
	window  time.Duration
	resting bool // low is known

	same   physic.Temperature // of the air, exactly, for
	still  time.Duration      // of heat
	others physic.Temperature // the hottest of the other probes when it began
	stuck  bool               // it stayed the same while they moved
}

// lookAtChamber compares the hottest probe with the limit of the furnishings,
// and the air with its proof.
func (s *Station) lookAtChamber(in *Input) {
	hot := s.hottestOfAll()
	if hot >= 0 {
		v := s.probes[hot].last.Value
		if v >= (s.acting|s.latched).below(OverLimit, s.set.Limit, limitBack) {
			s.raise(OverLimit, v, hot)
			if v >= s.set.Limit+physic.Temperature(limitTrip) {
				s.condemn(OverLimit)
			}
		}
	}
	s.lookAtHeater()
	s.plain(AirflowLost, s.set.HasAirflow && s.command.Fan && !in.Health.AirflowSeen)
	s.plain(DoorOpened, s.set.HasDoor && in.Health.DoorOpen)
	s.plain(OverTime, in.Treatment.Running && in.Treatment.OverTime)
	s.plain(OutOfPiece, in.Treatment.Running && in.Treatment.OutOfPiece)
}

// lookAtHeater compares the air with what was commanded: heat that nobody asked
// for is a relay that sticks, and heat that does not come is a heater, a relay, a
// cut-out or a fan.
func (s *Station) lookAtHeater() {
	i := s.governing()
	if !s.set.HasPad || i < 0 {
		return
	}
	h, v := &s.heater, s.probes[i].last.Value
	s.lookAtAir(i)
	if s.command.Heat(s.set.HasSeries) {
		if h.off, h.resting = 0, false; h.on == 0 || v >= h.from+physic.Temperature(answerLeast) {
			h.on, h.from = 0, v
		}
		if h.on += s.grace; h.on >= answerSpan {
			s.raise(NoRise, v, i)
		}
		return
	}
	h.on = 0
	h.off += s.grace
	if h.off < heaterCoasts+s.set.Limits.Coast {
		return
	}
	if !h.resting {
		h.resting, h.low, h.before, h.window = true, v, v, 0
	}
	h.low = min(h.low, v)
	if h.window += s.grace; h.window >= unaskedSpan/2 {
		h.window, h.before, h.low = 0, h.low, v
	}
	if v >= warmHand && v >= min(h.low, h.before)+physic.Temperature(unaskedRise) {
		s.raise(UnaskedRise, v, i)
		s.condemn(UnaskedRise)
	}
}

// lookAtAir finds a probe of the air that repeats one code through ten minutes
// of heat while another probe rises: what it says is not the air, and the
// heater would never be switched off by it.
func (s *Station) lookAtAir(i int) {
	h, v := &s.heater, s.probes[i].last.Value
	hottest := physic.Temperature(0)
	for k, p := range s.probes {
		if k != i && p.believable() {
			hottest = max(hottest, p.last.Value)
		}
	}
	if v != h.same {
		h.same, h.still, h.others, h.stuck = v, 0, hottest, false
	}
	if s.command.Heat(s.set.HasSeries) {
		h.still += s.grace
	}
	h.stuck = h.stuck || h.still >= answerSpan && hottest >= h.others+physic.Temperature(answerLeast)
	if h.stuck {
		s.raise(ProbeFrozen, v, i)
		s.withhold(ProbeFrozen)
	}
}

// hottestOfAll is the index of the hottest probe whose reading still counts,
// −1 for none.
func (s *Station) hottestOfAll() int {
	hot := -1
	for i, p := range s.probes {
		if p.believable() && (hot < 0 || p.last.Value > s.probes[hot].last.Value) {
			hot = i
		}
	}
	return hot
}
