package alarm

import (
	"testing"
	"time"
)

// The transitions are those of ANSI/ISA-18.2 and IEC 62682, state letters A to
// I: A to B condition; B to C acknowledge; B to D and C to A when it clears; D
// to A acknowledge; B to E and C to F when a held alarm clears; E to F
// acknowledge; F to A reset; any to G, H, I and back by the matching act. The
// letters of B, C, D come from memory, E to I were read.
func TestTransitionsOfTheStandard(t *testing.T) {
	at := func(s State) Machine { m, _ := Of(s, 0, false, false); return m }
	clear := func(m *Machine) { m.Update(false, false) }
	hold := func(m *Machine) { m.Update(false, true) }
	raise := func(m *Machine) { m.Update(true, false) }
	raiseHeld := func(m *Machine) { m.Update(true, true) }
	ack := func(m *Machine) { m.Acknowledge() }
	release := func(m *Machine) { m.Release() }
	again := func(m *Machine) { m.Again() }
	acts := []struct {
		name string
		do   func(*Machine)
		to   [6]State // from A, B, C, D, E, F
	}{
		{"condition", raise, [6]State{Unacknowledged, Unacknowledged, Acknowledged, Unacknowledged, Unacknowledged, Unacknowledged}},
		{"condition, held", raiseHeld, [6]State{Unacknowledged, Unacknowledged, Acknowledged, Unacknowledged, Unacknowledged, Unacknowledged}},
		{"clears", clear, [6]State{Normal, Returned, Normal, Returned, LatchedUnacknowledged, LatchedAcknowledged}},
		{"clears, held", hold, [6]State{Normal, LatchedUnacknowledged, LatchedAcknowledged, Returned, LatchedUnacknowledged, LatchedAcknowledged}},
		{"acknowledge", ack, [6]State{Normal, Acknowledged, Acknowledged, Normal, LatchedAcknowledged, LatchedAcknowledged}},
		{"reset", release, [6]State{Normal, Unacknowledged, Acknowledged, Returned, LatchedUnacknowledged, Normal}},
		{"again", again, [6]State{Normal, Unacknowledged, Unacknowledged, Returned, LatchedUnacknowledged, LatchedAcknowledged}},
	}
	for _, a := range acts {
		for from, want := range a.to {
			m := at(State(from))
			a.do(&m)
			if m.State() != want {
				t.Errorf("%s from %q: %q, want %q", a.name, State(from), m.State(), want)
			}
			// The machine runs on beneath every silence and comes back where
			// it would have been.
			for _, silence := range []struct {
				over State
				on   func(*Machine)
				off  func(*Machine)
			}{
				{Shelved, func(m *Machine) { m.Shelve(time.Hour) }, func(m *Machine) { m.Unshelve() }},
				{Shelved, func(m *Machine) { m.Shelve(time.Hour) }, func(m *Machine) { m.Pass(time.Hour) }},
				{SuppressedByDesign, func(m *Machine) { m.Suppress(true) }, func(m *Machine) { m.Suppress(false) }},
				{OutOfService, func(m *Machine) { m.TakeOut(true) }, func(m *Machine) { m.TakeOut(false) }},
			} {
				m := at(State(from))
				silence.on(&m)
				if State(from) == Normal && silence.over == Shelved {
					continue // nothing to shelve
				}
				if m.State() != silence.over {
					t.Errorf("%q silenced: %q, want %q", State(from), m.State(), silence.over)
				}
				a.do(&m)
				if m.State() != silence.over || m.Beneath() != want {
					t.Errorf("%s under %q from %q: beneath %q, want %q", a.name, silence.over, State(from), m.Beneath(), want)
				}
				silence.off(&m)
				if m.State() != want {
					t.Errorf("%q ended: %q, want %q", silence.over, m.State(), want)
				}
			}
		}
	}
}

func TestAnswersSayWhetherThereWasSomething(t *testing.T) {
	var m Machine
	if m.Acknowledge() || m.Release() || m.Again() || m.Unshelve() || m.Shelve(time.Minute) || !m.Idle() {
		t.Fatal("a normal alarm accepted an act")
	}
	m.Update(true, true)
	if m.Idle() || m.Release() || m.Again() {
		t.Fatal("an active, unanswered alarm was idle, released or asked again")
	}
	for _, d := range []time.Duration{-1, 0, ShelveMost + 1} {
		if m.Shelve(d) {
			t.Errorf("shelved for %v", d)
		}
	}
	if !m.Shelve(ShelveMost) || m.Idle() || !m.Unshelve() || !m.Acknowledge() || !m.Again() || !m.Acknowledge() {
		t.Fatal("an act on an active alarm was refused")
	}
	m.Update(false, true)
	if !m.Release() || !m.Idle() {
		t.Fatal("an answered, held alarm was not released")
	}
}

func TestShelvingEndsByItself(t *testing.T) {
	var m Machine
	m.Update(true, false)
	m.Shelve(10 * time.Second)
	m.Pass(9999 * time.Millisecond)
	if m.State() != Shelved {
		t.Fatalf("%q a millisecond early", m.State())
	}
	m.Pass(time.Millisecond)
	if m.State() != Unacknowledged {
		t.Fatalf("%q after the time", m.State())
	}
	m.Pass(time.Hour)
	if _, shelf, _, _ := m.Parts(); shelf != 0 {
		t.Fatalf("%v left on an empty shelf", shelf)
	}
}

func TestTheStrongestSilenceShows(t *testing.T) {
	var m Machine
	m.Update(true, false)
	m.Shelve(time.Hour)
	m.Suppress(true)
	m.TakeOut(true)
	for _, want := range []State{OutOfService, SuppressedByDesign, Shelved, Unacknowledged} {
		if m.State() != want {
			t.Fatalf("%q, want %q", m.State(), want)
		}
		switch want {
		case OutOfService:
			m.TakeOut(false)
		case SuppressedByDesign:
			m.Suppress(false)
		default:
			m.Unshelve()
		}
	}
}

func TestPartsMakeTheSameMachine(t *testing.T) {
	for s := Normal; s <= OutOfService+1; s++ {
		for _, shelf := range []time.Duration{-1, 0, 1, ShelveMost, ShelveMost + 1} {
			m, ok := Of(s, shelf, true, true)
			if want := s <= LatchedAcknowledged && shelf >= 0 && shelf <= ShelveMost; ok != want {
				t.Errorf("%q with %v on the shelf: %v, want %v", s, shelf, ok, want)
			}
			if !ok {
				if m != (Machine{}) {
					t.Errorf("refused parts gave %v", m)
				}
				continue
			}
			if n, _ := Of(m.Parts()); n != m {
				t.Errorf("%v came back as %v", m, n)
			}
		}
	}
}

func TestWordsOfTheScreen(t *testing.T) {
	if Returned.String() != "over, nobody answered" {
		t.Errorf("returned is called %q", Returned)
	}
	if got := State(9).String(); got != "no such state" {
		t.Errorf("state 9 is called %q", got)
	}
	asks := map[State]bool{Unacknowledged: true, Returned: true, LatchedUnacknowledged: true}
	for s := Normal; s <= OutOfService; s++ {
		if s.String() == "" || s.Asks() != asks[s] {
			t.Errorf("%d: %q, asks %v", s, s, s.Asks())
		}
	}
}
