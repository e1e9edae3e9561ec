package loop

import (
	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
)

// act writes the commands to the relays. A series relay makes before the pad
// relay and breaks after it, so that its own contacts switch no load; a trip
// opens both at once because the pad relay may be the one that is welded.
// Every relay is written every tick: a line that somebody else disturbed is
// put right within a second, and one that cannot be written is noticed.
func (l *Loop) act() {
	for _, s := range l.stations {
		s.unwritten = false
		o, d := s.output, &s.asked
		if o.Command != d.Command || o.OpenShared != d.openShared || s.drive.Buzzer != d.warns {
			*d, l.settled = demand{o.Command, o.OpenShared, s.drive.Buzzer}, false
		}
	}
	if l.settled { // nearly always, and then the order does not matter
		for i := range l.relays {
			st := &l.relays[i]
			if st.want != st.on {
				continue // dropped meanwhile
			}
			if err := st.pin.Out(gpio.Level(st.on)); err != nil {
				l.fail(i, err)
			}
		}
		return
	}
	l.settled = true
	for i := range l.relays {
		l.relays[i].want = false
	}
	for _, s := range l.stations {
		s.pad.ask(s.asked.Pad)
		s.series.ask(s.asked.Series)
		s.fan.ask(s.asked.Fan)
		s.buzzer.ask(s.asked.Buzzer || s.asked.warns)
	}
	for _, s := range l.stations {
		if s.asked.openShared && s.series != nil {
			s.series.want = false
		}
	}
	// Opening: pads, then series. Closing: series, then pads.
	for i := range l.relays {
		st := &l.relays[i]
		switch {
		case st.want && st.isSeries:
			st.turn = 2
		case st.want:
			st.turn = 3
		case st.isSeries:
			st.turn = 1
		default:
			st.turn = 0
		}
	}
	for turn := range uint8(4) {
		for i := range l.relays {
			if st := &l.relays[i]; st.turn == turn && st.want == (turn >= 2) { // or it was dropped meanwhile
				l.write(i)
			}
		}
	}
}

// ask asks for a relay, if it is wired; a shared one is closed when anybody
// needs it.
func (st *relayState) ask(on bool) {
	if on && st != nil {
		st.want = true
	}
}

// write drives one relay as it is wanted.
func (l *Loop) write(i int) {
	st := &l.relays[i]
	on := st.want
	if err := st.pin.Out(gpio.Level(on)); err != nil {
		l.fail(i, err)
		return
	}
	if st.on != on || !st.written {
		l.result.Relays = append(l.result.Relays, RelayChange{l.plan.Relays[i].Name, on, nil, l.plan.Relays[i].Tells})
		if on {
			st.cycles++
		}
	}
	st.on, st.written = on, true
}

// fail notes that a relay cannot be written, and drives every other relay of its
// stations off at once: what cannot be switched must not stay half on.
func (l *Loop) fail(i int, err error) {
	st := &l.relays[i]
	l.result.Relays = append(l.result.Relays, RelayChange{l.plan.Relays[i].Name, st.want, err, l.plan.Relays[i].Tells})
	st.written, l.settled = false, false
	l.dropUsersOf(i)
}

// dropUsersOf opens the other relays of every station that uses this one.
func (l *Loop) dropUsersOf(relay int) {
	for _, s := range l.relays[relay].users {
		s.unwritten = true
		for _, other := range [...]int{s.plan.Pad, s.plan.Series} {
			if other == NoRelay || other == relay {
				continue
			}
			l.relays[other].want = false
			if l.plan.Relays[other].Pin.Out(gpio.Low) == nil {
				l.relays[other].on = false
			}
		}
	}
}

// collectActs moves what people did since the last tick to their stations.
func (l *Loop) collectActs() {
	l.acted = false
	for _, s := range l.stations {
		if len(s.waiting) > 0 {
			s.input.Acts, s.acts, s.waiting, s.shown.Acts = s.input.Acts[:0], s.acts[:0], s.waiting[:0], nil
		}
	}
	for range actQueue {
		select {
		case p := <-l.acts:
			l.handed.Add(-1)
			s := l.station(p.request.Station)
			if s == nil {
				p.answer <- Answer{Refusal: controller.NotNow}
				continue
			}
			l.acted = true
			p.number = uint32(len(s.waiting)) + 1
			p.request.Act.Number = p.number
			s.input.Acts = append(s.input.Acts, p.request.Act)
			s.acts = append(s.acts, p.request)
			s.waiting = append(s.waiting, p)
		default:
			return
		}
	}
}

func (l *Loop) station(name string) *station {
	for _, s := range l.stations {
		if s.plan.Name == name {
			return s
		}
	}
	return nil
}

// settle answers the acts of this tick from the events of the station.
func (l *Loop) settle(s *station) {
	for i := range s.output.Events {
		e := &s.output.Events[i]
		switch e.Kind {
		case controller.Latched, controller.ResetDone, controller.ActDone, controller.ActRefused:
			l.result.Urgent = true
		}
		if e.Number == 0 || int(e.Number) > len(s.waiting) {
			continue
		}
		p := &s.waiting[e.Number-1]
		switch e.Kind {
		case controller.ResetDone, controller.ActDone:
			p.reply(Answer{Done: true})
		case controller.ActRefused:
			p.reply(Answer{Refusal: e.Refusal})
		}
	}
	for i := range s.waiting {
		// An act that no event answered was not done.
		s.waiting[i].reply(Answer{Refusal: controller.NotNow})
	}
}

// reply sends the first answer and ignores the others.
func (p *pending) reply(a Answer) {
	if p.answer == nil {
		return
	}
	p.answer <- a
	p.answer = nil
}
