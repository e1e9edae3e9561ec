package page

import (
	"encoding/json"
	"maps"
	"net/http"
	"strconv"
	"sync"
	"time"

	"soakwarden/internal/status"
)

// Bounds of the event streams.
const (
	maxStreams     = 32              // browsers at once; one more is asked to wait
	streamDeadline = 5 * time.Second // to take one message; slower ones are dropped
	trendPause     = 5 * time.Second // between two trends: the model in fast motion has news at every look
)

// streams are the browsers that are connected.
type streams struct {
	mu     sync.Mutex
	all    map[*stream]bool
	closed bool
}

// stream is one browser. Its box holds at most one message: a browser that has
// not taken the last one gets the newer instead, never both.
type stream struct {
	units status.Units
	only  int // station, −1 for all
	box   chan []byte
	done  chan struct{}

	// Touched by Watch's goroutine only.
	sent  map[string]uint64 // region → checksum
	trend time.Time         // when a trend was last sent
}

// message is one server-sent event.
type message struct {
	Key     string            `json:"key"`
	Live    bool              `json:"live"`
	Regions map[string]string `json:"regions"`
}

func (s *streams) add(c *stream) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed || len(s.all) >= maxStreams {
		return false
	}
	if s.all == nil {
		s.all = map[*stream]bool{}
	}
	s.all[c] = true
	return true
}

func (s *streams) remove(c *stream) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.all, c)
}

// close ends every stream and refuses further ones.
func (s *streams) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	for c := range s.all {
		close(c.done)
		delete(s.all, c)
	}
}

func (s *streams) list() []*stream {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := make([]*stream, 0, len(s.all))
	for c := range s.all {
		out = append(out, c)
	}
	return out
}

// tell sends every browser what changed for it. It renders once for each
// choice of units that somebody made, and nothing when nobody looks.
func (p *Page) tell() {
	clients := p.streams.list()
	if len(clients) == 0 {
		return
	}
	f := p.frame()
	if f.snap == nil {
		return
	}
	key, rendered := f.key(p.token), map[status.Units][]region{}
	for _, c := range clients {
		if len(c.box) > 0 {
			continue // it has not taken the last one
		}
		regions, ok := rendered[c.units]
		if !ok {
			var err error
			if regions, err = f.regions(c.units, wantedBy(clients, c.units, len(f.snap.Stations)), p.drawn); err != nil {
				continue // no message: the browser shows that nothing is live
			}
			rendered[c.units] = regions
		}
		c.tell(message{Key: key, Live: f.live}, regions, len(f.snap.Stations), p.opt.Now())
	}
}

// wantedBy says which stations the browsers of these units look at.
func wantedBy(clients []*stream, u status.Units, count int) func(int) bool {
	return func(i int) bool {
		for _, c := range clients {
			if c.units == u && drawn(c.only, i, count) {
				return true
			}
		}
		return false
	}
}

func (c *stream) tell(m message, regions []region, stations int, now time.Time) {
	m.Regions = map[string]string{}
	sums, trends := map[string]uint64{}, now.Sub(c.trend) >= trendPause
	for _, r := range regions {
		if r.station >= 0 && !drawn(c.only, r.station, stations) || c.sent[r.id] == r.sum || r.trend && !trends {
			continue
		}
		m.Regions[r.id], sums[r.id] = r.html, r.sum
	}
	data, err := json.Marshal(m)
	if err != nil {
		return
	}
	select {
	case c.box <- data:
		maps.Copy(c.sent, sums)
		if trends {
			c.trend = now
		}
	default:
	}
}

// serveEvents is the stream of one browser.
func (p *Page) serveEvents(w http.ResponseWriter, r *http.Request) {
	s := p.opt.Latest()
	if s == nil {
		p.starting(w)
		return
	}
	only, err := parseOnly(r.URL.Query().Get("station"), len(s.Stations))
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	units, err := status.ParseUnits(r.URL.Query().Get("units"))
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	c := &stream{units: units, only: only, box: make(chan []byte, 1), done: make(chan struct{}), sent: map[string]uint64{}}
	if !p.streams.add(c) {
		w.Header().Set("Retry-After", "30")
		http.Error(w, "too many browsers look at this page: close one, at most "+strconv.Itoa(maxStreams), http.StatusServiceUnavailable)
		return
	}
	defer p.streams.remove(c)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy in between must not collect
	out := http.NewResponseController(w)
	// A server's limit for reading a request would otherwise end the stream.
	_ = out.SetReadDeadline(time.Time{})
	write := func(text string) bool {
		// The server's own write deadline would end the stream; a browser that
		// does not take a message within this one is dropped. A writer that
		// knows no deadline (a test's recorder) fails at Flush or not at all.
		_ = out.SetWriteDeadline(time.Now().Add(streamDeadline))
		if _, err := w.Write([]byte(text)); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	if !write("retry: 3000\n\n") {
		return
	}
	for {
		select {
		case <-r.Context().Done():
			return
		case <-c.done:
			return
		case data := <-c.box:
			if !write("event: sheet\ndata: " + string(data) + "\n\n") {
				return
			}
		}
	}
}
