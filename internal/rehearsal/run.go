package rehearsal

import (
	"errors"
	"io"
	"sync"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/plan"
	"soakwarden/internal/sizing"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

// Lengths of a program's life on a board, as the service unit and a small
// board have them: common practice, no published source.
const (
	stopPost    = 1 * time.Second  // after a death the service manager runs off
	restartWait = 10 * time.Second // and starts the program again
	bootTime    = 30 * time.Second // after the mains return
	watchdog    = 30 * time.Second // the service watchdog ends a program that stands still
	saveEvery   = 5 * time.Minute  // state without anything urgent
)

// epoch is the wall clock at the start of every rehearsal: an invented day.
var epoch = time.Date(2025, time.November, 3, 18, 0, 0, 0, time.UTC)

// core is the name of the core, which takes a while to find out.
var core = sync.OnceValue(controller.Core)

// wallAt is the wall clock of a moment.
func wallAt(now time.Duration) time.Time {
	return time.Unix(epochSeconds+int64(now/time.Second), int64(now%time.Second)).UTC()
}

var epochSeconds = epoch.Unix()

// Options say what a run hands out on its way. The zero value hands out nothing.
type Options struct {
	Narrate  io.Writer           // the story, a line for each thing that happens
	Sample   func(*Sample) error // called at every Every with what curves need
	Every    time.Duration       // of Sample; 60 s when zero
	Progress func(done, all time.Duration)
	Recorder journal.Recorder   // what the run is recorded into; a Memory without ticks when nil
	Wire     func(*rig.Wiring)  // changes the bench before it is built
	Observe  func(*loop.Result) // sees every tick
	// Sized keeps the settings that were computed, by station, for runs that
	// share a configuration; nil keeps them for this run's restarts only.
	Sized *Sized
}

// Run is one scenario on its way. Use Scenario.Run unless the bench must be
// driven step by step, as the demo does.
type Run struct {
	scenario *Scenario
	options  Options
	bench    *rig.Bench
	buses    []*sensors.Bus
	record   journal.Recorder
	loop     *loop.Loop
	keeper   *Keeper
	watcher  *watcher
	narrator *narrator
	treated  *treated

	startedAt time.Duration // of the program that lives now
	downUntil time.Duration // no program before
	offAt     time.Duration // when the stop-post drives the relays off; 0 for never
	kills     int
	wasOn     bool
	unclean   bool
	starts    []time.Duration // of unclean starts
	missed    uint64
	health    loop.Health // as the program was told last
	saved     map[string][]byte
	lastSave  time.Duration
	wallShift time.Duration
	last      *loop.Result // of the program that lives now, nil while none does
}

// NewRun builds the bench of a scenario and starts the program on it.
func (s *Scenario) NewRun(o Options) (*Run, error) {
	if o.Wire == nil && s.Drawn != nil {
		o.Wire = s.Drawn.Wire
	}
	bench, buses, err := s.Stage(o.Wire)
	if err != nil {
		return nil, err
	}
	r := &Run{scenario: s, options: o, bench: bench, buses: buses, record: o.Recorder, saved: map[string][]byte{}, wasOn: true}
	if r.record == nil {
		r.record = journal.NewMemory(journal.Options{NoTicks: true, Alone: true})
	}
	if r.options.Sized == nil {
		r.options.Sized = &Sized{}
	}
	if r.options.Every <= 0 {
		r.options.Every = time.Minute
	}
	r.narrator = &narrator{out: o.Narrate, config: s.Config}
	r.keeper = &Keeper{
		Config: s.Config, Bench: bench, Events: s.Events,
		Say: func(now time.Duration, station, text string) { r.narrator.say(now, station, "%s", text) },
		Submit: func(a loop.ActRequest) bool {
			if r.loop == nil {
				return false
			}
			_, ok := r.loop.Submit(a)
			return ok
		},
	}
	r.watcher = newWatcher(r)
	r.treated = newTreated(r)
	return r, r.start(0)
}

// Run rehearses the whole scenario.
func (s *Scenario) Run(o Options) (*Outcome, error) {
	r, err := s.NewRun(o)
	if err != nil {
		return nil, err
	}
	began := time.Now()
	for r.bench.Now() < s.Duration {
		if err := r.Step(); err != nil {
			return nil, err
		}
		if o.Progress != nil && r.bench.Now()%time.Hour == 0 {
			o.Progress(r.bench.Now(), s.Duration)
		}
	}
	out := r.Outcome()
	r.treated.tell(out)
	out.WallSeconds = time.Since(began).Seconds()
	return out, nil
}

// start begins a life of the program.
func (r *Run) start(now time.Duration) error {
	parts := plan.Parts{Saved: r.saved, Version: "rehearsal", Wall: epoch, Settings: r.settings, Input: r.treated.input}
	if err := r.treated.open(&parts); err != nil {
		return err
	}
	for _, p := range r.bench.Pins() {
		parts.Pins = append(parts.Pins, p)
	}
	for _, b := range r.buses {
		parts.Buses = append(parts.Buses, b)
	}
	p, err := plan.Build(r.scenario.Config, parts)
	if err != nil {
		return err
	}
	l, err := loop.New(p)
	if err != nil && !errors.Is(err, loop.ErrNotOff) {
		return err
	}
	if err != nil {
		// A line that takes no value: the program cannot start and tries again.
		r.narrator.say(now, "", "the program does not start: %v", err)
		r.downUntil = now + restartWait
		return nil
	}
	r.loop, r.startedAt, r.lastSave = l, now, now
	if m, ok := r.record.(*journal.Memory); ok && now > 0 {
		m.Again("start after an unclean stop")
	}
	for i := range p.Stations {
		r.record.Settings(p.Stations[i].Name, core(), p.Stations[i].Settings)
		r.record.Restored(p.Stations[i].Name, p.Stations[i].Saved)
	}
	if r.unclean {
		r.starts = append(r.starts, now)
	}
	r.narrator.say(now, "", "the program starts")
	return nil
}

// die ends the program's life at once: relays keep their level.
func (r *Run) die(now, down time.Duration, why string) {
	r.loop, r.last, r.unclean = nil, nil, true
	r.downUntil = now + down
	r.narrator.say(now, "", "%s", why)
}

// Sized keeps what the settings of stations were sized to.
type Sized struct {
	mu   sync.Mutex
	kept map[int]controller.Settings
}

// settings sizes a station once.
func (r *Run) settings(cfg *config.Config, i int) (controller.Settings, error) {
	k := r.options.Sized
	k.mu.Lock()
	defer k.mu.Unlock()
	if s, ok := k.kept[i]; ok {
		return s, nil
	}
	s, err := sizing.Settings(cfg, i)
	if err == nil {
		if k.kept == nil {
			k.kept = map[int]controller.Settings{}
		}
		k.kept[i] = s
	}
	return s, err
}

// Step advances bench and program by a second.
func (r *Run) Step() error {
	r.bench.Step()
	now := r.bench.Now()
	board := r.bench.Board()
	if !board.Powered || !r.wasOn || board.Kills != r.kills || now < board.PausedUntil || r.offAt != 0 {
		r.follow(now, board)
	}
	r.keeper.Step(now)
	if len(r.treated.all) > 0 {
		r.treated.keep(now)
	}
	if r.loop == nil && board.Powered && now >= r.downUntil {
		if err := r.start(now); err != nil {
			return err
		}
	}
	if r.loop != nil && now < board.PausedUntil {
		r.missed++
	} else if r.loop != nil {
		r.tick(now, board)
	}
	if board.Powered {
		for _, b := range r.buses {
			b.RunCycle(now - r.startedAt)
		}
	}
	r.watcher.step(now)
	if len(r.treated.all) > 0 {
		r.treated.step(now)
	}
	if r.options.Sample != nil && now%r.options.Every == 0 {
		return r.options.Sample(r.sample(now, r.last))
	}
	return nil
}

// follow lets the board's fate befall the program.
func (r *Run) follow(now time.Duration, board *rig.Board) {
	switch {
	case r.wasOn && !board.Powered:
		r.die(now, 0, "the board loses its power")
		r.offAt = 0
	case !r.wasOn && board.Powered:
		r.downUntil = now + bootTime
		r.narrator.say(now, "", "the power returns")
	case board.Kills > r.kills && r.loop != nil:
		r.die(now, restartWait, "the program is killed")
		r.offAt = now + stopPost
	case r.loop != nil && now < board.PausedUntil && board.PausedUntil-now > watchdog && r.missed > 0 && r.stood(now) >= watchdog:
		r.die(now, restartWait, "the watchdog ends the program, which stands still")
		r.offAt = now + stopPost
	}
	r.kills, r.wasOn = board.Kills, board.Powered
	if r.offAt != 0 && now >= r.offAt {
		r.offAt = 0
		for _, p := range r.bench.Pins() {
			// A line that takes no value stays as it is; the judges see it.
			_ = p.Out(gpio.Low)
		}
	}
}

// stood is how long no tick was run.
func (r *Run) stood(now time.Duration) time.Duration { return now - r.watcher.lastTick }

// tick runs one tick of the living program and keeps what must outlive it.
//
//go:noinline
func (r *Run) tick(now time.Duration, board *rig.Board) {
	h := &r.health
	h.StoreProven, h.Unclean, h.Missed = !board.CardFailing, r.unclean, r.missed
	h.JournalFailing, h.CardNearlyFull = board.CardFailing || board.CardFull, board.CardFull
	h.ClockStepped = board.WallOffset != r.wallShift
	h.LateBy, h.Restarts = 0, 0
	if r.watcher.lastTick > r.startedAt {
		h.LateBy = max(r.stood(now)-time.Second, 0)
	}
	if len(r.starts) > 0 {
		h.Restarts = r.restarts(now)
	}
	r.wallShift = board.WallOffset
	res := r.loop.Tick(now-r.startedAt, wallAt(now+board.WallOffset), r.scenario.Trusted, h)
	r.last = res
	r.record.Tick(res)
	if r.options.Observe != nil {
		r.options.Observe(res)
	}
	r.watcher.tick(now, res)
	if !res.Quiet {
		r.keeper.Hear(res)
		r.narrator.tick(now, res)
	}
	if (res.Urgent || now-r.lastSave >= saveEvery) && !board.CardFailing {
		r.lastSave = now
		r.loop.Save(func(station string, state []byte) { r.saved[station] = state })
	}
}

// restarts counts unclean starts in the last hour, this life's included.
func (r *Run) restarts(now time.Duration) uint8 {
	n := 0
	for _, at := range r.starts {
		if now-at < time.Hour {
			n++
		}
	}
	return uint8(min(n, 255))
}

// Bench is the world of this run.
func (r *Run) Bench() *rig.Bench { return r.bench }

// Loop is the program that lives now; nil while none does.
func (r *Run) Loop() *loop.Loop { return r.loop }
