package notify

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// wire is a network whose answers a test chooses; it lives in fake time.
type wire struct {
	answer func(try int, m Message) (status int, err error)
	tries  int
	got    []Message
	at     []time.Time
}

func (w *wire) RoundTrip(r *http.Request) (*http.Response, error) {
	var m Message
	if r.Body != nil {
		if err := json.NewDecoder(r.Body).Decode(&m); err != nil {
			return nil, err
		}
	}
	w.tries++
	code, err := 200, error(nil)
	if w.answer != nil {
		code, err = w.answer(w.tries, m)
	}
	if err == nil && code == 0 { // hangs
		<-r.Context().Done()
		err = r.Context().Err()
	}
	if err != nil {
		return nil, err
	}
	if code == 200 {
		w.got, w.at = append(w.got, m), append(w.at, time.Now())
	}
	return &http.Response{StatusCode: code, Status: http.StatusText(code), Body: io.NopCloser(strings.NewReader(""))}, nil
}

// bench runs a Notifier in fake time until story returns.
func bench(t *testing.T, w *wire, o Options, story func(n *Notifier)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		o.Bench, o.Transport = "bench", w
		if o.Targets == nil {
			o.Targets = []Target{{Name: "keeper", URL: "https://example.org/hook"}}
		}
		n := New(o)
		ctx, cancel := context.WithCancel(t.Context())
		stopped := make(chan struct{})
		go func() { n.Run(ctx); close(stopped) }()
		story(n)
		cancel()
		<-stopped
	})
}

func raised(station string, c controller.Cause, s controller.Severity) Alarm {
	return Alarm{Station: station, Cause: c, State: alarm.Unacknowledged, Severity: s, At: time.Unix(0, 0), Trusted: true}
}

type receipt struct {
	done chan struct{}
	err  error
}

func (r *receipt) Done() <-chan struct{} { return r.done }
func (r *receipt) Err() error            { return r.err }

func TestATripWaitsForTheDiskAtMostTwoSeconds(t *testing.T) {
	for _, c := range []struct {
		name   string
		after  time.Duration // when the receipt comes; never when zero
		err    error
		want   time.Duration
		onDisk bool
	}{
		{"synced at once", time.Nanosecond, nil, time.Nanosecond, true},
		{"synced late", 1500 * time.Millisecond, nil, 1500 * time.Millisecond, true},
		{"never synced", 0, nil, 2 * time.Second, false},
		{"could not be synced", time.Second, errors.New("card full"), time.Second, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := &wire{}
			bench(t, w, Options{}, func(n *Notifier) {
				r := &receipt{make(chan struct{}), c.err}
				a := raised("north", controller.OverCutoff, controller.Trip)
				a.Receipt = r
				start := time.Now()
				n.Tell(a)
				if c.after > 0 {
					time.AfterFunc(c.after, func() { close(r.done) })
				}
				time.Sleep(10 * time.Second)
				synctest.Wait()
				if len(w.got) != 1 || w.at[0].Sub(start) != c.want || w.got[0].OnDisk != c.onDisk {
					t.Fatalf("sent %d, at %v, on disk %v", len(w.got), w.at, w.got)
				}
				if marked := strings.Contains(w.got[0].Text, "Not yet on disk"); marked == c.onDisk {
					t.Errorf("text: %s", w.got[0].Text)
				}
			})
		})
	}
}

func TestRetriesWithGrowingPausesAndSendsTheNewest(t *testing.T) {
	w := &wire{answer: func(try int, _ Message) (int, error) {
		if try <= 12 {
			return 0, errors.New("no route")
		}
		return 200, nil
	}}
	bench(t, w, Options{}, func(n *Notifier) {
		start := time.Now()
		n.Tell(raised("north", controller.TooCold, controller.Warning))
		time.Sleep(10 * time.Minute)
		a := raised("north", controller.TooCold, controller.Warning)
		a.State = alarm.Returned
		n.Tell(a)
		time.Sleep(3 * time.Hour)
		synctest.Wait()
		// 1, 2, 4 … 256 s, then 5 min each: 511 s and 3 more pauses.
		if want := 511*time.Second + 3*5*time.Minute; len(w.got) != 1 || w.at[0].Sub(start) != want {
			t.Errorf("sent %d after %v, want one after %v", len(w.got), w.at, want)
		}
		if !strings.HasPrefix(w.got[0].Text, "Over: north, too cold") {
			t.Errorf("an old state was sent: %s", w.got[0].Text)
		}
		if s := n.Stats()[0]; s.Sent != 1 || s.Failed != 12 || s.Waiting != 0 || s.Problem != "" {
			t.Errorf("%+v", s)
		}
	})
}

func TestARefusedMessageKeepsNoFreshOneWaiting(t *testing.T) {
	w := &wire{answer: func(_ int, m Message) (int, error) {
		if m.Station == "poison" {
			return 400, nil
		}
		return 200, nil
	}}
	bench(t, w, Options{}, func(n *Notifier) {
		n.Tell(raised("poison", controller.OverCutoff, controller.Trip))
		time.Sleep(time.Minute)
		n.Tell(raised("south", controller.TooCold, controller.Warning))
		time.Sleep(5 * time.Minute)
		synctest.Wait()
		if len(w.got) != 1 || w.got[0].Station != "south" {
			t.Errorf("got %v", w.got)
		}
	})
}

func TestOverflowGivesUpTheLeastSevereOldest(t *testing.T) {
	w := &wire{answer: func(int, Message) (int, error) { return 0, errors.New("no route") }}
	bench(t, w, Options{}, func(n *Notifier) {
		n.Tell(raised("first", controller.OverCutoff, controller.Trip))
		n.Tell(raised("oldest", controller.TooCold, controller.Warning))
		for i := range queueMost {
			n.Tell(raised("s"+string(rune(0x4e00+i)), controller.TooCold, controller.Warning))
		}
		synctest.Wait()
		l := n.lanes[0]
		l.mu.Lock()
		defer l.mu.Unlock()
		if len(l.items) != queueMost || l.count.Dropped != 2 {
			t.Errorf("%d wait, %d given up", len(l.items), l.count.Dropped)
		}
		if l.items[key{"first", controller.OverCutoff, ""}] == nil {
			t.Error("the trip was given up")
		}
		if l.items[key{"oldest", controller.TooCold, ""}] != nil {
			t.Error("the oldest warning was kept")
		}
	})
}

func TestClimbsOnlyWhenNobodyAnswers(t *testing.T) {
	w := &wire{}
	o := Options{Targets: []Target{{Name: "sitter", URL: "https://example.org/x", After: 10 * time.Minute, Least: controller.HeatOff}}, Repeat: time.Hour}
	bench(t, w, o, func(n *Notifier) {
		start := time.Now()
		answered := raised("north", controller.NoRise, controller.HeatOff)
		n.Tell(answered)
		n.Tell(raised("south", controller.ProbeSilent, controller.HeatOff))
		n.Tell(raised("west", controller.TooCold, controller.Warning)) // not severe enough
		time.Sleep(5 * time.Minute)
		answered.State = alarm.Acknowledged
		n.Tell(answered)
		time.Sleep(2*time.Hour + 6*time.Minute)
		synctest.Wait()
		var when []time.Duration
		for _, at := range w.at {
			when = append(when, at.Sub(start))
		}
		if len(w.got) != 3 || when[0] != 10*time.Minute || when[1] != 70*time.Minute || w.got[0].Station != "south" {
			t.Fatalf("sent %v at %v", w.got, when)
		}
		if !strings.Contains(w.got[2].Text, "said 2 times before") {
			t.Errorf("text: %s", w.got[2].Text)
		}
		// Answered now: that is said once, and then it is quiet.
		a := raised("south", controller.ProbeSilent, controller.HeatOff)
		a.State = alarm.Acknowledged
		n.Tell(a)
		time.Sleep(5 * time.Hour)
		a.State = alarm.Normal
		n.Tell(a)
		time.Sleep(5 * time.Hour)
		synctest.Wait()
		if len(w.got) != 5 || !strings.HasPrefix(w.got[3].Text, "Answered:") || !strings.HasPrefix(w.got[4].Text, "Over:") {
			t.Errorf("afterwards: %v", w.got[3:])
		}
		if l := n.lanes[0]; len(l.items) != 0 {
			t.Errorf("%d alarms are remembered for nothing", len(l.items))
		}
	})
}

func TestPulseStopsWithTheTicks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := &wire{answer: func(try int, _ Message) (int, error) {
			if try == 3 {
				return 500, nil
			}
			return 200, nil
		}}
		p := NewPulse("https://example.org/beat", time.Minute, w, nil)
		ctx, cancel := context.WithCancel(t.Context())
		stopped := make(chan struct{})
		go func() { p.Run(ctx); close(stopped) }()
		time.Sleep(time.Hour)
		if w.tries != 0 {
			t.Errorf("%d beats before the first good tick", w.tries)
		}
		for range 300 {
			p.Good()
			time.Sleep(time.Second)
		}
		// Minutes 0, 1, 2 (fails, again a second later), 3, 4.
		if sent, failed := p.Counts(); sent != 5 || failed != 1 {
			t.Errorf("%d beats and %d failures in 5 min", sent, failed)
		}
		time.Sleep(time.Hour)
		if sent, _ := p.Counts(); sent > 6 {
			t.Errorf("%d beats: the ticks had stopped", sent)
		}
		cancel()
		<-stopped
	})
}
