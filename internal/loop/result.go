package loop

import (
	"time"

	"soakwarden/controller"
)

// Result is what happened in one tick. Tick returns the same Result each time,
// filled anew: copy what must outlive the next Tick.
type Result struct {
	Now      time.Duration // monotonic, since start
	Wall     time.Time     // UTC
	Trusted  bool          // the wall clock was set by something trustworthy
	Stations []StationResult
	Relays   []RelayChange
	Urgent   bool // a latch, an act or a trip: this tick must be synced
	Quiet    bool // no event, no act and no relay switched: there is nothing to tell
}

// StationResult is one station's part of a tick: the whole input, so that the
// decision can be run again, and the whole output.
type StationResult struct {
	Name   string
	Input  *controller.Input
	Output *controller.Output
	Acts   []ActRequest // those that Input.Acts carries, with their words
}

// RelayChange is one relay that was switched, or could not be.
type RelayChange struct {
	Relay string
	On    bool
	Err   error
	Tells bool // RelayPlan.Tells
}

// ActRequest is a person's act on its way to a station.
type ActRequest struct {
	Station string
	Act     controller.Act
	Who     string
	Why     string
	About   string // an alarm of a case, in the place of Act.Cause; the loop itself has none
}

// Answer is what became of an ActRequest.
type Answer struct {
	Done    bool
	Refusal controller.Refusal
	Why     string // instead of Refusal, when it was not the station that refused
	Next    string // what comes next, when a case took the act
}
