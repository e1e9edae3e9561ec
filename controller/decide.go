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
	case s.set.HasSeries && h.SharedTrip:
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
	r, t := &s.run, &s.trial
	reason := s.worst()
	s.waits = s.hindrance(in)
	permitted := reason == NoCause && s.waits == NoWait && (s.set.Kind == Chamber || s.water.count > 0)
	if permitted && t.drives && !t.pad {
		s.waits = WaitConfirmation
	}

	want := r.wants
	if t.drives {
		want = t.pad
	}
	if s.look.advice.WithholdPad {
		want = false
	}
	var c Command
	c.Pad = permitted && s.switched(want, t.drives)
	c.Series = s.set.HasSeries && permitted && (!t.drives || t.pad && !t.open)
	if s.tandem && !c.Pad {
		c.Series = c.Series && s.look.advice.CloseSeries
	}
	if t.open {
		must(!c.Heat(s.set.HasSeries), "heat in the proof of the series relay")
	}
	s.airs(in, &c)
	must(!c.Heat(s.set.HasSeries) || permitted, "heat that is not permitted")
	must(!c.Heat(s.set.HasSeries) || s.latched == 0, "heat under a latch")
	must(!c.Pad || !s.attended, "heat with hands in the water")
	s.put(c, permitted, reason)
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

// airs runs the fan of a chamber with the heat and for a while after it.
func (s *Station) airs(in *Input, c *Command) {
	if !s.set.HasFan {
		return
	}
	r := &s.run
	switch {
	case in.Treatment.Running:
		r.fan = fanRunsOn
		c.Fan = true
	case r.fan > 0:
		r.fan = max(0, r.fan-s.dt)
		c.Fan = true
	}
}

// put writes the command into the Output, with what changed by it.
func (s *Station) put(c Command, permitted bool, reason Cause) {
	r := &s.run
	had, has, governing := s.command.Heat(s.set.HasSeries), c.Heat(s.set.HasSeries), s.governing()
	if c.Pad != s.command.Pad {
		r.since = 0
	}
	if has != had {
		if has && !r.heated {
			s.event(Event{Kind: FirstHeat, On: true, Probe: int8(governing)})
			r.heated = true
		}
		s.event(Event{Kind: HeatSwitched, On: has, Probe: int8(governing)})
	}
	if c.Series != s.command.Series {
		s.event(Event{Kind: SeriesSwitched, On: c.Series, Probe: -1})
	}
	s.command = c
	// Field by field: a whole record would be built and then copied.
	o := &s.out
	o.Command, o.OpenShared, o.Permitted, o.Reason = c, s.openShared(), permitted, reason
	o.Effective, o.Governing, o.Events = r.effective, governing, s.events
}

// openShared says whether the series relay must be open even for others.
func (s *Station) openShared() bool {
	if s.attended || s.trial.open || s.set.Kind == Tub && s.blind >= blindMost || s.tandem && !s.command.Pad {
		return true
	}
	for work := s.latched | s.acting; work != 0; {
		c := work.next()
		if s.marks[c].severity >= HeatOff && rules[c].Relays == EveryRelay {
			return true
		}
	}
	return false
}
