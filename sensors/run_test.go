package sensors_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"
	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// slowSource answers for one probe at 25 °C, with delays that a test can set.
type slowSource struct {
	mu                 sync.Mutex
	start, read        time.Duration
	each               bool
	blocked            chan struct{} // reads wait for it when it is not nil
	reads, busy, worst int
}

func (s *slowSource) String() string { return "slow" }

func (s *slowSource) enter() (start, read time.Duration, blocked chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.busy++
	s.worst = max(s.worst, s.busy)
	return s.start, s.read, s.blocked
}

func (s *slowSource) leave() {
	s.mu.Lock()
	s.busy--
	s.mu.Unlock()
}

func (s *slowSource) Start() (sensors.Conversion, error) {
	start, _, _ := s.enter()
	defer s.leave()
	time.Sleep(start)
	if s.each {
		return sensors.Conversion{EachRead: true}, nil
	}
	return sensors.Conversion{Wait: 750 * time.Millisecond}, nil
}

func (s *slowSource) Read(_ onewire.Address, pad *[9]byte) error {
	_, read, blocked := s.enter()
	defer s.leave()
	if blocked != nil {
		<-blocked
	}
	time.Sleep(read)
	s.mu.Lock()
	s.reads++
	s.mu.Unlock()
	*pad = [9]byte{0x90, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x10, 0x10, 0x92}
	return nil
}

func (s *slowSource) Search() ([]onewire.Address, error) {
	s.enter()
	defer s.leave()
	return nil, errors.New("search broke off")
}

func (s *slowSource) set(f func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f()
}

// running runs a bus of three probes in a bubble of synthetic time.
func running(t *testing.T, source sensors.Source, then func(*sensors.Bus)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var probes []sensors.Probe
		for _, rom := range roms[:3] {
			probes = append(probes, sensors.Probe{Address: address(t, rom)})
		}
		bus, err := sensors.NewBus(sensors.Options{
			Name: "north", Source: source, Probes: probes,
			Now: func() time.Duration { return time.Since(start) },
		})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- bus.Run(ctx) }()
		then(bus)
		cancel()
		if err := <-ended; !errors.Is(err, context.Canceled) {
			t.Errorf("Run ended with %v", err)
		}
		time.Sleep(2 * time.Hour) // a call that was given up comes back, and its goroutine ends
	})
}

// The bus's own limit at 12 bits is 750 ms and 11 to 17 ms a probe; a cycle may
// take 1.05 of it. Time here is that of the source alone, so this counts waits
// that are in the way, not the machine's speed.
func TestCycleKeepsTheBusesOwnLimit(t *testing.T) {
	const read = 17 * time.Millisecond
	running(t, &slowSource{read: read}, func(b *sensors.Bus) {
		if b.Name() != "north" || len(b.Probes()) != 3 {
			t.Errorf("%q with %d probes", b.Name(), len(b.Probes()))
		}
		time.Sleep(10*time.Second + 900*time.Millisecond)
		c := b.Latest()
		limit := 750*time.Millisecond + 3*read
		if c.Length() > limit+limit/20 || c.Length() < limit {
			t.Errorf("cycle took %v, the bus needs %v", c.Length(), limit)
		}
		if c.Seq != 11 || c.Started != 10*time.Second {
			t.Errorf("cycle %d started at %v: not one a second", c.Seq, c.Started)
		}
		for _, s := range c.Samples {
			if s.Reading.Quality != controller.Good || s.Reading.At != c.Started {
				t.Errorf("%+v", s.Reading)
			}
		}
		if inv := b.Inventory(); inv.Err == nil || len(inv.Missing) != 3 {
			t.Errorf("%+v", inv)
		}
	})
}

// Where each read converts, each reading has the moment at which it began.
func TestEachReadHasItsMoment(t *testing.T) {
	running(t, &slowSource{each: true, read: 770 * time.Millisecond}, func(b *sensors.Bus) {
		time.Sleep(8 * time.Second)
		c := b.Latest()
		for i, s := range c.Samples {
			if want := c.Started + time.Duration(i)*770*time.Millisecond; s.Reading.At != want {
				t.Errorf("probe %d at %v, want %v", i, s.Reading.At, want)
			}
		}
		if c.Length() != 3*770*time.Millisecond || c.Seq != 3 {
			t.Errorf("cycle %d took %v", c.Seq, c.Length())
		}
	})
}

// A source that hangs for a minute: the bus goes on publishing that it hangs,
// calls it no second time, and throws the late answer away.
func TestHungReadIsGivenUpAndItsLateAnswerThrownAway(t *testing.T) {
	source := &slowSource{}
	running(t, source, func(b *sensors.Bus) {
		time.Sleep(5 * time.Second)
		source.set(func() { source.blocked = make(chan struct{}) })
		time.Sleep(time.Minute)
		c := b.Latest()
		if c.Fault != sensors.BusHung || c.Err == nil {
			t.Errorf("%+v", c)
		}
		for _, s := range c.Samples {
			if s.Reading.Quality != controller.Bad || s.Reading.Flaw != controller.Stale || s.Raw != [9]byte{} {
				t.Errorf("%+v", s)
			}
		}
		if c.Seq < 50 {
			t.Errorf("%d cycles in 65 s: a hung source delays them", c.Seq)
		}
		source.set(func() {
			if source.worst != 1 || source.busy != 1 {
				t.Errorf("%d calls at once, %d now", source.worst, source.busy)
			}
			close(source.blocked)
			source.blocked = nil
		})
		time.Sleep(4 * time.Second)
		if c = b.Latest(); c.Fault != sensors.NoFault || c.Samples[0].Reading.Quality != controller.Good {
			t.Errorf("after it came back: %+v", c)
		}
	})
}

func TestHungStartIsGivenUp(t *testing.T) {
	source := &slowSource{start: time.Hour}
	running(t, source, func(b *sensors.Bus) {
		time.Sleep(10 * time.Second)
		if c := b.Latest(); c.Fault != sensors.BusHung || c.Seq < 5 {
			t.Errorf("%+v", c)
		}
	})
}

// A run told to stop in the middle of a cycle publishes no half of one.
func TestStoppedCycleIsNotPublished(t *testing.T) {
	running(t, &slowSource{}, func(b *sensors.Bus) {
		time.Sleep(3*time.Second + 100*time.Millisecond)
		if c := b.Latest(); c.Seq != 3 {
			t.Errorf("cycle %d", c.Seq)
		}
	})
	running(t, &slowSource{start: 500 * time.Millisecond}, func(b *sensors.Bus) {
		time.Sleep(100 * time.Millisecond)
		if c := b.Latest(); c.Seq != 0 {
			t.Errorf("cycle %d", c.Seq)
		}
	})
}

func TestRunRefuses(t *testing.T) {
	b := newBench(t, 29.5, plain(t, 1)...)
	if err := b.bus.Run(t.Context()); err == nil {
		t.Error("ran without a clock")
	}
	running(t, &slowSource{}, func(b *sensors.Bus) {
		time.Sleep(time.Second)
		if err := b.Run(context.Background()); err == nil || errors.Is(err, context.Canceled) {
			t.Errorf("ran twice: %v", err)
		}
	})
}

// Readers of Latest and Inventory need no lock while Run publishes, whatever
// the bus does; the race detector looks on.
func TestLatestIsSafeForOtherGoroutines(t *testing.T) {
	line := rig.NewOneWire("race", 1)
	var probes []sensors.Probe
	for _, s := range plain(t, 3) {
		p, err := rig.NewThermometer(s, 1)
		if err != nil {
			t.Fatal(err)
		}
		p.Feel(29.5, time.Second)
		line.Attach(p)
		probes = append(probes, sensors.Probe{Address: s.Address})
	}
	start := time.Now()
	bus, err := sensors.NewBus(sensors.Options{
		Name: "race", Source: instant{sensors.NewOneWire(line), line}, Probes: probes, Period: time.Microsecond,
		Rescan: time.Millisecond, Now: func() time.Duration { return time.Since(start) },
	})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var all sync.WaitGroup
	all.Go(func() { bus.Run(ctx) })
	for range 2 {
		all.Go(func() {
			var last uint64
			for last < 200 {
				c := bus.Latest()
				if c.Seq < last {
					t.Errorf("cycle %d after %d", c.Seq, last)
				}
				last = c.Seq
				for _, s := range c.Samples {
					if c.Seq > 2 && s.Reading.Quality != controller.Good {
						t.Errorf("%+v", s.Reading)
						return
					}
				}
				bus.Inventory()
				time.Sleep(10 * time.Microsecond)
			}
		})
	}
	all.Go(func() {
		for bus.Latest().Seq < 200 {
			time.Sleep(time.Millisecond)
		}
		cancel()
	})
	all.Wait()
}

// instant passes the bus's time instead of waiting.
type instant struct {
	*sensors.OneWire
	line *rig.OneWire
}

func (i instant) Start() (sensors.Conversion, error) {
	c, err := i.OneWire.Start()
	i.line.Wait(c.Wait)
	return sensors.Conversion{}, err
}

// broken panics when it is read.
type broken struct{ slowSource }

func (*broken) Read(onewire.Address, *[9]byte) error { panic("source") }

// A panic of a source comes out of Run, whose caller can see to the relays. In
// a goroutine of its own it would end the program with the heat as it was.
func TestPanicOfASourceComesOutOfRun(t *testing.T) {
	defer goleak.VerifyNone(t)
	began := time.Now()
	b, err := sensors.NewBus(sensors.Options{
		Name: "broken", Source: &broken{slowSource{each: true}}, Probes: []sensors.Probe{{Address: 0x1000000000000028}},
		Now: func() time.Duration { return time.Since(began) },
	})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if v := recover(); v != "source" {
			t.Errorf("recovered %v", v)
		}
	}()
	t.Errorf("Run ended with %v", b.Run(t.Context()))
}
