package page

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"soakwarden/internal/status"
)

// serveStatus is the status for scripts. When ticks have stopped it is still
// given, with 503, so that no script takes old numbers for good ones.
func (p *Page) serveStatus(w http.ResponseWriter, r *http.Request) {
	s := p.opt.Latest()
	if s == nil {
		p.starting(w)
		return
	}
	data, err := json.MarshalIndent(status.Of(s), "", "  ")
	if err != nil {
		http.Error(w, "the status could not be written: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	p.mu.Lock()
	live := p.pulse.live(p.opt.Now(), p.opt.Stale)
	p.mu.Unlock()
	if !live {
		w.WriteHeader(http.StatusServiceUnavailable)
	}
	w.Write(append(data, '\n'))
}

// serveHealthy says whether ticks are being run: 503 past the limit, so that a
// supervisor outside may act.
func (p *Page) serveHealthy(w http.ResponseWriter, r *http.Request) {
	p.mu.Lock()
	age, ok := p.pulse.age(p.opt.Now())
	p.mu.Unlock()
	switch {
	case !ok:
		http.Error(w, "not healthy: no tick was seen", http.StatusServiceUnavailable)
	case age > p.opt.Stale:
		http.Error(w, fmt.Sprintf("not healthy: the last tick was %s ago, at most %s is good", age.Round(time.Second), p.opt.Stale), http.StatusServiceUnavailable)
	default:
		fmt.Fprintln(w, "healthy")
	}
}

// serveReady says whether there is something to show.
func (p *Page) serveReady(w http.ResponseWriter, r *http.Request) {
	if p.opt.Latest() == nil {
		p.starting(w)
		return
	}
	fmt.Fprintln(w, "ready")
}

// postInject gives the model a fault.
func (p *Page) postInject(w http.ResponseWriter, r *http.Request) {
	form, ok := p.form(w, r)
	if !ok {
		return
	}
	if err := p.opt.Demo.Inject(form.Get("kind"), form.Get("target"), form.Get("amount")); err != nil {
		p.message(w, p.frame(), http.StatusBadRequest, "No fault was put in: "+err.Error()+".")
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// postClear takes every fault out of the model.
func (p *Page) postClear(w http.ResponseWriter, r *http.Request) {
	if _, ok := p.form(w, r); !ok {
		return
	}
	p.opt.Demo.Clear()
	http.Redirect(w, r, "/", http.StatusSeeOther)
}
