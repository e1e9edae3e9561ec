// Package alarm is the alarm state machine of ISA-18.2 and IEC 62682: pure, one
// Machine for each alarm.
//
// It decides where one alarm stands: whether a person still has to answer it,
// whether it is held until a reset, whether it is silenced and by whom. It
// never decides whether there is something to alarm about, and it touches no
// relay: a shelved or suppressed alarm changes nothing that protects.
//
// Invariants: the machine beneath (states A to F) runs on while the alarm is
// shelved, suppressed or out of service, so nothing is lost by silencing; a
// held alarm reaches Normal by Release alone; shelving always has an end.
//
// Sources: ANSI/ISA-18.2 and IEC 62682, the state diagram with letters A to I;
// OPC UA Part 9 section 4.8 for the alarm that keeps running while shelved or
// suppressed.
package alarm

// State is where an alarm stands. The zero value is Normal.
type State uint8

// The states, lettered as in ISA-18.2.
const (
	Normal                State = iota // A
	Unacknowledged                     // B: active, nobody answered
	Acknowledged                       // C: active, answered
	Returned                           // D: over, nobody answered
	LatchedUnacknowledged              // E
	LatchedAcknowledged                // F
	Shelved                            // G
	SuppressedByDesign                 // H
	OutOfService                       // I
)

var names = [...]string{
	Normal:                "normal",
	Unacknowledged:        "unacknowledged",
	Acknowledged:          "acknowledged",
	Returned:              "over, nobody answered",
	LatchedUnacknowledged: "latched unacknowledged",
	LatchedAcknowledged:   "latched acknowledged",
	Shelved:               "shelved",
	SuppressedByDesign:    "suppressed by design",
	OutOfService:          "out of service",
}

// String is the state in the words of the screen.
func (s State) String() string {
	if int(s) < len(names) {
		return names[s]
	}
	return "no such state"
}

// Asks says whether a person still has to answer.
func (s State) Asks() bool {
	return s == Unacknowledged || s == Returned || s == LatchedUnacknowledged
}
