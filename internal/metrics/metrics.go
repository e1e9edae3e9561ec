// Package metrics turns the latest snapshot into Prometheus metrics.
//
// It decides nothing and keeps nothing: every scrape reads one snapshot. The
// prefix is soakwarden_, temperatures are Celsius, differences kelvin, times
// seconds, and moments are given instead of ages. Labels are bounded by the
// configuration and the table of causes, and every series exists from the
// first tick, at zero, so that an alert can compare before anything went wrong.
//
// A temperature that is not known is NaN, never zero: every comparison with it
// is false, so each has a series beside it (soakwarden_probe_good,
// soakwarden_water_believable) that an alert can ask.
//
// Sources: the naming rules of the Prometheus project, checked by its linter.
package metrics

import (
	"net/http"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"soakwarden/internal/loop"
)

// Collector gathers the metrics of a bench from the newest snapshot.
type Collector struct {
	latest func() *loop.Snapshot
}

// NewCollector makes a collector. Before the first snapshot it gives only
// soakwarden_started, at zero.
func NewCollector(latest func() *loop.Snapshot) *Collector { return &Collector{latest: latest} }

// Describe announces every metric.
func (c *Collector) Describe(out chan<- *prometheus.Desc) {
	for i := range metricTable {
		out <- metricTable[i].desc
	}
}

// Collect reads one snapshot.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	s := c.latest()
	e := emitter{out: out}
	e.flag(started, s != nil)
	if s == nil {
		return
	}
	e.bench(s)
	for i := range s.Stations {
		e.station(s, &s.Stations[i])
	}
	for i := range s.Buses {
		e.bus(s, &s.Buses[i])
	}
	for i := range s.Relays {
		e.relay(&s.Relays[i])
	}
}

// Handler serves /metrics: the bench from latest, and the program's own
// memory, goroutines and processor time.
func Handler(latest func() *loop.Snapshot) http.Handler {
	reg := prometheus.NewRegistry()
	reg.MustRegister(
		NewCollector(latest),
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
	)
	return promhttp.HandlerFor(reg, promhttp.HandlerOpts{MaxRequestsInFlight: 4})
}

var _ prometheus.Collector = (*Collector)(nil)
