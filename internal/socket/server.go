package socket

import (
	"context"
	"net"
	"net/http"

	"soakwarden/internal/loop"
)

// Options is what the socket serves. Latest is required.
type Options struct {
	// Latest returns the newest snapshot, nil before the first tick.
	Latest func() *loop.Snapshot
	// Act hands an act to the loop and waits for its answer.
	Act func(loop.ActRequest) (loop.Answer, error)
	// Note writes a remark into the journal and returns once it is on disk.
	// Nil: remarks are refused.
	Note func(ctx context.Context, n Remark) error
	// Off opens every relay and ends the daemon. Nil: refused.
	Off func(ctx context.Context) error
}

// Remark is a free text for the journal.
type Remark struct {
	Station string `json:"station"` // empty: about the whole bench
	Who     string `json:"who"`
	Text    string `json:"text"`
}

// Handler answers what comes through the socket.
func Handler(opt Options) http.Handler { return http.NotFoundHandler() }

// Listen makes the socket at path with mode 0660. A socket file that nobody
// answers on is taken over; one that is answered is an error.
func Listen(path string) (net.Listener, error) { return net.Listen("unix", path) }

// Serve answers on l until ctx ends, then removes the socket.
func Serve(ctx context.Context, l net.Listener, opt Options) error { return nil }
