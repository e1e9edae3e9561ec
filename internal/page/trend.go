package page

import (
	"math"
	"time"

	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// The trend keeps six hours, one sample a minute, which is a little more than
// one to a unit of the drawing: 360 samples a probe, overwritten in a ring.
const (
	trendSpan  = 6 * time.Hour
	trendEvery = time.Minute
	trendSize  = int(trendSpan / trendEvery)
)

// trend is the last hours of one station. Times are on the loop's clock.
type trend struct {
	samples []sample // a ring; next is the oldest once it is full
	next    int
	last    time.Duration // of the newest sample
	seen    time.Duration // of the newest snapshot
	heat    time.Duration // with heat on since the newest sample
}

// sample is one moment of a station.
type sample struct {
	at     time.Duration
	wall   time.Time
	values []float32 // °C in the order of the probes, NaN for no reading
	heat   float32   // part of the time before it with heat on
}

// add takes a snapshot of the station into account.
func (t *trend) add(s *loop.Snapshot, v *loop.StationView) {
	if passed := s.Now - t.seen; v.HeatOn && passed > 0 {
		t.heat += passed
	}
	t.seen = s.Now
	if len(t.samples) > 0 && s.Now-t.last < trendEvery {
		return
	}
	next := sample{at: s.Now, wall: s.Wall, values: make([]float32, len(v.Probes))}
	if passed := s.Now - t.last; passed > 0 && len(t.samples) > 0 {
		next.heat = float32(min(float64(t.heat)/float64(passed), 1))
	}
	for i := range v.Probes {
		next.values[i] = float32(math.NaN())
		if status.HasValue(v.Probes[i].Reading) {
			next.values[i] = float32(status.DegreesC(v.Probes[i].Reading.Value))
		}
	}
	t.last, t.heat = s.Now, 0
	if len(t.samples) < trendSize {
		t.samples = append(t.samples, next)
		return
	}
	t.samples[t.next] = next
	t.next = (t.next + 1) % trendSize
}

// inOrder copies the samples of the last hours, oldest first. The values are
// shared: a sample is never changed once it is in the ring.
func (t *trend) inOrder(now time.Duration) []sample {
	if t == nil {
		return nil
	}
	out := make([]sample, 0, len(t.samples))
	for i := range t.samples {
		s := t.samples[(t.next+i)%len(t.samples)]
		if now-s.at <= trendSpan {
			out = append(out, s)
		}
	}
	return out
}
