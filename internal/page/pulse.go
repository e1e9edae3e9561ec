package page

import (
	"time"

	"soakwarden/internal/loop"
)

// pulse knows in real time when the loop last ran a tick. Only Watch feeds it,
// so a page without Watch has no pulse and shows nothing as live.
type pulse struct {
	tick   uint64
	at     time.Time // real time at which tick was first seen, zero for never
	closed bool      // Watch has ended
}

// see notes a snapshot and says whether it is a new one.
func (p *pulse) see(s *loop.Snapshot, now time.Time) bool {
	if s == nil || !p.at.IsZero() && s.Tick == p.tick {
		return false
	}
	p.tick, p.at = s.Tick, now
	return true
}

// age is the time since the last tick, and whether there was one.
func (p *pulse) age(now time.Time) (time.Duration, bool) {
	if p.at.IsZero() || p.closed {
		return 0, false
	}
	return now.Sub(p.at), true
}

// live says whether a tick was seen within the limit.
func (p *pulse) live(now time.Time, limit time.Duration) bool {
	age, ok := p.age(now)
	return ok && age <= limit
}
