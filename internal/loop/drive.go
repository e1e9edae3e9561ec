package loop

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Driver runs the treatments of one chamber. The loop asks it in each tick,
// from its own goroutine, before the station decides.
type Driver interface {
	// Drive is shown the station's readings and health of this tick, and what
	// it last commanded. It must not wait for anything.
	Drive(Looked) Drive
	// View is a fresh picture of the treatment, nil when there is none.
	View() *TreatmentView
}

// Looked is what a Driver may look at. Readings are valid until it returns.
type Looked struct {
	Now      time.Duration
	Wall     time.Time // UTC
	Trusted  bool      // the wall clock was set by something trustworthy
	Readings []controller.Reading
	Health   controller.Health
	Last     controller.Command
	Latched  bool // a cause is latched at this station
	Reason   controller.Cause
	Stopped  bool // out of service
	Warned   bool // the buzzer that was asked for in the last tick took the order
}

// Drive is what a Driver wants. The zero value wants nothing.
type Drive struct {
	Treatment controller.Treatment
	Buzzer    bool // something is about to start: whoever is near, look
}

// TreatmentView is one treatment at one tick.
type TreatmentView struct {
	Number   string
	Schedule string
	Stage    string
	Freeze   bool
	Running  bool // it is not over
	Awaits   bool // it is over, at a safe temperature, and waits for a person's release
	Target   physic.Temperature
	Hold     time.Duration
	Together time.Duration         // for which all have been at the target now
	Longest  time.Duration         // for which they were at best
	Elapsed  time.Duration         // since it began
	Left     time.Duration         // until it should be over, by the plan and the clock; 0 when not known
	Slowest  int                   // index of the limiting probe, −1 for none
	Piece    string                // that it is in
	Behind   controller.Difference // of it, its uncertainty counted; 0 or less: it counts
	Waits    string                // what it waits for, in words
	Result   string                // open, PASS or FAIL
	Failed   bool                  // Result is FAIL
	Reason   string
}

// drive asks the chamber's driver what it wants in this tick.
func (l *Loop) drive(s *station) {
	r := &l.result
	look := Looked{
		Now: r.Now, Wall: r.Wall, Trusted: r.Trusted, Readings: s.input.Readings, Health: s.input.Health,
		Last: s.output.Command, Reason: s.output.Reason, Stopped: s.core.View().OutOfService,
		Warned: s.drive.Buzzer && s.buzzer != nil && s.buzzer.on && s.buzzer.written,
	}
	if c := s.output.Reason; c != controller.NoCause {
		look.Latched = s.core.Cause(c).Latched
	}
	s.drive = s.plan.Treat.Drive(look)
	s.input.Treatment = s.drive.Treatment
}
