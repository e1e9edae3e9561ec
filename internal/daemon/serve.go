package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"soakwarden/internal/journal"
	"soakwarden/internal/metrics"
	"soakwarden/internal/page"
	"soakwarden/internal/socket"
	"soakwarden/internal/status"
)

const listenAgain = 10 * time.Second

// listen opens page and socket. A port that is taken does not keep a bench from
// being watched over: it is said, and tried again.
func (d *Daemon) listen() error {
	units, err := status.ParseUnits(string(d.cfg.Page.Units))
	if err != nil {
		units = status.Both
	}
	p := page.New(page.Options{
		Latest: d.Latest, Act: d.book.Act, Cases: d.book, Demo: d.bench.Demo, Units: units, Metrics: metrics.Handler(d.Latest),
	})
	d.spawn("page's watch", func(ctx context.Context) {
		if err := p.Watch(ctx); err != nil && !errors.Is(err, context.Canceled) {
			d.log.Error("page", "error", err)
		}
	})
	d.keepListening("page", func() (net.Listener, error) {
		l, err := net.Listen("tcp", d.cfg.Page.Listen)
		if err == nil {
			d.address.Store(l.Addr().(*net.TCPAddr))
		}
		return l, err
	}, func(ctx context.Context, l net.Listener) error { return d.servePage(ctx, l, p) })
	if d.cfg.Page.Sitter != "" {
		d.listenSitter(units)
	}
	board := d.o.Socket
	switch {
	case board == "" && d.o.Parts.Bench != nil:
		return nil // the model has no board to stand at
	case board == "":
		board = d.cfg.Socket
	}
	d.keepListening("socket", func() (net.Listener, error) {
		if err := os.MkdirAll(filepath.Dir(board), 0o755); err != nil {
			return nil, err
		}
		return socket.Listen(board)
	}, func(ctx context.Context, l net.Listener) error {
		return socket.Serve(ctx, l, socket.Options{
			Latest: d.Latest, Act: d.book.Act, Cases: d.book, Treat: d.desk.Handler(), Note: d.note,
			Guard: func(h http.Handler) http.Handler { return d.careful("socket", h) },
			Off: func(context.Context) error {
				off := d.gate.drop()
				d.finish(nil)
				return errors.Join(off...)
			},
		})
	})
	return nil
}

// listenSitter opens a second page that takes acknowledgements, presence and
// rounds only.
func (d *Daemon) listenSitter(units status.Units) {
	p := page.New(page.Options{Latest: d.Latest, Act: d.book.Act, Cases: d.book, Units: units, Sitter: true})
	d.spawn("sitter's page's watch", func(ctx context.Context) {
		if err := p.Watch(ctx); err != nil && !errors.Is(err, context.Canceled) {
			d.log.Error("sitter's page", "error", err)
		}
	})
	d.keepListening("sitter's page", func() (net.Listener, error) { return net.Listen("tcp", d.cfg.Page.Sitter) },
		func(ctx context.Context, l net.Listener) error { return d.servePage(ctx, l, p) })
}

// keepListening tries to listen at once, and then again and again beside the
// daemon.
func (d *Daemon) keepListening(what string, open func() (net.Listener, error), serve func(context.Context, net.Listener) error) {
	l, err := open()
	if err != nil {
		d.log.Error("cannot listen, trying again", "what", what, "error", err)
	}
	d.spawn(what, func(ctx context.Context) {
		for ctx.Err() == nil {
			if l != nil {
				if err := serve(ctx, l); err != nil && ctx.Err() == nil {
					d.log.Error("stopped listening", "what", what, "error", err)
				}
			}
			if ctx.Err() != nil {
				return
			}
			timer := time.NewTimer(listenAgain)
			select {
			case <-ctx.Done():
			case <-timer.C:
			}
			timer.Stop()
			if l, err = open(); err != nil {
				l = nil
			}
		}
	})
}

func (d *Daemon) servePage(ctx context.Context, l net.Listener, h http.Handler) error {
	server := &http.Server{
		Handler:           d.careful("page", h),
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
		ErrorLog:          slog.NewLogLogger(d.log.Handler(), slog.LevelDebug),
	}
	stopped := context.AfterFunc(ctx, func() {
		short, done := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer done()
		if server.Shutdown(short) != nil {
			_ = server.Close()
		}
	})
	defer stopped()
	err := server.Serve(l)
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// careful drops the relays when a handler panics: net/http would swallow it,
// and nobody would know in which state the program is.
func (d *Daemon) careful(name string, h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			v := recover()
			if v == nil {
				return
			}
			if v == http.ErrAbortHandler {
				panic(v) // not a mistake: the answer is cut off on purpose
			}
			off := d.gate.drop()
			d.log.Error("panic: every relay was driven off", "part", name, "path", r.URL.Path, "panic", v, "not_off", errors.Join(off...), "stack", string(debug.Stack()))
			d.finish(fmt.Errorf("panic in %s: %v", name, v))
		}()
		h.ServeHTTP(w, r)
	})
}

// note writes a person's remark and waits until it is on disk.
func (d *Daemon) note(ctx context.Context, r socket.Remark) error {
	receipt := d.record.Note(r.Station, r.Who, r.Text)
	return await(ctx, receipt)
}

func await(ctx context.Context, r journal.Receipt) error {
	select {
	case <-r.Done():
		return r.Err()
	case <-ctx.Done():
		return fmt.Errorf("not yet on disk: %w", ctx.Err())
	}
}
