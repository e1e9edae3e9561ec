package daemon

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/page"
	"soakwarden/internal/relay"
	"soakwarden/internal/socket"
)

func TestStartAndStop(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	hangs := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-hangs }))
	defer server.Close()
	defer close(hangs)
	put(t, dir, "tub.toml", get(t, dir, "tub.toml")+"\n[[notify.webhook]]\nname = \"hangs\"\nurl = \""+server.URL+"\"\nfrom = \"note\"\n")

	d := running(t, dir)
	for name, off := range map[string]string{"pad": "1", "series": "0", "buzzer": "0"} {
		if got := get(t, dir, name); got != off {
			t.Errorf("%s reads %q after the start", name, got)
		}
	}
	waitFor(t, "three ticks", func() bool { s := d.Latest(); return s != nil && s.Tick >= 3 })
	s := d.Latest()
	if s.Missed != 0 || len(s.Stations) != 1 || s.Stations[0].Probes[0].Reading.Value == 0 {
		t.Errorf("snapshot: %+v", s)
	}
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Get("http://" + d.Address() + "/-/healthy")
	if err != nil {
		t.Fatal(err)
	}
	_, _ = io.Copy(io.Discard, res.Body)
	res.Body.Close()
	if res.StatusCode != 200 {
		t.Errorf("healthy answers %s", res.Status)
	}
	board := socket.NewClient(filepath.Join(dir, "state/socket"))
	if _, err := board.Status(t.Context()); err != nil {
		t.Error(err)
	}
	if get(t, dir, "beat") == "" || !strings.HasPrefix(get(t, dir, "watchdog"), "\x00\x00\x00") {
		t.Errorf("watchdog got %q", get(t, dir, "watchdog"))
	}

	// Another daemon touches nothing.
	var held *relay.HeldError
	if err := New(Options{File: filepath.Join(dir, "tub.toml")}).Run(t.Context()); !errors.As(err, &held) {
		t.Errorf("a second daemon: %v", err)
	}

	start := time.Now()
	if err := d.Stop(); err != nil {
		t.Error(err)
	}
	if took := time.Since(start); took > patience {
		t.Errorf("stopping took %v", took)
	}
	for name, off := range map[string]string{"pad": "1", "series": "0", "beat": "0", "lamp": "0", "buzzer": "0"} {
		if got := get(t, dir, name); got != off {
			t.Errorf("%s reads %q after the stop", name, got)
		}
	}
	if got := get(t, dir, "watchdog"); !strings.HasSuffix(got, "V") {
		t.Errorf("the watchdog was not disarmed: %q", got)
	}
	if got := get(t, dir, "state/life"); !strings.Contains(got, `"running":false`) {
		t.Errorf("the orderly end was not noted: %s", got)
	}
}

// The remembered lines go off even when the configuration cannot be used.
func TestRememberedLinesBeforeConfiguration(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	d := running(t, dir)
	if err := d.Stop(); err != nil {
		t.Fatal(err)
	}
	put(t, dir, "pad", "0")
	put(t, dir, "series", "1")
	put(t, dir, "tub.toml", `state = "`+dir+"/state\"\nname = nonsense [[\n")
	err := New(Options{File: filepath.Join(dir, "tub.toml")}).Run(t.Context())
	if err == nil || !strings.Contains(err.Error(), "tub.toml:2:") {
		t.Errorf("a broken configuration: %v", err)
	}
	if get(t, dir, "pad") != "1" || get(t, dir, "series") != "0" {
		t.Error("the remembered relays were not driven off")
	}
	put(t, dir, "pad", "0")
	put(t, dir, "series", "1")
	err = New(Options{File: filepath.Join(dir, "gone.toml"), State: filepath.Join(dir, "state")}).Run(t.Context())
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a configuration that is gone: %v", err)
	}
	if get(t, dir, "pad") != "1" || get(t, dir, "series") != "0" {
		t.Error("the remembered relays were not driven off without a configuration")
	}
	err = New(Options{File: filepath.Join(dir, "gone.toml"), State: filepath.Join(dir, "nowhere")}).Run(t.Context())
	if _, made := os.Stat(filepath.Join(dir, "nowhere")); !errors.Is(err, os.ErrNotExist) || made == nil {
		t.Errorf("a mistyped name: %v, folder made %v", err, made == nil)
	}
}

// A state folder that the first look at the file did not find would split the
// list of lines in two.
func TestStateFolderThatHides(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	put(t, dir, "tub.toml", strings.Replace(get(t, dir, "tub.toml"), `name = "bench"`, "name = \"\"\"\nstate = \""+dir+"/other\"\n\"\"\"", 1))
	err := New(Options{File: filepath.Join(dir, "tub.toml")}).Run(t.Context())
	if err == nil || !strings.Contains(err.Error(), dir+"/other") {
		t.Errorf("%v", err)
	}
	if get(t, dir, "pad") != "0" {
		t.Error("a line was driven from the wrong folder")
	}
}

// A relay that cannot be written: heartbeat and watchdog stop, and the other
// relays can still be driven off.
func TestUnwritableRelayStopsTheWatchdogs(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	d := running(t, dir, func(o *Options) { o.Log = nil })
	waitFor(t, "a tick", func() bool { return d.Latest() != nil })
	if err := os.Remove(filepath.Join(dir, "pad")); err != nil {
		t.Fatal(err)
	}
	last := d.Latest().Tick
	waitFor(t, "two ticks", func() bool { return d.Latest().Tick >= last+2 })
	fed, beat := get(t, dir, "watchdog"), get(t, dir, "beat")
	last = d.Latest().Tick
	waitFor(t, "two more ticks", func() bool { return d.Latest().Tick >= last+2 })
	if get(t, dir, "watchdog") != fed || get(t, dir, "beat") != beat {
		t.Error("the watchdogs are still fed")
	}
	if err := d.Stop(); err == nil {
		t.Error("a stop with a relay that is not off was called a good one")
	}
	if strings.HasSuffix(get(t, dir, "watchdog"), "V") {
		t.Error("the watchdog was disarmed though a relay is not off")
	}
	if !strings.Contains(get(t, dir, "state/life"), `"running":true`) {
		t.Error("this was called an orderly end")
	}
}

// A buzzer that cannot be written is told; a reboot by the watchdog would mend
// nothing and take the heat from every animal.
func TestMuteBuzzerFeedsTheWatchdogs(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	d := running(t, dir, func(o *Options) { o.Log = nil })
	waitFor(t, "a tick", func() bool { return d.Latest() != nil })
	if err := os.Remove(filepath.Join(dir, "buzzer")); err != nil {
		t.Fatal(err)
	}
	last := d.Latest().Tick
	waitFor(t, "two ticks", func() bool { return d.Latest().Tick >= last+2 })
	fed := get(t, dir, "watchdog")
	last = d.Latest().Tick
	waitFor(t, "two more ticks", func() bool { return d.Latest().Tick >= last+2 })
	if get(t, dir, "watchdog") == fed {
		t.Error("the watchdog is not fed")
	}
	_ = d.Stop() // says that the buzzer is not off
}

func TestPanicDropsRelays(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	m := &model{}
	m.every = func(tick int) {
		for _, p := range m.pins {
			_ = p.Out(gpio.High)
		}
		if tick == 2 {
			panic("oh")
		}
	}
	o := Options{File: filepath.Join(dir, "tub.toml"), Journal: "none", Parts: Parts{Bench: m.bench, Clock: NewScaledClock(100, time.Unix(0, 0))}}
	err := New(o).Run(t.Context())
	if err == nil || !strings.Contains(err.Error(), "panic in tick: oh") {
		t.Errorf("a panic in a tick: %v", err)
	}
	for i, p := range m.pins {
		if p.last() {
			t.Errorf("relay %d is closed", i)
		}
	}
}

// faulty panics when the page asks it for the faults that it offers.
type faulty struct{}

func (faulty) Kinds() []page.FaultKind             { panic("page") }
func (faulty) Active() []string                    { panic("page") }
func (faulty) Inject(string, string, string) error { return nil }
func (faulty) Clear()                              {}

func TestPanicOfThePageDropsRelays(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	m := &model{every: nil}
	o := Options{File: filepath.Join(dir, "tub.toml"), Journal: "none", Parts: Parts{Clock: NewScaledClock(100, time.Unix(0, 0))}}
	o.Parts.Bench = m.withDemo
	d := New(o)
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	waitFor(t, "a tick", func() bool { return d.Latest() != nil })
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	for _, path := range []string{"/", "/station/north"} {
		if res, err := client.Get("http://" + d.Address() + path); err == nil {
			res.Body.Close()
		}
	}
	select {
	case <-d.Done():
	case <-time.After(5 * time.Second):
		t.Error("a panic in the page went by")
	}
	if err := d.Stop(); err == nil || !strings.Contains(err.Error(), "panic in page: page") {
		t.Errorf("stopped with %v", err)
	}
	for i, p := range m.pins {
		if !slices.Equal(p.log[len(p.log)-1:], []gpio.Level{gpio.Low}) {
			t.Errorf("relay %d: %v", i, p.log)
		}
	}
}

// A page's port that is taken does not keep a bench from being watched over.
func TestPortTaken(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	dir := folder(t)
	d := running(t, dir, func(o *Options) { o.Listen, o.Log = l.Addr().String(), nil })
	waitFor(t, "a tick", func() bool { return d.Latest() != nil })
	if d.Address() != "" {
		t.Errorf("listens at %s", d.Address())
	}
	if err := d.Stop(); err != nil {
		t.Error(err)
	}
}

// late is a clock on which each sleep ends too late by what the test says.
type late struct {
	now  time.Duration
	by   []time.Duration
	done context.CancelFunc
}

func (c *late) Now() time.Duration      { return c.now }
func (c *late) Wall() (time.Time, bool) { return time.Unix(0, 0).Add(c.now), true }
func (c *late) Sleep(until time.Duration, stop <-chan struct{}) {
	if len(c.by) == 0 {
		c.done()
		<-stop
		return
	}
	c.now = max(c.now, until) + c.by[0]
	c.by = c.by[1:]
}

// Ticks that come too late are counted and never caught up.
func TestLateTicks(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	m := &model{}
	var at []time.Duration
	ctx, cancel := context.WithCancel(t.Context())
	clock := &late{by: []time.Duration{0, 0, 400 * time.Millisecond, 5200 * time.Millisecond, 0, 0}, done: cancel}
	bench := m.bench
	o := Options{File: filepath.Join(dir, "tub.toml"), Journal: "none"}
	o.Parts.Clock = clock
	d := New(o)
	d.o.Parts.Bench = withAdvance(bench, func(now time.Duration) { at = append(at, now) })
	if err := d.Run(ctx); err != nil {
		t.Fatal(err)
	}
	ms := time.Millisecond
	// Due at 0, 1, 2, 3 s; the fourth comes 5.2 s late, and the next is due at 9 s.
	if want := []time.Duration{0, 1000 * ms, 2400 * ms, 8200 * ms, 9000 * ms, 10000 * ms}; !slices.Equal(at, want) {
		t.Errorf("ticks at %v, want %v", at, want)
	}
	if s := d.Latest(); s.Missed != 5 || s.Tick != 6 {
		t.Errorf("%d ticks and %d missed", s.Tick, s.Missed)
	}
}

// An act is answered by the tick that takes it.
func TestAct(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	d := running(t, dir)
	if _, err := d.Act(loop.ActRequest{Station: "nowhere"}); err != nil {
		t.Error(err)
	}
	if err := d.Stop(); err != nil {
		t.Error(err)
	}
	if _, err := d.Act(loop.ActRequest{Station: "north"}); err == nil {
		t.Error("an act was taken by a daemon that has stopped")
	}
}

// bouncing is a button that is pressed twice, with contacts that bounce.
type bouncing struct {
	mu    sync.Mutex
	looks int
}

func (b *bouncing) Seen() controller.Contact {
	b.mu.Lock()
	defer b.mu.Unlock()
	const script = "....#.#.#####.#...........#####......"
	if b.looks++; b.looks <= len(script) && script[b.looks-1] == '#' {
		return controller.ContactClosed
	}
	return controller.ContactOpen
}

// A press at the board is the presence of a person, however short between two
// ticks, and is recorded once.
func TestButton(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	put(t, dir, "tub.toml", get(t, dir, "tub.toml")+"[board]\nbutton = \"bell\"\n[[input]]\nname = \"bell\"\npin = \"GPIO22\"\nactive_when = \"low\"\n")
	m := &model{input: &bouncing{}}
	presses := make(chan string, 9)
	d := New(Options{File: filepath.Join(dir, "tub.toml"), Journal: "none"})
	d.o.Parts.Bench = func(cfg *config.Config) (Bench, error) {
		b, err := m.bench(cfg)
		b.Hear = func(r *loop.Result, _ *loop.Loop) {
			for _, a := range r.Stations[0].Acts {
				if a.Act.Kind == controller.Presence && a.Act.Place == controller.Board {
					presses <- a.Who
				}
			}
		}
		return b, err
	}
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		select {
		case who := <-presses:
			if who != "button" {
				t.Errorf("pressed by %q", who)
			}
		case <-time.After(5 * time.Second):
			t.Error("a press was missed")
		}
	}
	time.Sleep(1100 * time.Millisecond)
	if n := len(presses); n != 0 {
		t.Errorf("%d presses too many", n)
	}
	if err := d.Stop(); err != nil {
		t.Error(err)
	}
}
