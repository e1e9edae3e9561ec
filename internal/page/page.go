package page

import (
	"context"
	"net/http"
	"time"

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

// Page is the handler of the page and its interface for scripts.
type Page struct {
	opt Options
}

// New makes a page. Start Watch beside it: a page nobody watches for is not
// live.
func New(opt Options) *Page { return &Page{opt: opt} }

// Watch follows the loop until ctx ends: it notices when ticks stop, keeps the
// trend and feeds the browsers that are connected. Streams end with it.
func (p *Page) Watch(ctx context.Context) error {
	<-ctx.Done()
	return nil
}

// ServeHTTP answers the page, /api/status, /events, /metrics, /-/healthy and
// /-/ready.
func (p *Page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	http.Error(w, "starting", http.StatusServiceUnavailable)
}

var _ http.Handler = (*Page)(nil)
