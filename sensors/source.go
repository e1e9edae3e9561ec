package sensors

import (
	"errors"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// Conversion says how the probes of a source are converting.
type Conversion struct {
	// Wait is how long to wait before the first Read; zero when Start waited.
	Wait time.Duration
	// EachRead is true when every Read starts a conversion of its own and
	// waits for it, so that each reading has a moment of its own.
	EachRead bool
}

// Source is one bus as hardware offers it. Its methods may block; Bus calls
// them one at a time, from one goroutine at a time, and keeps the deadlines.
//
// Errors speak by behaviour: periph's onewire.NoDevicesError and
// ShortedBusError, Timeout() bool, and Flaw() controller.Flaw for one probe.
type Source interface {
	String() string
	// Start starts a conversion in every probe.
	Start() (Conversion, error)
	// Read fills pad with the nine raw bytes of one probe, unjudged.
	Read(a onewire.Address, pad *[9]byte) error
	// Search lists every device of the bus, of whatever family.
	Search() ([]onewire.Address, error)
}

// FlawError is an error of one probe that knows what the reading is worth.
type FlawError struct {
	Kind controller.Flaw
	Err  error
}

// Error is the text of the error that it wraps.
func (e *FlawError) Error() string { return e.Err.Error() }

// Unwrap returns the error that it wraps.
func (e *FlawError) Unwrap() error { return e.Err }

// Flaw is what is wrong with the reading.
func (e *FlawError) Flaw() controller.Flaw { return e.Kind }

// ErrDistrusted is returned by Start when the conversion may not have happened,
// so that memory older than this cycle could be read.
var ErrDistrusted = errors.New("conversion not confirmed")

// flawOf says what an error of Read makes of the reading.
func flawOf(err error) controller.Flaw {
	var flawed interface{ Flaw() controller.Flaw }
	var shorted onewire.ShortedBusError
	switch {
	case errors.As(err, &flawed):
		return flawed.Flaw()
	case errors.As(err, &shorted) && shorted.IsShorted():
		return controller.Shorted
	}
	return controller.Absent
}

// faultOf says what an error of Start makes of the cycle, and what of each
// reading in it.
func faultOf(err error) (Fault, controller.Flaw) {
	var shorted onewire.ShortedBusError
	var empty onewire.NoDevicesError
	var timeout interface{ Timeout() bool }
	switch {
	case errors.Is(err, ErrDistrusted):
		return BusDistrusted, controller.Stale
	case errors.As(err, &shorted) && shorted.IsShorted():
		return BusShorted, controller.Shorted
	case errors.As(err, &empty) && empty.NoDevices():
		return BusEmpty, controller.Absent
	case errors.As(err, &timeout) && timeout.Timeout():
		return BusHung, controller.Stale
	}
	return BusFailed, controller.Absent
}
