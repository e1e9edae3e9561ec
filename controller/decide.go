package controller

// hindrance is what heat waits for apart from causes.
func (s *Station) hindrance(in *Input) Wait {
	h := &in.Health
	switch {
	case !h.StoreProven:
		return WaitStore
	case s.outOfService:
		return WaitService
	case s.attended:
		return WaitAttended
	case !s.begin:
		return WaitProbes
	case h.SharedTrip && s.set.HasSeries:
		return WaitShared
	case s.set.Kind == Chamber && !in.Treatment.Running:
		return WaitTreatment
	case !h.Permit:
		return WaitTurn
	}
	return NoWait
}

// decide puts together what the three parts said. Heat needs all of them.
func (s *Station) decide(in *Input) {
	// The Output is written field by field: a whole one would be built and copied.
	o := &s.out
	o.OpenShared = s.openShared()
	o.Reason, o.Effective, o.Governing = s.worst(), s.run.effective, s.governing()
	s.waits = s.hindrance(in)
	permitted := o.Reason == NoCause && s.waits == NoWait && (s.water.count > 0 || s.set.Kind == Chamber)
	o.Permitted = permitted
	want, t := s.run.wants, &s.trial
	if t.drives {
		want = t.pad
		if permitted && !t.pad {
			s.waits = WaitConfirmation
		}
	}
	if s.look.advice.WithholdPad {
		want = false
	}
	var c Command
	if permitted {
		c.Pad = s.switched(want, t.drives)
		c.Series = s.set.HasSeries && (!t.drives || t.pad && !t.open)
	}
	if s.tandem && !c.Pad {
		c.Series = c.Series && s.look.advice.CloseSeries
		o.OpenShared = true
	}
	if s.set.HasFan {
		c.Fan = s.airs(in)
	}
	if c.Heat(s.set.HasSeries) {
		must(permitted, "heat that is not permitted")
		must(s.latched == 0, "heat under a latch")
		must(!t.open, "heat in the proof of the series relay")
	}
	if c.Pad {
		must(!s.attended, "heat with hands in the water")
	}
	if c != s.command {
		s.switches(c)
	}
	o.Command = s.command
}

// switched keeps the least times between switchings. They bind the operating
// control alone: protection and proofs switch at once.
func (s *Station) switched(want, proof bool) bool {
	r := &s.run
	if proof || want == s.command.Pad {
		return want
	}
	least := s.set.MinOff
	if s.command.Pad {
		least = s.set.MinOn
	}
	if r.heated && r.since < least {
		return s.command.Pad
	}
	return want
}

// airs says whether the fan of a chamber runs: with the heat, and for a while
// after it.
func (s *Station) airs(in *Input) bool {
	r := &s.run
	if in.Treatment.Running {
		r.fan = fanRunsOn
		return true
	}
	was := r.fan
	r.fan = max(0, was-s.dt)
	return was > 0
}

// switches takes another command than the last, and tells what that changes.
func (s *Station) switches(c Command) {
	r, governing := &s.run, int8(s.out.Governing)
	had, has := s.command.Heat(s.set.HasSeries), c.Heat(s.set.HasSeries)
	if c.Pad != s.command.Pad {
		r.since = 0
	}
	if has != had {
		if has && !r.heated {
			s.event(Event{Kind: FirstHeat, On: true, Probe: governing})
			r.heated = true
		}
		s.event(Event{Kind: HeatSwitched, On: has, Probe: governing})
	}
	if c.Series != s.command.Series {
		s.event(Event{Kind: SeriesSwitched, On: c.Series, Probe: -1})
	}
	s.command = c
}

// openShared says whether the series relay must be open even for others,
// whether or not it follows the pad relay.
func (s *Station) openShared() bool {
	return s.attended || s.trial.open || s.blind >= blindMost || s.opensEvery()
}

// opensEvery says whether a cause withholds heat that opens every relay.
func (s *Station) opensEvery() bool {
	for work := s.latched | s.acting; work != 0; {
		c := work.next()
		if s.marks[c].severity >= HeatOff && rules[c].Relays == EveryRelay {
			return true
		}
	}
	return false
}
