package notify

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"
)

// fresh is how old the last good tick may be when the pulse is sent.
const fresh = 10 * time.Second

// Pulse fetches an address as long as the program proves that it is alive.
// Whoever is behind the address raises the alarm when it stops: it works when
// the board, the power or the internet is gone.
type Pulse struct {
	url    string
	every  time.Duration
	client *http.Client
	log    *slog.Logger
	epoch  time.Time
	good   atomic.Int64 // nanoseconds after epoch, plus one; zero while there was none
	sent   atomic.Uint64
	failed atomic.Uint64
}

// NewPulse makes a pulse; every is 1 min when it is not positive. transport
// and log may be nil.
func NewPulse(url string, every time.Duration, transport http.RoundTripper, log *slog.Logger) *Pulse {
	if every <= 0 {
		every = time.Minute
	}
	if transport == nil {
		transport = &http.Transport{Proxy: http.ProxyFromEnvironment, DisableKeepAlives: true}
	}
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	return &Pulse{
		url: url, every: every, log: log, epoch: time.Now(),
		client: &http.Client{Transport: transport, Timeout: min(timeout, every)},
	}
}

// Good notes a good tick. It never waits.
func (p *Pulse) Good() { p.good.Store(int64(time.Since(p.epoch)) + 1) }

// Counts are the fetches that succeeded and those that failed.
func (p *Pulse) Counts() (sent, failed uint64) { return p.sent.Load(), p.failed.Load() }

// Run fetches until ctx ends. A fetch that failed is tried again soon, but
// never for a tick that is no longer fresh: silence is the message then.
func (p *Pulse) Run(ctx context.Context) {
	timer := time.NewTimer(0)
	defer timer.Stop()
	pause := firstPause
	for {
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		}
		last := p.good.Load()
		if last == 0 || time.Since(p.epoch)-time.Duration(last-1) > fresh {
			timer.Reset(min(time.Second, p.every))
			continue
		}
		err := p.fetch(ctx)
		if ctx.Err() != nil {
			return
		}
		if err != nil {
			p.failed.Add(1)
			if pause == firstPause {
				p.log.Warn("outgoing heartbeat failed", "error", err)
			}
			timer.Reset(min(pause, p.every))
			pause = min(2*pause, p.every)
			continue
		}
		p.sent.Add(1)
		pause = firstPause
		timer.Reset(p.every)
	}
}

func (p *Pulse) fetch(ctx context.Context) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, p.url, nil)
	if err != nil {
		return fmt.Errorf("the address of the heartbeat cannot be used: %w", bare(err))
	}
	req.Header.Set("User-Agent", "soakwarden")
	return fetch(p.client, req)
}
