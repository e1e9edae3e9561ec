package procedure

import "time"

// Resume tells the case that the program was not running. A negative length
// means that nobody knows how long: the board has no clock that went on.
//
// Up to 15 min the case goes on as if nothing had been: the water has hardly
// cooled. After a longer outage an animal in water is looked at first; one that
// was in water past its limit comes out. A tub that was warming or ready warms
// anew. A dry box is felt first, because it may have been heated by the same
// mains. Rinse, paper and watch only grow older; the days of the watch are
// dates. After an outage of unknown length a case at the tub or in a dry rest
// pauses and asks; a clock that is set later may answer in a person's place
// (Learn).
func (c *Case) Resume(off time.Duration) {
	s := &c.s
	switch {
	case s.Stage == NoStage || s.Stage.Over() || off == 0:
		return
	case off < 0:
		if s.Stage.AtTub() || s.Stage == DryRest {
			s.Pause = AskOutage
		}
		return
	}
	c.Pass(off)
	if off <= shortOutage {
		return
	}
	c.afterLong()
}

// Learn tells a case that asks about an outage how long it was, as soon as a
// clock that can be trusted knows. It is false when nothing is asked.
func (c *Case) Learn(off time.Duration) bool {
	if c.s.Pause != AskOutage || off < 0 {
		return false
	}
	c.s.Pause = NoPause
	c.Resume(off)
	return true
}

// afterLong is what a long outage asks for in each stage.
func (c *Case) afterLong() {
	s := &c.s
	switch {
	case s.IsIn && s.Wet >= s.Plan.LongestWet:
		s.Pause = AskRest
	case s.IsIn:
		s.Pause = AskRound
	case s.Stage == Ready:
		c.enter(Filling)
	case s.Stage == DryRest:
		s.Pause = AskBox
	}
}

// outage takes a person's word for how long it was. When nobody knows, the
// worst is taken: an animal in water was there too long.
func (c *Case) outage(r *Request) ([]Tell, error) {
	s := &c.s
	switch {
	case !r.Unknown && (r.Off <= 0 || r.Off > 60*day):
		return nil, c.no(Outage, "a length of "+Clock(r.Off), "write how long it was, such as 5h or 30m, or that nobody knows (unknown)")
	case !r.Unknown:
		s.Pause = NoPause
		c.Resume(r.Off)
		return []Tell{TellPresent}, nil
	}
	s.Pause = NoPause
	s.Round = max(s.Round, s.Plan.RoundEvery)
	s.Plain = 0
	if s.IsIn {
		s.Wet = max(s.Wet, s.Plan.LongestWet)
	}
	if s.Stage.AtTub() {
		s.Water = max(s.Water, s.Plan.WaterEvery)
	}
	c.afterLong()
	return []Tell{TellPresent}, nil
}
