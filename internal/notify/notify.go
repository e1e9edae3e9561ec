// Package notify tells people and other machines: alarm messages by webhook,
// and a heartbeat that somebody else misses when it stops.
//
// It decides the words, the order and the patience of messages, and nothing
// about heat. It never delays its caller: Tell, Beat and Close return whatever
// the network does, every request has a deadline, and each target has its own
// queue so that a hung one delays no other.
//
// Invariants:
//   - one message an alarm waits at most: a newer state replaces an older one
//     of the same alarm, because only the newest is true;
//   - a full queue drops the message of the least severe alarm, the oldest of
//     those first, and counts it;
//   - the announcement of a trip waits for the journal at most 2 s and then
//     goes out marked as not yet on disk;
//   - an address may hold a secret: only its host is ever printed.
package notify

import (
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// Target is one receiver of messages.
type Target struct {
	Name    string
	URL     string            // may hold a secret; never printed
	Header  map[string]string // may hold a secret; never printed
	Least   controller.Severity
	Timeout time.Duration // of one request, 10 s when zero
}

// Alarm is the state of one alarm at one moment.
type Alarm struct {
	Station  string
	Cause    controller.Cause
	State    alarm.State
	Severity controller.Severity
	Latched  bool
	Celsius  float64 // what was measured; see HasValue
	HasValue bool
	At       time.Time // UTC
	Trusted  bool      // the wall clock was set by something trustworthy
	// Synced is closed when the alarm is on disk; nil means that nobody waits.
	Synced <-chan struct{}
}

// Stats counts what became of messages of one target.
type Stats struct {
	Target  string
	Sent    uint64
	Failed  uint64 // tries that did not succeed
	Dropped uint64 // messages given up: overflow or a refusal for good
	Waiting int
	Problem string // of the last try, empty when it succeeded
}
