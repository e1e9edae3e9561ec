package loop

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/controller/pairing"
	"soakwarden/sensors"
)

// actQueue bounds the acts that wait for a tick. One that does not fit is
// refused at once, so that nobody believes it was taken.
const actQueue = 64

// Health is what the caller knows of the program this tick; the loop adds what
// it knows of each station.
type Health struct {
	LateBy         time.Duration
	Missed         uint64 // ticks that were not run since the start
	StoreProven    bool
	Unclean        bool
	Restarts       uint8
	ClockStepped   bool
	JournalFailing bool
	CardNearlyFull bool
	SupplyLow      bool
}

// ErrNotOff is wrapped by New and AllOff when a relay cannot be switched off.
var ErrNotOff = errors.New("a relay cannot be switched off")

// Loop runs the bench. It is not safe for concurrent use, apart from Submit.
type Loop struct {
	plan     Plan
	stations []*station
	driven   []*station // those that a treatment can drive
	relays   []relayState
	first    []*sensors.Sample // of each bus's last cycle, nil when it had none
	acts     chan pending
	handed   atomic.Int32 // acts that are on their way or wait there
	acted    bool         // the last tick carried some
	result   Result
	settled  bool // every relay was written as the last demands want it
	tick     uint64
	health   Health // as the stations were told
	pairs    pairing.Bench
	seen     []pairing.Station
	turns    []pairing.Verdict
}

// station is one station with what its Step needs.
type station struct {
	plan       *StationPlan
	core       *controller.Station
	input      controller.Input
	output     *controller.Output
	slots      []slot
	acts       []ActRequest
	waiting    []pending
	pad        *relayState // nil when it is not wired, as those that follow
	series     *relayState
	fan        *relayState
	buzzer     *relayState
	padSeen    Feedback // nil when there is none
	seriesSeen Feedback
	looks      bool // there is feedback, a door or an airflow switch
	heats      bool // the last command let current through
	unwritten  bool // a relay of this station could not be written in the last tick
	drive      Drive
	asked      demand
	shown      *StationResult
}

// demand is what a station wants of its relays. The zero value is all off.
type demand struct {
	controller.Command
	openShared bool
	warns      bool // its driver wants the buzzer
}

// slot is a probe, its sample in the last cycle, and where the reading goes.
type slot struct {
	bus     int
	address onewire.Address
	index   int // in the samples, where it stood last time
	sample  *sensors.Sample
	reading *controller.Reading
}

// What stands for the sample of a probe that has none: before a bus's first
// cycle it is unknown, and outside a cycle it does not exist.
var (
	unknown = &sensors.Sample{}
	missing = &sensors.Sample{Reading: controller.Reading{Quality: controller.Bad, Flaw: controller.Absent}}
)

type relayState struct {
	series   []*station // those it stands in series with
	users    []*station // those it is the pad, the series or the fan relay of
	isSeries bool       // there are some
	pin      gpio.PinOut
	turn     uint8 // when it is written, in a tick that switches something
	want     bool
	on       bool
	written  bool
	cycles   uint64
}

// pending is an act on its way, with where its answer goes.
type pending struct {
	request ActRequest
	answer  chan Answer
	number  uint32
}

// New builds a loop. Every relay of the plan is driven off before it returns;
// the error names each one that could not be.
func New(plan Plan) (*Loop, error) {
	if err := plan.check(); err != nil {
		return nil, err
	}
	l := &Loop{plan: plan, acts: make(chan pending, actQueue), relays: make([]relayState, len(plan.Relays))}
	l.first = make([]*sensors.Sample, len(plan.Buses))
	for i := range plan.Relays {
		l.relays[i].pin = plan.Relays[i].Pin
	}
	if err := l.AllOff(); err != nil {
		return nil, err
	}
	for i := range l.plan.Stations {
		sp := &l.plan.Stations[i]
		core, err := controller.New(sp.Settings)
		if err != nil {
			return nil, fmt.Errorf("station %s: %w", sp.Name, err)
		}
		// A state that cannot be read leaves the station latched: the core sees
		// to that, and the keeper is told by its alarm. nil is a first start.
		_ = core.Restore(sp.Saved)
		s := &station{plan: sp, core: core, slots: make([]slot, len(sp.Probes))}
		s.input.Readings = make([]controller.Reading, len(sp.Probes))
		for i, p := range sp.Probes {
			s.slots[i] = slot{bus: p.Bus, address: p.Address, sample: unknown, reading: &s.input.Readings[i]}
		}
		s.output = &controller.Output{Governing: -1}
		l.stations = append(l.stations, s)
		if sp.Treat != nil {
			l.driven = append(l.driven, s)
		}
		l.wire(s)
	}
	l.seen = make([]pairing.Station, len(l.stations))
	l.turns = make([]pairing.Verdict, len(l.stations))
	l.result.Stations = make([]StationResult, len(l.stations))
	for i, s := range l.stations {
		l.result.Stations[i] = StationResult{Name: s.plan.Name, Input: &s.input}
		s.shown = &l.result.Stations[i]
	}
	l.result.Relays = make([]RelayChange, 0, len(plan.Relays))
	return l, nil
}

// wire joins a station with its relays and their feedback.
func (l *Loop) wire(s *station) {
	relay := func(i int) *relayState {
		if i == NoRelay {
			return nil
		}
		return &l.relays[i]
	}
	s.pad, s.series, s.fan, s.buzzer = relay(s.plan.Pad), relay(s.plan.Series), relay(s.plan.Fan), relay(s.plan.Buzzer)
	for _, r := range []*relayState{s.pad, s.series, s.fan} {
		if r != nil {
			r.users = append(r.users, s)
		}
	}
	if s.pad != nil {
		s.padSeen = l.plan.Relays[s.plan.Pad].Seen
	}
	if s.series != nil {
		s.series.isSeries = true
		s.series.series = append(s.series.series, s)
		s.seriesSeen = l.plan.Relays[s.plan.Series].Seen
	}
	s.looks = s.padSeen != nil || s.seriesSeen != nil || s.plan.Door != nil || s.plan.Airflow != nil
	// A bench of one station has nobody to wait for.
	s.input.Health.Permit = len(l.plan.Stations) == 1
}

// AllOff drives every relay off, whatever the stations decided. It tries all of
// them and returns the first failure.
func (l *Loop) AllOff() error {
	var first error
	l.settled = false
	for i := range l.plan.Relays {
		l.relays[i].want = false
		if err := l.plan.Relays[i].Pin.Out(gpio.Low); err != nil {
			l.relays[i].written = false
			if first == nil {
				first = fmt.Errorf("%w: %s: %w", ErrNotOff, l.plan.Relays[i].Name, err)
			}
			continue
		}
		l.relays[i].on, l.relays[i].written = false, true
	}
	return first
}

// Submit hands a person's act to the next tick. The answer comes from that
// tick; ok is false when too many acts wait.
func (l *Loop) Submit(r ActRequest) (answer <-chan Answer, ok bool) {
	p := pending{request: r, answer: make(chan Answer, 1)}
	l.handed.Add(1)
	select {
	case l.acts <- p:
		return p.answer, true
	default:
		l.handed.Add(-1)
		return nil, false
	}
}

// Tick runs one tick. now must not run backward. The Result is valid until the
// next Tick.
//
//go:noinline
func (l *Loop) Tick(now time.Duration, wall time.Time, trusted bool, health *Health) *Result {
	l.tick++
	r := &l.result
	r.Now, r.Wall, r.Trusted, r.Urgent = now, wall, trusted, false
	r.Relays = r.Relays[:0]

	if l.acted || l.handed.Load() > 0 {
		l.collectActs()
	}
	for i := range l.plan.Buses {
		if c := l.plan.Buses[i].Bus.Latest(); c == nil || len(c.Samples) == 0 || &c.Samples[0] != l.first[i] {
			l.seek(i, c)
		}
	}
	if *health != l.health {
		l.hear(health)
	}
	for _, s := range l.stations {
		s.sample(r.Now)
		s.input.Health.RelayUnwritten = s.unwritten
		if s.looks {
			s.look()
		}
	}
	if len(l.stations) > 1 {
		l.together(r.Now)
	}
	for _, s := range l.driven {
		l.drive(s)
	}
	told := 0
	for _, s := range l.stations {
		out := s.core.Step(&s.input)
		if s.output != out { // at a start only
			s.output, s.shown.Output = out, out
		}
		s.heats = out.Command.Heat(s.series != nil)
		told += len(out.Events) + len(s.waiting)
	}
	l.act()
	if told > 0 {
		for _, s := range l.stations {
			s.shown.Acts = s.acts
			l.settle(s)
		}
	}
	r.Quiet = told+len(r.Relays) == 0
	return r
}

// hear tells every station what changed in the program's health.
func (l *Loop) hear(h *Health) {
	l.health = *h
	for _, s := range l.stations {
		// Field by field: the others are found out in each tick.
		to := &s.input.Health
		to.StoreProven, to.Unclean, to.Restarts, to.LateBy = h.StoreProven, h.Unclean, h.Restarts, h.LateBy
		to.ClockStepped, to.JournalFailing = h.ClockStepped, h.JournalFailing
		to.CardNearlyFull, to.SupplyLow = h.CardNearlyFull, h.SupplyLow
	}
}

// seek finds the samples of a bus's probes in memory where they did not stand in
// the last tick.
func (l *Loop) seek(bus int, c *sensors.Cycle) {
	l.first[bus] = nil
	if c != nil && len(c.Samples) > 0 {
		l.first[bus] = &c.Samples[0]
	}
	for _, s := range l.stations {
		for i := range s.slots {
			if slot := &s.slots[i]; slot.bus == bus {
				slot.sample = slot.find(c)
			}
		}
	}
}

// find looks where the probe stood last time before it searches.
func (s *slot) find(c *sensors.Cycle) *sensors.Sample {
	if c == nil {
		return unknown
	}
	if s.index < len(c.Samples) && c.Samples[s.index].Address == s.address {
		return &c.Samples[s.index]
	}
	for i := range c.Samples {
		if c.Samples[i].Address == s.address {
			s.index = i
			return &c.Samples[i]
		}
	}
	return missing
}

// sample puts the last complete cycle of each bus into the station's input.
func (s *station) sample(now time.Duration) {
	s.input.Now = now
	for i := range s.slots {
		slot := &s.slots[i]
		*slot.reading = slot.sample.Reading
		if slot.sample.Address != slot.address && slot.sample != unknown {
			*slot.reading = missing.Reading
		}
	}
}

// look fills in what contacts and switches say.
func (s *station) look() {
	in := &s.input
	if s.padSeen != nil {
		in.PadSeen = s.padSeen.Seen()
	}
	if s.seriesSeen != nil {
		in.SeriesSeen = s.seriesSeen.Seen()
	}
	if d := s.plan.Door; d != nil {
		in.Health.DoorOpen = d.Seen() != controller.ContactOpen
	}
	if a := s.plan.Airflow; a != nil {
		in.Health.AirflowSeen = a.Seen() == controller.ContactClosed
	}
}

// together tells the stations of a bench of each other.
func (l *Loop) together(now time.Duration) {
	heating := 0
	for _, s := range l.stations {
		if s.heats {
			heating++
		}
	}
	for _, s := range l.stations {
		s.input.Health.SharedTrip = s.sharedTrip()
		s.input.Health.OthersHeating = heating > 1 || heating == 1 && !s.heats
	}
	l.pair(now)
}

// sharedTrip says whether another station on the same series relay holds it open.
func (s *station) sharedTrip() bool {
	if s.series == nil {
		return false
	}
	for _, o := range s.series.series {
		if o != s && o.output.OpenShared {
			return true
		}
	}
	return false
}
