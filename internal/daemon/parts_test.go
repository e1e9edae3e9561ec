package daemon

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"
	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/config"
	"soakwarden/internal/relay"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestLife(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 11, 5, 6, 0, 0, 0, time.UTC)
	start := func(wantUnclean bool, wantRestarts uint8) *life {
		t.Helper()
		l, unclean, err := begin(dir, now)
		if err != nil {
			t.Fatal(err)
		}
		if unclean != wantUnclean || l.restarts() != wantRestarts {
			t.Errorf("unclean %v and %d restarts, want %v and %d", unclean, l.restarts(), wantUnclean, wantRestarts)
		}
		return l
	}
	l := start(false, 0) // the very first
	if err := l.end(); err != nil {
		t.Fatal(err)
	}
	start(false, 0)
	now = now.Add(10 * time.Minute)
	start(true, 1)
	now = now.Add(10 * time.Minute)
	l = start(true, 2)
	if err := l.end(); err != nil {
		t.Fatal(err)
	}
	start(false, 2) // an orderly end does not wipe out what was before
	now = now.Add(39 * time.Minute)
	start(true, 3)
	now = now.Add(12 * time.Minute) // the first one is over an hour old
	l = start(true, 3)
	// A start that came to nothing counts for nothing, and the next is unclean.
	if err := l.undo(); err != nil {
		t.Fatal(err)
	}
	start(true, 3)
	now = now.Add(-30 * time.Minute) // a board without a clock of its own
	l = start(true, 4)
	if err := l.steady(); err != nil {
		t.Fatal(err)
	}
	start(true, 1)
	// A note that cannot be read is no orderly end.
	for _, text := range []string{"", "{", "\x00\x00\x00"} {
		if err := os.WriteFile(filepath.Join(dir, lifeFile), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		start(true, 1)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if _, _, err := begin(dir, now); err == nil {
		t.Error("a note that cannot be written was not noticed")
	}
}

type pin struct {
	gpio.PinOut // nil: nothing but Out is called
	mu          sync.Mutex
	log         []gpio.Level
	err         error
}

func (p *pin) Out(l gpio.Level) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.err != nil {
		return p.err
	}
	p.log = append(p.log, l)
	return nil
}

func (p *pin) last() gpio.Level {
	p.mu.Lock()
	defer p.mu.Unlock()
	return gpio.Level(len(p.log) > 0 && bool(p.log[len(p.log)-1]))
}

func TestGate(t *testing.T) {
	var g gate
	good, bad := &pin{}, &pin{}
	a, b := g.guard("good", good), g.guard("bad", bad)
	if err := errors.Join(a.Out(gpio.High), b.Out(gpio.High)); err != nil {
		t.Fatal(err)
	}
	bad.err = errors.New("stuck")
	// Somebody keeps switching on while the relays are dropped.
	stop := make(chan struct{})
	var busy sync.WaitGroup
	busy.Go(func() {
		for {
			select {
			case <-stop:
				return
			default:
				_ = a.Out(gpio.High)
			}
		}
	})
	if errs := g.drop(); len(errs) != 1 || errs[0].Error() != "bad: stuck" {
		t.Errorf("errors: %v", errs)
	}
	for range 1000 {
		if good.last() {
			t.Fatal("a relay closed after it was dropped")
		}
	}
	close(stop)
	busy.Wait()
	if err := a.Out(gpio.High); !errors.Is(err, errShut) {
		t.Errorf("closing after the drop: %v", err)
	}
	if err := a.Halt(); err != nil {
		t.Errorf("opening after the drop: %v", err)
	}
}

func TestSharedOutput(t *testing.T) {
	p := &pin{}
	s := &shared{PinOut: p}
	one, two := side{s, 0}, side{s, 1}
	for _, c := range []struct {
		who  side
		on   gpio.Level
		want gpio.Level
	}{{one, true, true}, {two, true, true}, {one, false, true}, {two, false, false}} {
		if err := c.who.Out(c.on); err != nil || p.last() != c.want {
			t.Errorf("after %d wants %v: %v, %v", c.who.index, c.on, p.last(), err)
		}
	}
}

func TestStateFolder(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", DefaultState},
		{"state = \"/srv/tub\"\n[page]\n", "/srv/tub"},
		{"\ufeffname = [[[broken\r\n  state='/srv/tub'  # here\r\n", "/srv/tub"},
		{"\"state\" = \"/a\"", "/a"},
		{"[page]\nstate = \"/not/this\"\n", DefaultState},
		{"# state = \"/not/this\"\n", DefaultState},
		{"state = 5\n", DefaultState},
		{"state = \"\"\n", DefaultState},
	} {
		if got := StateFolder([]byte(c.text)); got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}

func TestSpecOf(t *testing.T) {
	for _, c := range []struct {
		line config.Line
		want relay.Spec
	}{
		{config.Line{Kind: config.GPIOLine, Chip: "/dev/gpiochip0", Pin: 5, ActiveLow: true}, relay.Spec{Pin: "GPIO5", ActiveLow: true}},
		{config.Line{Kind: config.GPIOLine, Chip: "/dev/gpiochip2", Pin: 7}, relay.Spec{Pin: "gpiochip2:7"}},
		{config.Line{Kind: config.FileLine, Path: "/sys/x"}, relay.Spec{Path: "/sys/x"}},
	} {
		if got := SpecOf("", c.line); got != c.want {
			t.Errorf("%+v is %+v, want %+v", c.line, got, c.want)
		}
	}
	if SpecOf("nowhere", config.Line{}).Check() == nil {
		t.Error("the zero line has a place")
	}
}

func TestTeardown(t *testing.T) {
	var order []string
	down := teardown{log: slog.New(slog.DiscardHandler)}
	add := func(name string, err error) {
		down.add(name, func() error { order = append(order, name); return err })
	}
	add("first", nil)
	add("fails", errors.New("no"))
	down.add("panics", func() error { order = append(order, "panics"); panic("oh") })
	add("last", nil)
	err := down.run()
	if want := []string{"last", "panics", "fails", "first"}; !slices.Equal(order, want) {
		t.Errorf("order %v", order)
	}
	if err == nil || !strings.Contains(err.Error(), "stop panics: panic: oh") || !strings.Contains(err.Error(), "stop fails: no") {
		t.Errorf("error: %v", err)
	}
}

// V disarms, and only when all is off. Source: Linux,
// Documentation/watchdog/watchdog-api.rst, "magic close".
func TestWatchdogDevice(t *testing.T) {
	for _, off := range []bool{true, false} {
		path := filepath.Join(t.TempDir(), "watchdog")
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		w, err := openWatchdog(path, 15*time.Second)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(w.feed(), w.feed(), w.close(off)); err != nil {
			t.Fatal(err)
		}
		got, _ := os.ReadFile(path)
		if want := map[bool]string{true: "\x00\x00V", false: "\x00\x00"}[off]; string(got) != want {
			t.Errorf("all off %v: wrote %q", off, got)
		}
	}
	if _, err := openWatchdog(filepath.Join(t.TempDir(), "none"), 0); err == nil {
		t.Error("a missing watchdog was opened")
	}
}

// The datagrams are those of sd_notify(3).
func TestSupervisor(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n")
	conn, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	t.Setenv("NOTIFY_SOCKET", path)
	s := newSupervisor()
	buf := make([]byte, 64)
	for _, word := range []string{supervisorReady, supervisorAlive, supervisorStopping} {
		if err := s.send(word); err != nil {
			t.Fatal(err)
		}
		n, err := conn.Read(buf)
		if err != nil || string(buf[:n]) != word {
			t.Errorf("%q, %v", buf[:n], err)
		}
	}
	// A manager that does not read delays a tick by a bounded time only.
	var full error
	for range 2000 {
		if full = s.send(supervisorAlive); full != nil {
			break
		}
	}
	if !errors.Is(full, os.ErrDeadlineExceeded) {
		t.Errorf("a full socket: %v", full)
	}
	t.Setenv("NOTIFY_SOCKET", "")
	if err := newSupervisor().send(supervisorReady); err != nil {
		t.Errorf("without a manager: %v", err)
	}
}

func TestKernelClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := NewClock()
		c.Sleep(3*time.Second, nil)
		if c.Now() != 3*time.Second {
			t.Errorf("now %v", c.Now())
		}
		c.Sleep(time.Second, nil) // in the past
		stop := make(chan struct{})
		close(stop)
		c.Sleep(time.Hour, stop)
		if c.Now() != 3*time.Second {
			t.Errorf("now %v", c.Now())
		}
	})
}

func TestScaledClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		c := NewScaledClock(60, start)
		for s := 1; s <= 120; s++ {
			c.Sleep(time.Duration(s)*time.Second, nil)
			if c.Now() != time.Duration(s)*time.Second {
				t.Fatalf("now %v in second %d", c.Now(), s)
			}
			if s == 60 {
				time.Sleep(10 * time.Second) // a computer that cannot keep up
			}
		}
		real := time.Since(start).Round(time.Millisecond)
		if want := 12*time.Second - time.Second/60; real < want-time.Millisecond || real > want+time.Millisecond {
			t.Errorf("120 virtual seconds took %v", real)
		}
		wall, trusted := c.Wall()
		if !trusted || wall.Sub(start) != 2*time.Minute {
			t.Errorf("wall %v", wall)
		}
	})
}

// A reader that stops must not stop the writer.
func TestAsyncWriter(t *testing.T) {
	r, w := io.Pipe()
	a := NewAsyncWriter(w)
	log := slog.New(slog.NewTextHandler(a, nil))
	for i := range 2 * logLines {
		log.Info("line", "number", i)
	}
	var got bytes.Buffer
	done := make(chan struct{})
	go func() { _, _ = io.Copy(&got, r); close(done) }()
	a.Close(t.Context().Done())
	w.Close()
	<-done
	if n := strings.Count(got.String(), "number="); n < logLines || n > logLines+1 {
		t.Errorf("%d lines came out", n)
	}
	if !strings.Contains(got.String(), "lines of the log were dropped") {
		t.Error("the loss is not said")
	}
	if _, err := a.Write([]byte("late")); err == nil {
		t.Error("wrote after the end")
	}
	// With nobody reading, the end is not delayed either.
	_, stuck := io.Pipe()
	b := NewAsyncWriter(stuck)
	_, _ = b.Write([]byte("x"))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	b.Close(ctx.Done())
	stuck.Close()
}
