package journal

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/loop"
)

// item is one entry on its way. Its position is given when it is written.
type item struct {
	entry.Entry
	urgent  bool
	kept    bool           // a block that is never thinned
	summary *entry.Summary // of a block, nil for other entries
	receipt *receipt       // nil when nobody waits
}

// scribe turns what happens into items. It has no lock of its own.
type scribe struct {
	o        *Options
	run      uint32
	blocks   []*block // in the order of the stations of a tick
	gaps     map[string]time.Duration
	moment   Moment
	ticked   bool
	released bool // a block closed: what waits may be written
	out      []item
}

func newScribe(o *Options, run uint32) *scribe {
	return &scribe{o: o, run: run, gaps: map[string]time.Duration{}}
}

// between is the time of something that does not come with a tick.
func (s *scribe) between() { s.moment = s.o.Clock() }

func (s *scribe) add(station string, body entry.Body, urgent bool) *item {
	s.out = append(s.out, item{urgent: urgent, Entry: entry.Entry{Body: body, Header: entry.Header{
		Run: s.run, Now: s.moment.Now, Wall: s.moment.Wall.UnixMilli(), Trusted: s.moment.Trusted, Station: station,
	}}})
	return &s.out[len(s.out)-1]
}

// stepAtLeast is how far the wall clock must move against the monotonic one to
// be called a step. Ordinary discipline of a clock moves 0.5 ms in a second.
const stepAtLeast = 250 * time.Millisecond

func (s *scribe) time(r *loop.Result) {
	m := &s.moment
	passed := r.Now - m.Now
	off := time.Duration(r.Wall.UnixNano()-m.Wall.UnixNano()) - passed // Sub would look for overflow, too
	jumped := s.ticked && (off.Abs() >= stepAtLeast || r.Trusted != m.Trusted)
	should, trusted := m.Wall, m.Trusted
	m.Now, m.Wall, m.Trusted = r.Now, r.Wall, r.Trusted
	s.ticked = true
	if jumped {
		s.add("", &entry.Jump{Before: should.Add(passed).UnixMilli(), Trusted: trusted}, true)
	}
}

// atOnce says whether an event is synced at once: all are but the ordinary
// switchings, which the blocks of ticks show as well.
func atOnce(k controller.EventKind) bool {
	return k != controller.HeatSwitched && k != controller.SeriesSwitched
}

// tick adds everything of one tick and says whether any of it is urgent.
func (s *scribe) tick(r *loop.Result) (urgent bool) {
	s.time(r)
	if r.Quiet && s.o.NoTicks {
		return false
	}
	for i := range r.Stations {
		st := &r.Stations[i]
		quick := r.Urgent && (len(st.Acts) > 0 || len(st.Output.Events) > 0)
		for j := range st.Output.Events {
			quick = quick || atOnce(st.Output.Events[j].Kind)
		}
		quick = quick || len(st.Acts) > 0
		urgent = urgent || quick
		if !s.o.NoTicks {
			s.station(i, st, quick)
		}
		for j := range st.Acts {
			s.add(st.Name, actEntry(&st.Acts[j]), quick)
		}
		for j := range st.Output.Events {
			e := EventOf(&st.Output.Events[j])
			s.add(st.Name, &e, quick)
		}
	}
	for i := range r.Relays {
		c := &r.Relays[i]
		e := &entry.Relay{Relay: c.Relay, On: c.On}
		if c.Err != nil {
			e.Error = clip(c.Err.Error())
			urgent = true
		}
		s.add("", e, r.Urgent || c.Err != nil)
	}
	return urgent || r.Urgent
}

// station adds a tick to the block of station i and closes the block when it
// is due, or at once so that what led to an urgent event is synced with it.
func (s *scribe) station(i int, st *loop.StationResult, quick bool) {
	for len(s.blocks) <= i {
		s.blocks = append(s.blocks, &block{station: st.Name})
	}
	b := s.blocks[i]
	now := st.Input.Now
	var gap time.Duration
	if len(s.gaps) > 0 {
		gap = s.gaps[st.Name]
	}
	if gap != b.gap || b.station != st.Name {
		s.close(b, false)
		b.station, b.gap = st.Name, gap
	}
	if b.full(now, len(st.Input.Readings)) {
		s.close(b, false)
	}
	if b.count == 0 {
		b.ends = s.ends(now, i, b.gap)
	}
	b.add(st.Input, st.Output, st.Input.Acts)
	if quick {
		s.close(b, true)
	}
}

// ends is when a block that begins now must close. Blocks of all stations end
// at common moments, so that one transaction takes them all even when some were
// closed early before; on a large bench, sixteen stations a second.
func (s *scribe) ends(now time.Duration, i int, gap time.Duration) time.Duration {
	long := s.o.Block
	if gap > 0 {
		long = max(time.Second, min(long, gap/2))
	}
	shift := time.Duration(i/16) * time.Second % long
	return (now-shift)/long*long + long + shift
}

func (s *scribe) close(b *block, urgent bool) {
	if b.count == 0 {
		return
	}
	now := s.moment
	s.moment.Now = b.last
	s.moment.Wall = now.Wall.Add(b.last - now.Now)
	it := s.add(b.station, nil, urgent)
	ticks := b.whole()
	sum := Summarise(it.Header, ticks)
	it.Body, it.summary, it.kept = entry.Encode(ticks), &sum, ticks.Kept
	s.moment = now
	s.released = true
	b.reset()
}

func (s *scribe) closeAll() {
	for _, b := range s.blocks {
		s.close(b, false)
	}
}

func configBody(name string, text []byte) (entry.Body, error) {
	if len(text) > entry.MaxText {
		return nil, fmt.Errorf("recording the configuration %s: %d bytes are more than %d", name, len(text), entry.MaxText)
	}
	return &entry.Config{Name: clip(name), Text: append([]byte(nil), text...), Sum: sha256.Sum256(text)}, nil
}

func settingsBody(core string, set controller.Settings) (entry.Body, error) {
	b, err := json.Marshal(set)
	if err == nil {
		b, err = entry.CanonicalJSON(b)
	}
	if err != nil {
		return nil, fmt.Errorf("recording settings: %w", err)
	}
	return &entry.Settings{Core: clip(core), JSON: b}, nil
}

func documentBody(topic, id string, doc []byte) (entry.Body, error) {
	b, err := entry.CanonicalJSON(doc)
	if err != nil {
		return nil, fmt.Errorf("recording %s %s: %w", topic, id, err)
	}
	if len(b) > entry.MaxText {
		return nil, fmt.Errorf("recording %s %s: %d bytes are more than %d", topic, id, len(b), entry.MaxText)
	}
	return &entry.Document{Topic: clip(topic), ID: clip(id), JSON: b}, nil
}

func stateBody(station string, state []byte) (entry.Body, error) {
	return &entry.State{State: append([]byte(nil), state...)}, checkState(station, state)
}

func checkState(station string, state []byte) error {
	if len(state) > entry.MaxText {
		return fmt.Errorf("saving the state of %s: %d bytes are more than %d", station, len(state), entry.MaxText)
	}
	return nil
}
