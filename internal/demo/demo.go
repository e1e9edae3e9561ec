// Package demo is the whole daemon on the built-in model: a bench of package
// rig in the place of hardware, a clock that may run faster, and a keeper who
// fills the tubs and puts the animals in. It decides nothing of its own.
package demo

import (
	"fmt"
	"strings"
	"sync"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/daemon"
	"soakwarden/internal/loop"
	"soakwarden/internal/page"
	"soakwarden/internal/rehearsal"
	"soakwarden/internal/treat"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

// The invented room of the demonstration: late autumn, a room that cools at
// night.
const (
	room      = 19*physic.Kelvin + physic.ZeroCelsius
	roomSwing = 3 * controller.Kelvin
	seed      = 7
)

// start is the invented wall clock at which a demonstration begins.
var start = time.Date(2025, time.November, 3, 17, 0, 0, 0, time.UTC)

// Parts replaces the hardware of a daemon by the model; speed is virtual
// seconds in a real one.
func Parts(speed float64) daemon.Parts {
	return daemon.Parts{Clock: daemon.NewScaledClock(speed, start), Bench: build, Speed: speed}
}

// stage is the model behind a running daemon. The tick's goroutine advances it;
// the page's goroutines inject faults.
type stage struct {
	mu     sync.Mutex
	cfg    *config.Config
	bench  *rig.Bench
	buses  []*sensors.Bus
	keeper *rehearsal.Keeper
	rooms  *cabinets
}

// build makes the bench of a configuration.
func build(cfg *config.Config) (daemon.Bench, error) {
	s := &rehearsal.Scenario{Name: "demo", Config: cfg, Seed: seed, Room: room, RoomSwing: roomSwing}
	bench, buses, err := s.Stage(fillWarm)
	if err != nil {
		return daemon.Bench{}, err
	}
	st := &stage{cfg: cfg, bench: bench, buses: buses}
	st.keeper = &rehearsal.Keeper{Config: cfg, Bench: bench}
	b := daemon.Bench{
		Advance: st.advance, Hear: st.hear, Truth: st.truth, Demo: st,
		Desk:   func(d *treat.Desk) { st.rooms = newCabinets(d) },
		Input:  func(name string) loop.Feedback { return st.input(name) },
		Output: func(name string) gpio.PinOut { return rig.NewPin(name) },
	}
	for _, p := range bench.Pins() {
		b.Pins = append(b.Pins, locked{p, st})
	}
	for _, bus := range buses {
		b.Buses = append(b.Buses, bus)
	}
	return b, nil
}

// fillWarm pours the tubs from a lukewarm tap, a little under the set point, so
// that a visitor sees them hold within minutes.
func fillWarm(w *rig.Wiring) {
	w.Room.From = float64(start.Hour())
	for i := range w.Stations {
		if w.Stations[i].Tub != nil {
			w.Stations[i].Start.Water = 27.5
		}
	}
}

// advance moves the model to now. Ticks that the clock skipped are caught up:
// the world does not wait for the program.
func (s *stage) advance(now time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for s.bench.Now() < now {
		for _, b := range s.buses {
			b.RunCycle(s.bench.Now())
		}
		s.bench.Step()
	}
}

// hear lets the keeper do what is due, by the same acts as anybody's.
func (s *stage) hear(r *loop.Result, l *loop.Loop) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.keeper.Submit = func(a loop.ActRequest) bool { _, ok := l.Submit(a); return ok }
	s.keeper.Hear(r)
	s.rooms.look(s, s.bench.Now())
	s.keeper.Step(s.bench.Now())
}

// truth is what the model knows of station i.
func (s *stage) truth(i int) *loop.TruthView {
	s.mu.Lock()
	defer s.mu.Unlock()
	t := s.bench.Truth(i)
	v := &loop.TruthView{
		Water: t.Water, Lower: t.Lower, Upper: t.Upper, Floor: t.Floor, Pad: t.Pad, Air: t.Air,
		Room: s.bench.Room(), Depth: t.Depth, PadHeats: s.bench.Heats(i),
	}
	if s.cfg.Stations[i].Kind == controller.Chamber {
		v.Air = s.bench.Chamber(i).Air
	}
	for _, f := range s.bench.Active() {
		v.Faults = append(v.Faults, describe(f))
	}
	return v
}

// Kinds lists the faults that the page offers, each with the targets of this
// bench.
func (s *stage) Kinds() []page.FaultKind {
	var list []page.FaultKind
	for _, spec := range rig.FaultKinds {
		switch spec.Kind {
		case rig.CardFull, rig.CardFailing, rig.DaemonKilled, rig.DaemonPaused, rig.ClockStepped, rig.MainsLost:
			continue // these befall the board, and the demo's board is this computer
		}
		kind := page.FaultKind{Name: string(spec.Kind), Targets: s.targets(spec), Example: spec.Example()}
		if spec.Unit != "" {
			kind.Amount = spec.Words + ", " + spec.Unit
		}
		list = append(list, kind)
	}
	return list
}

// targets lists what a kind of fault can be given to, in the order of the
// configuration: a visitor looks at the tubs first.
func (s *stage) targets(spec rig.FaultSpec) []string {
	var list []string
	switch spec.Target {
	case rig.AtRelay:
		for _, r := range s.cfg.Relays {
			list = append(list, r.Name)
		}
	case rig.AtBus:
		for _, b := range s.cfg.Buses {
			list = append(list, b.Name)
		}
	case rig.AtStation:
		for _, st := range s.cfg.Stations {
			if suits(spec.Kind, st.Kind) {
				list = append(list, st.Name)
			}
		}
	case rig.AtProbe:
		for _, st := range s.cfg.Stations {
			names := rehearsal.ProbeNames(&st)
			for k, p := range st.Probes {
				if !suits(spec.Kind, st.Kind) || spec.Kind == rig.ProbeOutOfPiece && p.Role != controller.RoleCore {
					continue
				}
				list = append(list, st.Name+"/"+names[k])
			}
		}
	case rig.AtStationPair:
		for i := range s.cfg.Stations {
			for j := range i {
				if s.cfg.Stations[i].Kind == controller.Tub && s.cfg.Stations[j].Kind == controller.Tub {
					list = append(list, s.cfg.Stations[j].Name+","+s.cfg.Stations[i].Name)
				}
			}
		}
	}
	return list
}

// suits says whether a kind of fault can befall a kind of station.
func suits(fault rig.FaultKind, station controller.Kind) bool {
	switch fault {
	case rig.ProbeOutOfWater, rig.TubLeaking, rig.TubEmptied, rig.LidOff, rig.SunOnTub:
		return station == controller.Tub
	case rig.ProbeOutOfPiece, rig.FanDead:
		return station == controller.Chamber
	}
	return true
}

// Inject begins a fault now.
func (s *stage) Inject(kind, target, amount string) error {
	f, err := rehearsal.ParseFault(kind, target, amount)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.bench.Inject(f)
}

// Clear mends everything that is broken.
func (s *stage) Clear() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.bench.Mend()
}

// Active lists what is broken.
func (s *stage) Active() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []string
	for _, f := range s.bench.Active() {
		list = append(list, describe(f))
	}
	return list
}

func describe(f rig.Fault) string {
	return strings.TrimSpace(fmt.Sprintf("%s %s", f.Kind, f.Target))
}

// input is a switch of the bench: air moves while the fan runs, doors are shut.
func (s *stage) input(name string) loop.Feedback {
	for i := range s.cfg.Stations {
		st := &s.cfg.Stations[i]
		switch name {
		case st.AirflowInput:
			return contact(func() bool { return s.airMoves(i) })
		case st.DoorInput:
			// Active means open; nobody opens it in the demonstration.
			return contact(func() bool { return false })
		case st.PadFeedback:
			return contact(func() bool { return s.closed(st.PadRelay) })
		case st.SeriesFeedback:
			return contact(func() bool { return s.closed(st.SeriesRelay) })
		}
	}
	return nil
}

func (s *stage) airMoves(i int) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.bench.FanRuns(i)
}

func (s *stage) closed(relay string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.cfg.RelayIndex(relay)
	return i >= 0 && s.bench.Pins()[i].Closed()
}

// contact is a switch whose state is computed.
type contact func() bool

// Seen implements loop.Feedback.
func (c contact) Seen() controller.Contact {
	if c() {
		return controller.ContactClosed
	}
	return controller.ContactOpen
}

// locked is a relay that shares the stage's lock with the model.
type locked struct {
	*rig.Pin
	stage *stage
}

// Out implements gpio.PinOut.
func (l locked) Out(level gpio.Level) error {
	l.stage.mu.Lock()
	defer l.stage.mu.Unlock()
	return l.Pin.Out(level)
}

// Seen is the feedback of the contact.
func (l locked) Seen() controller.Contact {
	l.stage.mu.Lock()
	defer l.stage.mu.Unlock()
	return l.Pin.Seen()
}

var (
	_ gpio.PinOut   = locked{}
	_ page.DemoPort = &stage{}
)
