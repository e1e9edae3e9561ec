package daemon

import (
	"fmt"
	"io"
	"sync"
	"sync/atomic"
)

// logLines is how many lines of the log may wait for whoever reads them; more
// are dropped, and their number is written when there is room again.
const logLines = 512

// AsyncWriter passes lines on from a goroutine of its own: a service manager or
// a terminal that stops reading must not stop the tick that writes a line.
type AsyncWriter struct {
	lines   chan []byte
	dropped atomic.Uint64
	done    chan struct{}
	once    sync.Once
	mu      sync.RWMutex
	closed  bool
}

// NewAsyncWriter writes to w until Close.
func NewAsyncWriter(w io.Writer) *AsyncWriter {
	a := &AsyncWriter{lines: make(chan []byte, logLines), done: make(chan struct{})}
	go func() {
		defer close(a.done)
		for line := range a.lines {
			_, _ = w.Write(line)
			if n := a.dropped.Swap(0); n > 0 {
				_, _ = fmt.Fprintf(w, "level=WARN msg=\"lines of the log were dropped\" count=%d\n", n)
			}
		}
	}()
	return a
}

// Write takes one line and never waits.
func (a *AsyncWriter) Write(p []byte) (int, error) {
	a.mu.RLock()
	defer a.mu.RUnlock()
	if a.closed {
		return 0, io.ErrClosedPipe
	}
	select {
	case a.lines <- append([]byte(nil), p...):
	default:
		a.dropped.Add(1)
	}
	return len(p), nil
}

// Close writes what waits, unless nobody reads, and ends.
func (a *AsyncWriter) Close(give <-chan struct{}) {
	a.once.Do(func() {
		a.mu.Lock()
		a.closed = true
		close(a.lines)
		a.mu.Unlock()
	})
	select {
	case <-a.done:
	case <-give:
	}
}
