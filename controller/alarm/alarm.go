// Package alarm is the alarm state machine of ISA-18.2 and IEC 62682: pure, one
// Machine for each alarm.
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
