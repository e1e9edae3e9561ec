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

// key names one alarm.
type key struct {
	station string
	cause   controller.Cause
	name    string // of an alarm that no cause makes
}

// item is the newest state of one alarm at one target.
type item struct {
	alarm   Alarm
	waiting bool      // must be sent
	told    bool      // the target was told of this alarm and not yet of its end
	due     time.Time // not before
	expires time.Time // until then it waits for the receipt
	since   time.Time // when this state was told
	tries   int
	repeat  int // how often this state was sent
	version uint64
}

// lane is one target with its queue and its goroutine.
type lane struct {
	options *Options
	target  Target
	client  *http.Client
	log     *slog.Logger
	wake    chan struct{}

	mu      sync.Mutex
	items   map[key]*item
	version uint64
	pause   time.Duration // after the last failure, zero when it succeeded
	not     time.Time     // no try before
	count   Stats
}

func newLane(o *Options, t Target) *lane {
	transport := o.Transport
	if transport == nil {
		transport = &http.Transport{Proxy: http.ProxyFromEnvironment, DisableKeepAlives: true}
	}
	log := o.Log
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	return &lane{
		options: o, target: t, log: log,
		client: &http.Client{
			Transport: transport, Timeout: t.Timeout,
			// A login page behind a redirect would answer 200 and tell nobody.
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		},
		wake:  make(chan struct{}, 1),
		items: map[key]*item{},
		count: Stats{Target: t.Name},
	}
}

// tell takes in the newest state of an alarm.
func (l *lane) tell(a Alarm, now time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	k := key{a.Station, a.Cause, a.Name}
	it := l.items[k]
	over := a.State == alarm.Normal || a.State == alarm.Returned
	switch {
	case a.State == alarm.Shelved || a.State == alarm.SuppressedByDesign || a.State == alarm.OutOfService:
		// Silenced on purpose: what waits is no longer wanted.
		if it != nil {
			it.waiting = false
			l.clean(k, it)
		}
		return
	case it == nil && (a.Severity < l.target.Least || !a.State.Asks() || over):
		return
	case it == nil:
		it = &item{}
		l.items[k] = it
	case !it.told && l.target.After > 0 && (over || !a.State.Asks()):
		// Somebody answered, or it is over, before it had to climb.
		delete(l.items, k)
		return
	}
	asked := it.waiting && it.alarm.State.Asks() && a.State.Asks()
	it.alarm, it.waiting, it.tries, it.repeat = a, true, 0, 0
	l.version++
	it.version = l.version
	if !asked {
		// A changing state does not begin the climb anew.
		it.since, it.due = now, now
		if a.State.Asks() && !over {
			it.due = now.Add(l.target.After)
		}
	}
	it.expires = now
	if a.Receipt != nil && a.Severity >= controller.Trip {
		it.expires = now.Add(syncWait)
	}
	l.bound(k)
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// bound keeps the queue at its size: the least severe goes, the oldest first.
func (l *lane) bound(newest key) {
	if len(l.items) <= queueMost {
		return
	}
	var worst key
	var found *item
	for k, it := range l.items {
		if found == nil || it.alarm.Severity < found.alarm.Severity ||
			it.alarm.Severity == found.alarm.Severity && it.version < found.version {
			worst, found = k, it
		}
	}
	if found.waiting {
		l.count.Dropped++
		l.log.Warn("message given up: too many wait", "target", l.target.Name, "station", worst.station, "cause", worst.cause.Rule().Name, "newest", newest.station)
	}
	delete(l.items, worst)
}

// clean drops an item about which nothing is left to say.
func (l *lane) clean(k key, it *item) {
	if !it.waiting && !it.told {
		delete(l.items, k)
	}
}

// next picks what to send now: what was tried least, then the most severe, then
// the oldest. Otherwise it says how long to wait, and for which receipt.
func (l *lane) next(now time.Time) (k key, it item, found bool, wait time.Duration, receipt <-chan struct{}) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var best *item
	wait = time.Hour
	for at, i := range l.items {
		if !i.waiting {
			continue
		}
		from := i.due
		if l.not.After(from) {
			from = l.not
		}
		if !from.After(now) && i.expires.After(now) && !done(i.alarm.Receipt) {
			from, receipt = i.expires, i.alarm.Receipt.Done()
		}
		if from.After(now) {
			wait = min(wait, from.Sub(now))
			continue
		}
		if best == nil || before(i, best) {
			k, best = at, i
		}
	}
	if best == nil {
		return key{}, item{}, false, wait, receipt
	}
	return k, *best, true, 0, nil
}

func before(a, b *item) bool {
	switch {
	case a.tries != b.tries:
		return a.tries < b.tries
	case a.alarm.Severity != b.alarm.Severity:
		return a.alarm.Severity > b.alarm.Severity
	}
	return a.version < b.version
}

func done(r Receipt) bool {
	if r == nil {
		return true
	}
	select {
	case <-r.Done():
		return true
	default:
		return false
	}
}

func (l *lane) idle(now time.Time) bool {
	_, _, found, _, receipt := l.next(now)
	return !found && receipt == nil
}

func (l *lane) run(ctx context.Context) {
	for ctx.Err() == nil {
		k, it, found, wait, receipt := l.next(time.Now())
		if !found {
			timer := time.NewTimer(wait)
			select {
			case <-ctx.Done():
			case <-l.wake:
			case <-receipt:
			case <-timer.C:
			}
			timer.Stop()
			continue
		}
		err := l.post(ctx, alarmMessage(l.options, it))
		if err != nil && ctx.Err() != nil {
			return
		}
		l.settle(k, it, err, time.Now())
	}
}

// settle notes what became of a try. A state that changed meanwhile stays
// waiting.
func (l *lane) settle(k key, sent item, err error, now time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	it := l.items[k]
	same := it != nil && it.version == sent.version
	if err != nil {
		l.count.Failed++
		l.pause = min(max(2*l.pause, firstPause), longPause)
		l.not = now.Add(l.pause)
		if l.count.Problem != err.Error() {
			l.log.Warn("message not delivered", "target", l.target.Name, "error", err, "again_in", l.pause)
		}
		l.count.Problem = err.Error()
		if same {
			it.tries++
		}
		return
	}
	l.count.Sent++
	l.count.Problem, l.pause, l.not = "", 0, time.Time{}
	if it == nil {
		return
	}
	over := sent.alarm.State == alarm.Normal || sent.alarm.State == alarm.Returned
	it.told = !over || it.told && !same
	if !same {
		return
	}
	it.tries = 0
	it.repeat++
	it.waiting = it.alarm.State.Asks() && !over && l.options.Repeat > 0
	it.due = now.Add(l.options.Repeat)
	l.clean(k, it)
}

func (l *lane) stats() Stats {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := l.count
	for _, it := range l.items {
		if it.waiting && it.repeat == 0 {
			s.Waiting++
		}
	}
	return s
}
