package page

import (
	"context"
	"net/http"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// Options is what a page is made of. Latest is required; the rest has safe
// zero values.
type Options struct {
	// Latest returns the newest snapshot, nil before the first tick. It must
	// not block.
	Latest func() *loop.Snapshot
	// Act hands a person's act to the loop and waits for its answer. Nil: the
	// page only shows.
	Act func(loop.ActRequest) (loop.Answer, error)
	// Cases takes orders of the procedure. Nil: there are none.
	Cases Cases
	// Sitter makes the page one for a person who looks after the animals for a
	// while: it shows everything, and takes acknowledgements, presence and rounds
	// only.
	Sitter bool
	// Demo injects faults into the model; nil on hardware.
	Demo DemoPort
	// Units is what is shown to a browser that has not chosen.
	Units status.Units
	// Hosts are further names under which the page may be asked for, besides
	// addresses, localhost and the name of this computer.
	Hosts []string
	// Zone is used for the times that people read; nil means the local one.
	Zone *time.Location
	// Now is the real clock; nil means time.Now. It measures only ages.
	Now func() time.Time
	// Stale is the age at which a tick is no longer live; 10 s when zero.
	Stale time.Duration
	// Metrics serves /metrics; nil means the page has none.
	Metrics http.Handler
}

// Cases is the book of the running cases.
type Cases interface {
	Do(ctx context.Context, w casebook.Words, place controller.Place) (casebook.Reply, error)
	List() []casebook.Line
}

// FaultKind is one fault that the demo can be given.
type FaultKind struct {
	Name    string   // as in a scenario, "relay welded"
	Targets []string // what it can be given to; empty when it needs none
	Amount  string   // what its amount means, with unit, "K a day"; empty when it has none
	Example string   // an amount that makes sense, "0.5K"
}

// DemoPort is how the page reaches the model. Its methods may be called from
// any goroutine.
type DemoPort interface {
	Kinds() []FaultKind
	Inject(kind, target, amount string) error
	Clear()
	Active() []string
}

// watchEvery is how often Watch looks for a new snapshot, in real time.
const watchEvery = 250 * time.Millisecond

// Page is the handler of the page and its interface for scripts.
type Page struct {
	opt     Options
	token   string
	handler http.Handler
	streams streams
	drawn   trends // touched by Watch's goroutine only

	mu     sync.Mutex
	pulse  pulse
	trends []trend
}

// New makes a page. Start Watch beside it: a page nobody watches for is not
// live.
func New(opt Options) *Page {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Zone == nil {
		opt.Zone = time.Local
	}
	if opt.Stale <= 0 {
		opt.Stale = 10 * time.Second
	}
	p := &Page{opt: opt, token: newToken(), drawn: trends{}}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", p.serveSheet)
	mux.HandleFunc("GET /station/{name}", p.serveSheet)
	mux.HandleFunc("GET /station/{name}/reset", p.serveReset)
	mux.HandleFunc("GET /events", p.serveEvents)
	mux.HandleFunc("GET /api/status", p.serveStatus)
	mux.HandleFunc("GET /-/healthy", p.serveHealthy)
	mux.HandleFunc("GET /-/ready", p.serveReady)
	mux.Handle("GET /assets/", assetHandler())
	if opt.Metrics != nil {
		mux.Handle("GET /metrics", opt.Metrics)
	}
	// A form of another origin is refused by what the browser says of itself,
	// and again by the token that only our own pages carry.
	forms := http.NewCrossOriginProtection()
	mux.Handle("POST /act", forms.Handler(http.HandlerFunc(p.postAct)))
	if opt.Cases != nil {
		mux.HandleFunc("GET /cases", p.serveCases)
		mux.HandleFunc("GET /cases/{case}/days.ics", p.serveDays)
		mux.Handle("POST /who", forms.Handler(http.HandlerFunc(p.postWho)))
		mux.Handle("POST /case", forms.Handler(http.HandlerFunc(p.postCase)))
	}
	if opt.Demo != nil {
		mux.Handle("POST /demo/inject", forms.Handler(http.HandlerFunc(p.postInject)))
		mux.Handle("POST /demo/clear", forms.Handler(http.HandlerFunc(p.postClear)))
	}
	p.handler = newGuard(mux, opt.Hosts)
	return p
}

// ServeHTTP answers the page, /api/status, /events, /metrics, /-/healthy and
// /-/ready.
func (p *Page) ServeHTTP(w http.ResponseWriter, r *http.Request) { p.handler.ServeHTTP(w, r) }

// Watch follows the loop until ctx ends: it notices when ticks stop, keeps the
// trend and feeds the browsers that are connected. Streams end with it.
func (p *Page) Watch(ctx context.Context) error {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	defer p.stopWatching()
	var told time.Time
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		// A browser is told once a second: of a new tick, or that there is none.
		fresh, now := p.look(), p.opt.Now()
		if fresh && now.Sub(told) >= time.Second-watchEvery || now.Sub(told) >= 2*time.Second {
			told = now
			p.tell()
		}
	}
}

// look takes the newest snapshot into account and says whether it is new.
func (p *Page) look() bool {
	s := p.opt.Latest()
	p.mu.Lock()
	defer p.mu.Unlock()
	p.pulse.closed = false
	if !p.pulse.see(s, p.opt.Now()) {
		return false
	}
	if len(p.trends) != len(s.Stations) {
		p.trends = make([]trend, len(s.Stations))
	}
	for i := range s.Stations {
		p.trends[i].add(s, &s.Stations[i])
	}
	return true
}

func (p *Page) stopWatching() {
	p.mu.Lock()
	p.pulse.closed = true
	p.mu.Unlock()
	p.tell()
	p.streams.close()
}

// frame takes what one rendering needs. Its snapshot is nil before the first
// tick.
func (p *Page) frame() *frame {
	f := &frame{snap: p.opt.Latest(), zone: p.opt.Zone, token: p.token, acts: p.opt.Act != nil, cases: p.opt.Cases != nil, sitter: p.opt.Sitter}
	if f.snap == nil {
		return f
	}
	// The model in fast motion gives few snapshots an hour; that is no gap.
	f.gap = max(3*trendEvery, time.Duration(4*max(f.snap.Speed, 1)*float64(time.Second)))
	if p.opt.Demo != nil {
		f.demo = &demoView{Token: p.token, Kinds: p.opt.Demo.Kinds(), Active: p.opt.Demo.Active()}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	f.live = p.pulse.live(p.opt.Now(), p.opt.Stale)
	if len(p.trends) == len(f.snap.Stations) {
		for i := range p.trends {
			f.samples = append(f.samples, p.trends[i].inOrder(f.snap.Now))
		}
	}
	return f
}

var _ http.Handler = (*Page)(nil)
