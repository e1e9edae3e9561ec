package controller

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// ready is a proven tub whose readings the test sets by hand.
type ready struct {
	t   *testing.T
	s   *Station
	in  Input
	out *Output
	now time.Duration

	contacts bool // the test sets the feedback; else it follows the commands
}

func newReady(t *testing.T, set Settings, water physic.Temperature) *ready {
	t.Helper()
	s, err := New(set)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Restore(nil); err != nil {
		t.Fatal(err)
	}
	for i := range s.proofs {
		s.proofs[i] = ProofState{Passed: true}
	}
	s.waterFits, s.everReady, s.run.proved = true, true, true
	s.restage()
	r := &ready{t: t, s: s, out: &Output{}}
	r.in.Readings = make([]Reading, len(set.Probes))
	r.in.Health = Health{StoreProven: true, Permit: true, AirflowSeen: true}
	r.in.Treatment = Treatment{Running: set.Kind == Chamber, Target: set.SetPoint}
	for i := range r.in.Readings {
		r.set(i, water)
	}
	r.steps(5)
	if !s.begin {
		t.Fatal("good readings did not begin")
	}
	return r
}

func (r *ready) set(i int, v physic.Temperature) {
	r.in.Readings[i] = Reading{Value: v, Quality: Good, Code: int16((v - physic.ZeroCelsius) / (physic.Celsius / 16))}
}

// step runs one second; every reading that is good was made just now.
func (r *ready) step(acts ...Act) *Output {
	r.now += time.Second
	r.in.Now, r.in.Acts = r.now, acts
	for i := range r.in.Readings {
		if r.in.Readings[i].Quality == Good {
			r.in.Readings[i].At = r.now
		}
	}
	if !r.contacts {
		r.in.PadSeen, r.in.SeriesSeen = seenAs(r.out.Command.Pad), seenAs(r.out.Command.Series)
	}
	r.out = r.s.Step(&r.in)
	return r.out
}

func seenAs(closed bool) Contact {
	if closed {
		return ContactClosed
	}
	return ContactOpen
}

func (r *ready) steps(n int) {
	for range n {
		r.step()
	}
}

func withFloor() Settings {
	set := tubSettings()
	set.Probes = append(set.Probes, ProbeSettings{Role: RoleFloor, Calibrated: true}, ProbeSettings{Role: RoleRoom})
	return set
}

// TestEachCauseAtItsLine raises every cause that an Input can raise directly:
// with the value just short of its line nothing is there; at the line it is
// there, acts when its grace is used up and not a second earlier.
func TestEachCauseAtItsLine(t *testing.T) {
	const least = 1 // nK
	allProbes := func(v physic.Temperature) func(*ready) {
		return func(r *ready) { r.set(0, v); r.set(1, v) }
	}
	feedback := func(s *Settings) { s.HasPadSeen, s.HasSeriesSeen = true, true }
	contacts := func(pad, series Contact) func(*ready) {
		return func(r *ready) { r.contacts, r.in.PadSeen, r.in.SeriesSeen = true, pad, series }
	}
	nothing := func(*ready) {}
	noTurn := func(r *ready) { r.in.Health.Permit = false; r.step() }
	cases := []struct {
		cause        Cause
		name         string
		set          func(*Settings)
		chamber      bool
		start        float64
		before       func(*ready) // brings the station to where the cause can come
		short, there func(*ready)
		after        int // steps until it acts
		severity     Severity
		trips        int // steps until it is latched, 0 never
	}{
		{cause: OverCutoff, start: 29.6, short: allProbes(at(31.6) - least), there: allProbes(at(31.6)), after: 1, severity: Trip, trips: 1},
		{cause: OverCutoff, name: "one probe", start: 29.6, short: func(r *ready) { r.set(1, at(31.6)-least) }, there: func(r *ready) { r.set(1, at(31.6)) }, after: 1, severity: Trip, trips: 1},
		{cause: OverBand, start: 29.6, short: allProbes(at(30)), there: allProbes(at(30) + least), after: 20, severity: HeatOff},
		{cause: FloorTooHot, start: 29.6, short: func(r *ready) { r.set(2, at(34)-least) }, there: func(r *ready) { r.set(2, at(34)) }, after: 1, severity: HeatOff},
		{cause: FloorTooHot, name: "at the bound", start: 29.6, short: func(r *ready) { r.set(2, at(33)) }, there: func(r *ready) { r.set(2, at(35)) }, after: 1, severity: Trip, trips: 1},
		{cause: TooCold, start: 29.6, short: allProbes(at(26.6)), there: allProbes(at(26.6) - least), after: 60, severity: Warning},
		{cause: HeatFromOutside, start: 29.6, short: func(r *ready) { r.set(3, at(29.9)) }, there: func(r *ready) { r.set(3, at(29.9)+least) }, after: 60, severity: Warning},
		{cause: ProbeSilent, start: 29.6, short: nothing, there: func(r *ready) { r.in.Readings[1] = Reading{Quality: Bad, Flaw: BadCRC} }, after: 10, severity: HeatOff, trips: 60},
		{cause: ProbeSilent, name: "floor", start: 29.6, short: nothing, there: func(r *ready) { r.in.Readings[2] = Reading{} }, after: 10, severity: HeatOff, trips: 60},
		{cause: ProbeImplausible, start: 29.6, short: nothing, there: func(r *ready) { r.in.Readings[0] = Reading{Quality: Bad, Flaw: Shorted} }, after: 10, severity: HeatOff, trips: 60},
		{cause: ProbeImplausible, name: "suspect", start: 29.6, short: nothing, there: func(r *ready) { r.in.Readings[0].Quality = Suspect }, after: 10, severity: HeatOff, trips: 60},
		{cause: ProbeImplausible, name: "out of any range", start: 29.6, short: func(r *ready) { r.set(2, at(-55)) }, there: func(r *ready) { r.set(2, at(-55)-least) }, after: 10, severity: HeatOff, trips: 60},
		{cause: OnTooLong, start: 29.6,
			short: func(r *ready) { r.s.onTime = 8 * time.Hour }, there: func(r *ready) { r.s.onTime = 8*time.Hour + 1 }, after: 1, severity: Trip, trips: 1},
		{cause: RelayDisagrees, name: "pad closed", set: feedback, start: 29.6, short: nothing, there: contacts(ContactClosed, ContactClosed), after: 5, severity: Trip, trips: 5},
		{cause: RelayDisagrees, name: "pad unknown", set: feedback, start: 29.6, short: nothing, there: contacts(ContactUnknown, ContactClosed), after: 5, severity: Trip, trips: 5},
		{cause: RelayDisagrees, name: "series open", set: feedback, start: 29.6, short: nothing, there: contacts(ContactOpen, ContactOpen), after: 5, severity: Trip, trips: 5},
		{cause: RelayDisagrees, name: "series unknown", set: feedback, start: 29.6, before: noTurn, short: nothing, there: contacts(ContactOpen, ContactUnknown), after: 5, severity: Trip, trips: 5},
		{cause: RelayUnwritable, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.RelayUnwritten = true }, after: 1, severity: HeatOff, trips: 10},
		{cause: SeriesWelded, set: func(s *Settings) { s.HasSeriesSeen = true }, start: 29.6,
			before: noTurn, short: nothing, there: contacts(ContactOpen, ContactClosed), after: 5, severity: Trip, trips: 5},
		{cause: BothWelded, name: "by feedback", set: feedback, start: 29.6,
			before: noTurn, short: nothing, there: contacts(ContactClosed, ContactClosed), after: 5, severity: Trip, trips: 5},
		{cause: BothWelded, name: "by the floor", start: 29.6, before: func(r *ready) { r.s.run.open = time.Hour; r.in.Health.Permit = false; r.step() },
			short: func(r *ready) { r.s.run.open = time.Hour; r.set(2, at(29.6+1.5)) }, there: func(r *ready) { r.s.run.open = time.Hour; r.set(2, at(29.6+1.5)+least) }, after: 5, severity: Trip, trips: 5},
		{cause: WrongTub, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.CrossedWarming = true }, after: 1, severity: HeatOff},
		{cause: NobodyPresent, set: func(s *Settings) { s.AttendedOnly = true }, start: 29.6,
			before: func(r *ready) { r.step(hands(Presence)); r.s.presence = 2 * time.Second },
			short:  nothing, there: func(r *ready) { r.s.presence = 0 }, after: 1, severity: HeatOff},
		{cause: AttendedTooLong, start: 29.6, before: func(r *ready) { r.step(hands(BeginAttended)); r.s.attendedFor = 30*time.Minute - 2*time.Second },
			short: nothing, there: func(r *ready) { r.s.attendedFor = 30*time.Minute - time.Second }, after: 1, severity: HeatOff},
		{cause: LoopLate, start: 29.6, short: func(r *ready) { r.in.Health.LateBy = 5 * time.Second }, there: func(r *ready) { r.in.Health.LateBy = 5*time.Second + 1 }, after: 1, severity: Warning},
		{cause: ClockStepped, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.ClockStepped = true }, after: 1, severity: Note},
		{cause: JournalFailing, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.JournalFailing = true }, after: 30, severity: Warning},
		{cause: JournalFailing, name: "store", start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.StoreProven = false }, after: 30, severity: Warning},
		{cause: CardNearlyFull, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.CardNearlyFull = true }, after: 60, severity: Warning},
		{cause: SupplyLow, start: 29.6, short: nothing, there: func(r *ready) { r.in.Health.SupplyLow = true }, after: 10, severity: Warning},
		{cause: CalibrationOverdue, start: 29.6, short: nothing, there: func(r *ready) { r.s.overdue = true }, after: 1, severity: Warning},
		{cause: ProofOverdue, start: 29.6, short: func(r *ready) { r.s.proofs[ProofSeries].Age = proofOverdue - time.Second }, there: func(r *ready) { r.s.proofs[ProofSeries].Age = proofOverdue }, after: 1, severity: Warning},
		{cause: WaterLow, start: 29.6, short: func(r *ready) { r.answers(1.78) }, there: func(r *ready) { r.answers(1.79) }, after: 600, severity: Warning},
		{cause: WaterLow, name: "half", start: 29.6, short: func(r *ready) { r.answers(1.78) }, there: func(r *ready) { r.answers(2.51) }, after: 600, severity: HeatOff},
		{cause: NoWater, start: 29.6, short: nothing, there: func(r *ready) { r.s.trial.dry = true }, after: 1, severity: Trip, trips: 1},
		{cause: TooManyRestarts, name: "first", start: 29.6, short: func(r *ready) { r.in.Health.Restarts = 1 }, there: func(r *ready) { r.in.Health.Unclean = true }, after: 1, severity: HeatOff},
		{cause: TooManyRestarts, name: "third", start: 29.6, short: func(r *ready) { r.in.Health.Restarts = 3 }, there: func(r *ready) { r.in.Health.Unclean = true }, after: 1, severity: Trip, trips: 1},
		{cause: OverLimit, chamber: true, start: 40, short: func(r *ready) { r.set(1, at(62)-least) }, there: func(r *ready) { r.set(1, at(62)) }, after: 1, severity: HeatOff},
		{cause: OverLimit, name: "2 K over", chamber: true, start: 40, short: func(r *ready) { r.set(1, at(61)) }, there: func(r *ready) { r.set(1, at(64)) }, after: 1, severity: Trip, trips: 1},
		{cause: AirflowLost, chamber: true, start: 40, short: nothing, there: func(r *ready) { r.in.Health.AirflowSeen = false }, after: 5, severity: HeatOff},
		{cause: OverTime, chamber: true, start: 40, short: nothing, there: func(r *ready) { r.in.Treatment.OverTime = true }, after: 1, severity: Warning},
		{cause: OutOfPiece, chamber: true, start: 40, short: nothing, there: func(r *ready) { r.in.Treatment.OutOfPiece = true }, after: 1, severity: Warning},
		{cause: DoorOpened, chamber: true, start: 40, short: nothing, there: func(r *ready) { r.in.Health.DoorOpen = true }, after: 1, severity: HeatOff},
	}
	for _, c := range cases {
		t.Run(c.cause.String()+" "+c.name, func(t *testing.T) {
			set := withFloor()
			if c.chamber {
				set = chamberSettings()
			}
			if c.set != nil {
				c.set(&set)
			}
			r := newReady(t, set, at(c.start))
			if !c.chamber {
				r.set(3, at(22))
			}
			if c.before != nil {
				c.before(r)
			}
			c.short(r)
			r.step()
			if st := r.s.Cause(c.cause); st.Present || st.Acting {
				t.Fatalf("there just short of the line: %+v", st)
			}
			for n := 1; n <= max(c.after, c.trips); n++ {
				c.there(r)
				r.step()
				st := r.s.Cause(c.cause)
				if !st.Present {
					t.Fatalf("not there at the line, step %d", n)
				}
				if st.Acting != (n >= c.after) {
					t.Fatalf("step %d: acting %v, want it from step %d", n, st.Acting, c.after)
				}
				if st.Latched != (c.trips > 0 && n >= c.trips) {
					t.Fatalf("step %d: latched %v, want it from step %d", n, st.Latched, c.trips)
				}
				if n == c.after && st.Severity != c.severity {
					t.Fatalf("acts with %v, want %v", st.Severity, c.severity)
				}
			}
			if c.severity >= HeatOff && (r.out.Permitted || r.out.Command.Pad) {
				t.Errorf("heat is permitted: %+v", r.out)
			}
			if c.severity < HeatOff && c.cause != TooCold && r.in.Health.StoreProven && !r.out.Permitted {
				t.Errorf("a %v withholds heat for %q", c.severity, r.out.Reason)
			}
		})
	}
}

// answers makes the observer's finding about the fill what the test wants.
func (r *ready) answers(ratio float64) {
	r.s.look.ask = r.now + time.Hour
	r.s.look.low, r.s.look.answers = true, ratio
}
