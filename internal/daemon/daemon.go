package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/casebook"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
	"soakwarden/internal/relay"
	"soakwarden/internal/treat"
	"soakwarden/sensors"
)

// patience is how long Stop waits for parts before it goes on without them.
const patience = 5 * time.Second

// Options is what a Daemon is made of.
type Options struct {
	File    string // the configuration
	Text    []byte // instead of File: the configuration itself
	State   string // instead of the configuration's state folder
	Listen  string // instead of the configuration's address of the page
	Journal string // instead of the configuration's journal; "none" keeps it in memory
	Socket  string // instead of the configuration's; without it the model has none
	Version string
	Log     *slog.Logger // nil: silent
	Parts   Parts

	chosen bool // State was given, and not found in the configuration
}

// Daemon is one running program. Use New, then Run, or Start and Stop.
type Daemon struct {
	o     Options
	log   *slog.Logger
	clock Clock
	down  teardown
	gate  gate

	ctx    context.Context
	cancel context.CancelFunc
	busy   sync.WaitGroup
	ended  chan struct{} // closed when the daemon must end
	end    sync.Once
	why    error // set before ended is closed; nil for an orderly end

	cfg      *config.Config
	bank     *relay.Bank
	bench    Bench
	loop     *loop.Loop
	desk     *treat.Desk
	book     *casebook.Book
	released *casebook.Releases
	kept     map[string][]byte // every state that the record kept
	record   journal.Recorder
	proven   bool // the latch store was read and a write to it read back
	life     *life
	unclean  bool
	notifier *notify.Notifier
	pulse    *notify.Pulse
	dog      *watchdog
	boss     supervisor
	beat     *beat
	lamp     signal
	buzzer   signal
	mute     bool // the buzzer could not be written in the last tick
	orderly  bool // the stop was asked for
	stuck    bool // a part still runs after Stop waited for it
	ill      bool // a relay could not be written in the last tick

	recordProblem string // what a person should know of the record since the start
	aside         bool   // the record before this start was damaged
	forgotten     bool   // a damaged record lies beside: what it knew is not known
	lost          uint64 // entries that had been lost by the last tick
	lostAt        time.Duration

	buzzerOfLoop gpio.PinOut    // the loop's hand on the buzzer
	running      []*sensors.Bus // that run by themselves
	recent       atomic.Uint32  // unclean starts within the last hour

	latest    atomic.Pointer[loop.Snapshot]
	underway  atomic.Uint64 // number of the tick that is being run; 0 between ticks
	supplyLow atomic.Bool
	overdue   atomic.Bool // something in a case is overdue past a low alarm
	address   atomic.Pointer[net.TCPAddr]
	told      map[alarmKey]loop.AlarmView
	lines     map[string]string // station → key of its latch in the store
	missed    uint64
	saved     time.Duration
}

// New makes a Daemon. It touches nothing.
func New(o Options) *Daemon {
	d := &Daemon{
		o: o, log: o.Log, clock: o.Parts.Clock,
		ended: make(chan struct{}), told: map[alarmKey]loop.AlarmView{}, lines: map[string]string{},
	}
	if d.log == nil {
		d.log = slog.New(slog.DiscardHandler)
	}
	if d.clock == nil {
		d.clock = NewClock()
	}
	if d.o.Parts.Speed <= 0 {
		d.o.Parts.Speed = 1
	}
	d.down.log = d.log
	return d
}

// Run starts the daemon, waits until ctx ends or it must end by itself, and
// stops it. The error is nil only when it was ctx or a person that ended it and
// every relay was driven off.
func (d *Daemon) Run(ctx context.Context) error {
	if err := d.Start(ctx); err != nil {
		return err
	}
	select {
	case <-ctx.Done():
	case <-d.ended:
	}
	return d.Stop()
}

// Start brings every part up, or none: on an error everything that was started
// is stopped and the relays are off. A *relay.HeldError means that another
// daemon runs and that nothing was touched.
func (d *Daemon) Start(ctx context.Context) (err error) {
	d.ctx, d.cancel = context.WithCancel(context.WithoutCancel(ctx))
	d.boss = newSupervisor()
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic while starting: %v\n%s", v, debug.Stack())
		}
		if err != nil {
			err = errors.Join(err, d.Stop())
		}
	}()
	for _, s := range []struct {
		name string
		do   func() error
	}{
		{"lock and remembered lines", d.takeLines},
		{"configuration", d.configure},
		{"relays", d.openBench},
		{"journal", d.openJournal},
		{"plan", d.plan},
		{"cases", d.openCases},
		{"buses", d.startBuses},
		{"notifications", d.startNotify},
		{"watchdogs", d.startWatchdogs},
		{"tick", d.startTicks},
		{"socket and page", d.listen},
	} {
		started := time.Now()
		if err := s.do(); err != nil {
			return fmt.Errorf("start %s: %w", s.name, err)
		}
		d.log.Debug("started", "part", s.name, "took", time.Since(started))
	}
	if err := d.boss.send(supervisorReady); err != nil {
		d.log.Warn("service manager", "error", err)
	}
	d.log.Info("running", "bench", d.cfg.Name, "stations", len(d.cfg.Stations), "unclean_start", d.unclean)
	return nil
}

// Stop opens every relay first and then stops every part. It may be called
// once.
func (d *Daemon) Stop() error {
	d.finish(nil)
	d.orderly = d.why == nil
	off := d.gate.drop()
	_ = d.boss.send(supervisorStopping)
	d.cancel()
	quiet := make(chan struct{})
	go func() { d.busy.Wait(); close(quiet) }()
	timer := time.NewTimer(patience)
	defer timer.Stop()
	select {
	case <-quiet:
	case <-timer.C:
		d.orderly, d.stuck = false, true
		off = append(off, fmt.Errorf("a part did not stop within %v", patience))
	}
	return errors.Join(d.why, errors.Join(append(off, d.down.run())...))
}

// finish asks the daemon to end. Only the first reason counts.
func (d *Daemon) finish(why error) {
	d.end.Do(func() {
		d.why = why
		close(d.ended)
	})
}

// spawn runs a part in its own goroutine. A panic there drops the relays before
// anything else and ends the daemon.
func (d *Daemon) spawn(name string, part func(ctx context.Context)) {
	d.busy.Go(func() {
		defer d.rescue(name)
		part(d.ctx)
	})
}

// rescue is deferred wherever code of the daemon runs.
func (d *Daemon) rescue(name string) {
	if v := recover(); v != nil {
		d.panicked(name, v)
	}
}

// panicked drops the relays before anything else and ends the daemon.
func (d *Daemon) panicked(name string, v any) {
	off := d.gate.drop()
	d.log.Error("panic: every relay was driven off", "part", name, "panic", v, "not_off", errors.Join(off...), "stack", string(debug.Stack()))
	d.finish(fmt.Errorf("panic in %s: %v", name, v))
}

// Latest is the snapshot of the last tick, nil before the first.
func (d *Daemon) Latest() *loop.Snapshot { return d.latest.Load() }

// Address is where the page listens, empty while it does not.
func (d *Daemon) Address() string {
	if a := d.address.Load(); a != nil {
		return a.String()
	}
	return ""
}

// errBusy is the answer when too many acts wait.
var errBusy = errors.New("too many acts wait for the next tick: try again in a moment")

// Act hands a person's act to the next tick and waits for its answer.
func (d *Daemon) Act(r loop.ActRequest) (loop.Answer, error) {
	answer, ok := d.loop.Submit(r)
	if !ok {
		return loop.Answer{}, errBusy
	}
	timer := time.NewTimer(5 * time.Second)
	defer timer.Stop()
	select {
	case a := <-answer:
		return a, nil
	case <-d.ended:
		return loop.Answer{}, errors.New("the program is ending")
	case <-timer.C:
		return loop.Answer{}, errors.New("no tick took the act within 5 s")
	}
}

// Done is closed when the daemon must end by itself; Stop then says why.
func (d *Daemon) Done() <-chan struct{} { return d.ended }
