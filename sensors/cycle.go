package sensors

import (
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// Fault says why a whole cycle cannot be relied on. The zero value is none.
type Fault uint8

// The faults of a bus.
const (
	NoFault       Fault = iota
	BusEmpty            // no probe answered the reset
	BusShorted          // the data line is held at ground
	BusHung             // the adapter did not answer within its deadline
	BusFailed           // the adapter answered with an error
	BusDistrusted       // the conversion's success could not be confirmed
)

// String is the fault in words, empty for none.
func (f Fault) String() string {
	switch f {
	case NoFault:
		return ""
	case BusEmpty:
		return "no probe answers"
	case BusShorted:
		return "data line shorted to ground"
	case BusHung:
		return "adapter hangs"
	case BusFailed:
		return "adapter fails"
	case BusDistrusted:
		return "conversion not confirmed"
	}
	return "unknown fault"
}

// Sample is what one probe gave in one cycle.
type Sample struct {
	Address onewire.Address
	Reading controller.Reading
	Raw     [9]byte // scratchpad as it came, zero when none came
	Bits    uint8   // resolution, zero when unknown
	Errors  uint64  // bad readings since the start
}

// Cycle is one complete round of a bus. It is not changed after it was
// published by Run; RunCycle writes over its own.
type Cycle struct {
	Seq     uint64        // counts from 1; zero means that there was none yet
	Started time.Duration // before the conversion, on the clock of the caller
	Ended   time.Duration
	Samples []Sample // in the order of Options.Probes
	Fault   Fault
	Err     error // what the source said, nil without a fault

	flawed bool // some reading has a flaw
}

// Length is how long the cycle took.
func (c *Cycle) Length() time.Duration { return c.Ended - c.Started }
