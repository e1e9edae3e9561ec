package page

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// serve runs a page on a real connection with Watch beside it.
func serve(t *testing.T, b *bench) (*httptest.Server, func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); b.Watch(ctx) }()
	s := httptest.NewServer(b)
	return s, func() { cancel(); <-done; s.Close() }
}

// nextMessage reads events until one carries a sheet.
func nextMessage(t *testing.T, r *bufio.Reader) message {
	t.Helper()
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		if data, ok := strings.CutPrefix(line, "data: "); ok {
			var m message
			if err := json.Unmarshal([]byte(data), &m); err != nil {
				t.Fatal(err)
			}
			return m
		}
	}
}

func TestStreamSendsAllOnceThenWhatChanged(t *testing.T) {
	defer goleak.VerifyNone(t)
	b := newBench(t, nil)
	b.snap.Store(fixture(time.Hour))
	s, stop := serve(t, b)
	defer stop()
	res, err := http.Get(s.URL + "/events?units=both&station=0")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if got := res.Header.Get("Content-Type"); got != "text/event-stream" {
		t.Fatalf("content type %q", got)
	}
	r := bufio.NewReader(res.Body)
	b.pass(2 * time.Second)
	first := nextMessage(t, r)
	for _, id := range []string{"list", "title", "s0-head", "s0-alarms", "s0-drawing", "s0-parts", "s0-acts", "s0-trend"} {
		if _, ok := first.Regions[id]; !ok {
			t.Errorf("the first message lacks %s", id)
		}
	}
	if _, ok := first.Regions["s1-head"]; ok || !first.Live {
		t.Error("the first message has another station, or is not live")
	}
	next := fixture(time.Hour + time.Second)
	next.Stations[0].HeatOn = !b.snap.Load().Stations[0].HeatOn
	next.Stations[0].Probes = b.snap.Load().Stations[0].Probes
	b.snap.Store(next)
	b.pass(2 * time.Second)
	second := nextMessage(t, r)
	if _, ok := second.Regions["s0-head"]; !ok {
		t.Error("the heat changed and the head was not sent")
	}
	if _, ok := second.Regions["s0-parts"]; ok {
		t.Error("the probes did not change and were sent again")
	}
	b.pass(11 * time.Second)
	for i := 0; ; i++ {
		if m := nextMessage(t, r); !m.Live {
			break
		}
		if i > 3 {
			t.Fatal("the loop stands still and the stream says live")
		}
	}
}

func TestStreamsAreBounded(t *testing.T) {
	var s streams
	fresh := func() *stream { return &stream{box: make(chan []byte, 1), done: make(chan struct{})} }
	for i := range maxStreams {
		if !s.add(fresh()) {
			t.Fatalf("browser %d of %d was refused", i+1, maxStreams)
		}
	}
	if s.add(fresh()) {
		t.Error("one browser too many was taken")
	}
	s.close()
	if s.add(fresh()) || len(s.list()) != 0 {
		t.Error("a browser was taken after the end")
	}
}

// A browser that takes nothing never makes the page wait, and what it missed
// comes with the next message that it takes.
func TestSlowBrowserIsNotWaitedFor(t *testing.T) {
	b := newBench(t, nil).at(fixture(time.Hour))
	c := &stream{only: 0, box: make(chan []byte, 1), done: make(chan struct{}), sent: map[string]uint64{}}
	b.streams.add(c)
	b.tell()
	<-c.box
	b.at(tripped(time.Hour + time.Second))
	b.tell() // fills the box
	b.at(fixture(time.Hour + 2*time.Second))
	b.tell() // the box is full: dropped, not queued
	var m message
	if err := json.Unmarshal(<-c.box, &m); err != nil || !strings.Contains(m.Regions["s0-alarms"], "over the cutoff") {
		t.Fatalf("the alarm did not come: %v", err)
	}
	b.tell()
	if err := json.Unmarshal(<-c.box, &m); err != nil {
		t.Fatal(err)
	}
	if html, ok := m.Regions["s0-alarms"]; !ok || strings.Contains(html, "over the cutoff") {
		t.Error("the end of the alarm was lost with the dropped message")
	}
}

func TestStreamRefusesNonsense(t *testing.T) {
	b := newBench(t, nil).at(fixture(time.Hour))
	for _, q := range []string{"", "?units=K", "?units=C&station=99", "?units=C&station=-2", "?units=C&station=x"} {
		if code, _ := b.get(t, "/events"+q); code != http.StatusBadRequest {
			t.Errorf("/events%s: %d", q, code)
		}
	}
}

// The model in fast motion has a new trend at every look; a slow phone must
// not be sent all of them.
func TestTrendsAreSentWithPauses(t *testing.T) {
	b := newBench(t, nil)
	c := &stream{only: 0, box: make(chan []byte, 1), done: make(chan struct{}), sent: map[string]uint64{}}
	b.streams.add(c)
	trends := 0
	for i := range 40 {
		b.at(fixture(time.Duration(i) * 5 * time.Minute))
		b.pass(time.Second)
		b.tell()
		var m message
		if err := json.Unmarshal(<-c.box, &m); err != nil {
			t.Fatal(err)
		}
		if _, ok := m.Regions["s0-trend"]; ok {
			trends++
		}
		if _, ok := m.Regions["s0-drawing"]; !ok {
			t.Fatal("the drawing changed and was not sent")
		}
	}
	if trends != 8 {
		t.Errorf("%d trends in 40 s, want one in five seconds", trends)
	}
}

func BenchmarkRegions8Stations(b *testing.B) {
	p := New(Options{Latest: func() *loop.Snapshot { return fixture(7 * time.Hour) }, Zone: time.UTC})
	s := fixture(0)
	for len(s.Stations) < 8 {
		s.Stations = append(s.Stations, s.Stations[len(s.Stations)%2])
	}
	for i := range 420 {
		s.Now, s.Tick, s.Wall = time.Duration(i)*time.Minute, uint64(i), fixtureStart.Add(time.Duration(i)*time.Minute)
		p.pulse.tick = s.Tick + 1
		p.opt.Latest = func() *loop.Snapshot { return s }
		p.look()
	}
	bytes := 0
	for b.Loop() {
		regions, err := p.frame().regions(status.Both, func(int) bool { return true }, p.drawn)
		if err != nil {
			b.Fatal(err)
		}
		bytes = 0
		for _, r := range regions {
			bytes += len(r.html)
		}
	}
	b.ReportMetric(float64(bytes), "bytes")
}
