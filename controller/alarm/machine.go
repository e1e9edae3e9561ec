package alarm

import "time"

// ShelveMost is the longest time for which an alarm can be shelved: one shift.
// Common practice, no published source.
const ShelveMost = 8 * time.Hour

// Machine is one alarm. The zero value is Normal and silenced by nobody.
//
//	            active                  acknowledge
//	A normal ────────────▶ B unacked ──────────────▶ C acked
//	   ▲  ▲                 │   │  ▲                  │   │
//	   │  └──acknowledge─ D ◀───┘  └─active─ D, E, F   │   │
//	   │          over, not held│                     │   │
//	   ├───────────────────over, not held─────────────┘   │
//	   │        over, held      ▼        over, held       │
//	   │                    E latched ──acknowledge──▶ F ◀┘
//	   └───────────────────────release────────────────┘
//
// Shelved, suppressed and out of service lie over these: State shows the
// strongest (out of service, then suppressed, then shelved), and taking it
// away shows where the alarm stands by then.
type Machine struct {
	beneath    State         // A to F
	shelf      time.Duration // left on the shelf; 0 is not shelved
	suppressed bool
	out        bool
}

// State is where the alarm stands.
func (m *Machine) State() State {
	switch {
	case m.out:
		return OutOfService
	case m.suppressed:
		return SuppressedByDesign
	case m.shelf > 0:
		return Shelved
	}
	return m.beneath
}

// Beneath is where the alarm would stand if nobody had silenced it.
func (m *Machine) Beneath() State { return m.beneath }

// Update tells whether the condition is there, and whether the alarm is to be
// held once it is over.
func (m *Machine) Update(active, held bool) {
	switch m.beneath {
	case Unacknowledged:
		if !active {
			m.beneath = Returned
			if held {
				m.beneath = LatchedUnacknowledged
			}
		}
	case Acknowledged:
		if !active {
			m.beneath = Normal
			if held {
				m.beneath = LatchedAcknowledged
			}
		}
	default: // A, D, E and F: a new occurrence wants a new answer
		if active {
			m.beneath = Unacknowledged
		}
	}
}

// Pass lets time go by on the shelf.
func (m *Machine) Pass(d time.Duration) { m.shelf = max(0, m.shelf-d) }

// Acknowledge answers the alarm. It is false when there is nothing to answer.
func (m *Machine) Acknowledge() bool {
	switch m.beneath {
	case Unacknowledged:
		m.beneath = Acknowledged
	case Returned:
		m.beneath = Normal
	case LatchedUnacknowledged:
		m.beneath = LatchedAcknowledged
	default:
		return false
	}
	return true
}

// Release ends the hold of an alarm that is over and was answered.
func (m *Machine) Release() bool {
	if m.beneath != LatchedAcknowledged {
		return false
	}
	m.beneath = Normal
	return true
}

// Again asks anew about an alarm that was answered and is still there: the
// re-alarm by which an alarm climbs.
func (m *Machine) Again() bool {
	if m.beneath != Acknowledged {
		return false
	}
	m.beneath = Unacknowledged
	return true
}

// Shelve silences an alarm for a time over zero and at most ShelveMost. It is
// false for an alarm that stands at Normal or for any other time.
func (m *Machine) Shelve(d time.Duration) bool {
	if m.beneath == Normal || d <= 0 || d > ShelveMost {
		return false
	}
	m.shelf = d
	return true
}

// Unshelve takes the alarm off the shelf.
func (m *Machine) Unshelve() bool {
	was := m.shelf > 0
	m.shelf = 0
	return was
}

// Suppress silences the alarm by design, for as long as the design says.
func (m *Machine) Suppress(on bool) { m.suppressed = on }

// TakeOut takes the alarm out of service or puts it back.
func (m *Machine) TakeOut(on bool) { m.out = on }

// Idle says that the machine needs no attention while its condition is away.
func (m *Machine) Idle() bool {
	return m.beneath == Normal && m.shelf == 0
}

// Parts is the machine's whole state, for saving: the state beneath, what is
// left on the shelf, and the two silences.
func (m *Machine) Parts() (beneath State, shelf time.Duration, suppressed, out bool) {
	return m.beneath, m.shelf, m.suppressed, m.out
}

// Of makes a machine from its parts. It is false for parts that no machine has.
func Of(beneath State, shelf time.Duration, suppressed, out bool) (Machine, bool) {
	if beneath > LatchedAcknowledged || shelf < 0 || shelf > ShelveMost {
		return Machine{}, false
	}
	return Machine{beneath, shelf, suppressed, out}, true
}
