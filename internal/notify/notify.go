// Package notify tells people and other machines: alarm messages by webhook,
// and a heartbeat that somebody else misses when it stops.
//
// It decides the words, the order and the patience of messages, and nothing
// about heat. It never delays its caller: Tell and Good return at once whatever
// the network does, every request has a deadline, and each target has its own
// queue so that a hung one delays no other.
//
// Invariants:
//   - one message an alarm waits at most: a newer state replaces an older one
//     of the same alarm, because only the newest is true;
//   - a full queue gives up the message of the least severe alarm, the oldest
//     of those, and counts it;
//   - a message is tried until it got through, with growing pauses; one that
//     is refused never keeps a fresh one waiting;
//   - the announcement of a trip waits for the journal at most 2 s and then
//     goes out marked as not yet on disk;
//   - an address and a token may be secrets: only the host is ever printed.
package notify

import (
	"context"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// Bounds, and what happens at them.
const (
	syncWait   = 2 * time.Second // then a trip goes out marked as not yet on disk
	queueMost  = 256             // messages a target; then the least severe, oldest one is given up
	firstPause = time.Second     // after a failed try, doubling
	longPause  = 5 * time.Minute
	timeout    = 10 * time.Second // of one request, when the target names none
)

// Target is one receiver of messages.
type Target struct {
	Name      string
	URL       string // may hold a secret; never printed
	TokenFile string // its first line is sent as a bearer token; empty when none
	Least     controller.Severity
	After     time.Duration // sent only when nobody has acknowledged for so long
	Timeout   time.Duration // of one request; 10 s when zero
}

// Receipt says when an alarm is on disk; a journal's receipt is one.
type Receipt interface {
	Done() <-chan struct{}
	Err() error
}

// Alarm is the state of one alarm at one moment.
type Alarm struct {
	Station  string
	Kind     controller.Kind // of the station: a chamber is told in words of its own
	Cause    controller.Cause
	Name     string // instead of the cause's, for an alarm that is not a station's
	Advice   string // the same
	State    alarm.State
	Severity controller.Severity
	Latched  bool
	Celsius  float64 // what was measured; see HasValue
	HasValue bool
	Why      string    // more to know, empty for nothing
	At       time.Time // UTC
	Trusted  bool      // the wall clock was set by something trustworthy
	Receipt  Receipt   // nil: nothing to wait for, and not on disk
}

// Options is what a Notifier is made of.
type Options struct {
	Bench   string
	Demo    bool // invented data: every message says so
	Targets []Target
	Repeat  time.Duration // while nobody answers; never when zero
	Phone   string        // printed with every alarm, as written
	// Transport sends requests; nil means a fresh connection each time.
	Transport http.RoundTripper
	Log       *slog.Logger // nil: silent
}

// Stats counts what became of the messages of one target.
type Stats struct {
	Target  string
	Sent    uint64
	Failed  uint64 // tries that did not succeed
	Dropped uint64 // messages given up because the queue was full
	Waiting int
	Problem string // of the last try, empty when it succeeded
}

// Notifier sends the states of alarms to its targets.
type Notifier struct {
	options Options
	lanes   []*lane
}

// New makes a Notifier. It sends nothing until Run.
func New(o Options) *Notifier {
	n := &Notifier{options: o}
	for _, t := range o.Targets {
		if t.Timeout <= 0 {
			t.Timeout = timeout
		}
		n.lanes = append(n.lanes, newLane(&n.options, t))
	}
	return n
}

// Tell queues the state of an alarm. It never waits. Call it once for each
// change of state.
func (n *Notifier) Tell(a Alarm) {
	now := time.Now()
	for _, l := range n.lanes {
		l.tell(a, now)
	}
}

// Run sends until ctx ends.
func (n *Notifier) Run(ctx context.Context) {
	var all sync.WaitGroup
	for _, l := range n.lanes {
		all.Go(func() { l.run(ctx) })
	}
	all.Wait()
}

// Drain waits until nothing that could be sent now is waiting, or ctx ends.
func (n *Notifier) Drain(ctx context.Context) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		idle := true
		for _, l := range n.lanes {
			idle = idle && l.idle(time.Now())
		}
		if idle {
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Stats says what became of the messages so far, in the order of the targets.
func (n *Notifier) Stats() []Stats {
	stats := make([]Stats, len(n.lanes))
	for i, l := range n.lanes {
		stats[i] = l.stats()
	}
	return stats
}

// Outcome is what one target answered to a test message.
type Outcome struct {
	Target string        `json:"target"`
	Host   string        `json:"host"`
	OK     bool          `json:"ok"`
	Took   time.Duration `json:"-"`
	Error  string        `json:"error,omitempty"`
}

// Test sends one test message to every target, at once, one try each.
func (n *Notifier) Test(ctx context.Context) []Outcome {
	out := make([]Outcome, len(n.lanes))
	var all sync.WaitGroup
	for i, l := range n.lanes {
		all.Go(func() {
			started := time.Now()
			err := l.post(ctx, testMessage(&n.options, started))
			out[i] = Outcome{Target: l.target.Name, Host: host(l.target.URL), OK: err == nil, Took: time.Since(started)}
			if err != nil {
				out[i].Error = err.Error()
			}
		})
	}
	all.Wait()
	return out
}
