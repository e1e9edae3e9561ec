package rig

import (
	"fmt"
	"math"
	"time"

	"soakwarden/controller"
	"soakwarden/sim"
)

// roomEvery is how often the room's swing is worked out: it moves by less than
// a millikelvin meanwhile.
const roomEvery = 4 * second

// Bench is the world around the program: tubs and chambers, their relays and
// probes, the room, the mains, the board's own troubles, and the faults of a
// scenario. Step advances it by a second. It is not for several goroutines.
type Bench struct {
	wiring   Wiring
	now      time.Duration
	pins     []*Pin
	buses    []*OneWire
	stations []*standing
	faults   []happening
	due      time.Duration // no fault begins or ends before
	ongoing  int           // faults that are on
	effect   time.Duration // first second in which any had an effect; negative before
	exposed  time.Duration // for which a fault could be seen
	room     float64       // °C now, without a station's own draught
	roomNow  float64       // °C, without what faults add
	roomDue  time.Duration // when that is worked out again
	padsOff  int           // faults that take the pads' supply away
	boardOff int           // faults that take the board's supply away
	roomBy   float64       // K that faults add
	board    Board
}

// Board is what happens to the board and the program on it.
type Board struct {
	Powered     bool
	Kills       int           // times the program was killed so far
	PausedUntil time.Duration // the program stands still before this moment
	WallOffset  time.Duration // what faults added to the wall clock
	CardFull    bool
	CardFailing bool
}

// standing is one station with its state.
type standing struct {
	wiring   *StationWiring
	circuit  [2]*Pin      // pad and series relay, nil where none is wired
	tub      *sim.Tub     // nil for a chamber
	chamber  *sim.Chamber // nil for a tub
	nuisance *nuisance
	around   around
	probes   []*Thermometer
	places   []place            // where each probe of a tub lies now
	inner    []sim.ChamberPlace // where each probe of a chamber lies now
	crossed  int                // the station whose probes hang here instead, −1
	share    float64            // of the pad's power that it gives
	fanDead  bool               // the fan does not turn
	leak     float64            // L/h
	sun      float64            // W
	lids     int                // faults and people that hold the lid off
	lidOpen  bool               // by a person
	heat     bool               // current flowed in the last step
	asked    bool               // current was commanded in the last step
	moved    bool               // something of a tub's drive but pad and room is not as in the last step
}

// place is where a probe of a tub lies.
type place struct {
	sim.Place
	reads *float64 // its temperature, °C; nil when that has to be asked for
}

// placeIn is a place in the tub of s.
func (b *Bench) placeIn(s *standing, p sim.Place) place {
	switch {
	case s.tub == nil:
		return place{Place: p}
	case p.Kind == sim.RoomAir:
		return place{p, &b.room}
	}
	return place{p, s.tub.Source(p.Kind)}
}

// happening is one fault with what became of it.
type happening struct {
	Fault
	aim aim
	on  bool
}

// NewBench builds a bench. The error says everything that is wrong with it.
func NewBench(w Wiring) (*Bench, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	b := &Bench{wiring: w, effect: -1, board: Board{Powered: true}}
	for _, name := range w.Relays {
		b.pins = append(b.pins, NewPin(name))
	}
	for i, name := range w.Buses {
		b.buses = append(b.buses, NewOneWire(name, w.Seed+uint64(i)))
	}
	for i := range w.Stations {
		s, err := b.build(i)
		if err != nil {
			return nil, fmt.Errorf("station %s: %w", w.Stations[i].Name, err)
		}
		b.stations = append(b.stations, s)
	}
	for _, f := range w.Faults {
		if err := b.add(f); err != nil {
			return nil, err
		}
	}
	b.roomNow, b.roomDue = b.roomAt(0), roomEvery
	b.room = b.roomNow
	for i, s := range b.stations {
		for k, t := range s.probes {
			t.Feel(b.at(i, k), second)
		}
	}
	return b, nil
}

func (b *Bench) build(i int) (*standing, error) {
	w := &b.wiring.Stations[i]
	s := &standing{wiring: w, share: 1, crossed: -1, moved: true, nuisance: newNuisance(b.wiring.Nuisances, b.wiring.Seed, uint64(i)+1)}
	for k, r := range [2]int{w.Pad, w.Series} {
		if r != NoRelay {
			s.circuit[k] = b.pins[r]
		}
	}
	var err error
	if w.Tub != nil {
		if s.tub, err = sim.NewTub(*w.Tub, w.Start); err != nil {
			return nil, err
		}
	}
	if w.Chamber != nil {
		if s.chamber, err = sim.NewChamber(*w.Chamber, b.roomAt(0)); err != nil {
			return nil, err
		}
	}
	for _, p := range w.Probes {
		t, err := NewThermometer(p.Spec, b.wiring.Seed)
		if err != nil {
			return nil, err
		}
		b.buses[p.Bus].Attach(t)
		s.probes = append(s.probes, t)
		s.places, s.inner = append(s.places, b.placeIn(s, p.Place)), append(s.inner, p.Inner)
	}
	return s, nil
}

// Now is the time since the bench was built.
func (b *Bench) Now() time.Duration { return b.now }

// Pins are the relays, in the order of Wiring.Relays.
func (b *Bench) Pins() []*Pin { return b.pins }

// Buses are the 1-Wire buses, in the order of Wiring.Buses.
func (b *Bench) Buses() []*OneWire { return b.buses }

// Board says how the board and the program fare. It is the bench's own: read it,
// and copy what must outlive the next Step.
func (b *Bench) Board() *Board { return &b.board }

// roomAt is the room without faults, warmest at three in the afternoon.
func (b *Bench) roomAt(now time.Duration) float64 {
	day := now.Seconds()/86400 + b.wiring.Room.From/24
	phase := day - 15.0/24
	phase -= math.Floor(phase)
	return b.wiring.Room.Mean + float64(b.wiring.Room.Swing*cosTurn(phase))
}

// cosTurn is the cosine of a share of a turn, by its Taylor series on a quarter
// turn, so that it is the same on every processor. It is right to 1e-9.
func cosTurn(share float64) float64 {
	x := math.Abs(share - 0.5) // cos(2π·share) = −cos(2π·x)
	sign := -1.0
	if x > 0.25 {
		x, sign = 0.5-x, 1.0
	}
	y := 2 * math.Pi * x
	q := -float64(y * y)
	sum, term := 1.0, 1.0
	for _, by := range cosBy {
		term = float64(term*q) / by
		sum += term
	}
	return float64(sign * sum)
}

// cosBy is n·(n − 1) for the even n up to 20.
var cosBy = [...]float64{2, 12, 30, 56, 90, 132, 182, 240, 306, 380}

// Step advances the bench by one second.
//
//go:noinline
func (b *Bench) Step() {
	b.now += second
	if b.now >= b.due {
		b.runFaults()
	}
	if b.ongoing > 0 || !b.board.Powered {
		b.board.Powered = b.boardOff == 0
		n := int64(b.now / second)
		for _, p := range b.pins {
			p.Power(b.board.Powered)
			p.tick(n)
		}
	}
	if b.now >= b.roomDue {
		b.roomNow = b.roomAt(b.now)
		b.roomDue = b.now + roomEvery
	}
	b.room = b.roomNow + b.roomBy
	for _, s := range b.stations {
		b.stepStation(s)
	}
	b.feel()
	for _, bus := range b.buses {
		bus.At(b.now)
	}
	if b.ongoing > 0 {
		b.markEffects()
	}
}

func (b *Bench) stepStation(s *standing) {
	if b.now >= s.nuisance.next {
		s.nuisance.step(b.now, &s.around)
		s.moved = true
	}
	s.asked = s.commanded()
	closed := s.asked
	if !s.sound() {
		closed = s.closed()
	}
	s.heat = closed && b.padsOff == 0 && b.boardOff == 0 && !s.around.padsOff && s.share > 0
	if s.tub == nil {
		d := sim.ChamberDrive{Room: b.room, Fan: b.fanRuns(s)}
		// A freezer hangs on no relay: its own thermostat runs it while there
		// is power.
		if s.wiring.Pad == NoRelay && s.wiring.Chamber.Power < 0 {
			s.heat = b.padsOff == 0 && b.boardOff == 0
		}
		if s.heat {
			d.Heat = s.share
		}
		s.chamber.Step(d)
		return
	}
	pad, room := 0.0, b.room+s.around.roomDelta
	if s.heat {
		pad = s.share
	}
	if !s.moved {
		s.tub.Again(pad, room)
		return
	}
	s.moved = false
	d := s.around.drive
	d.Pad, d.Room = pad, room
	d.LidOff = d.LidOff || s.lids > 0 || s.lidOpen
	d.Sun += s.sun
	d.Leak = s.leak
	s.tub.Step(d)
}

// commanded says whether the program asks for current in the station's circuit.
func (s *standing) commanded() bool {
	pad, series := s.circuit[0], s.circuit[1]
	return pad != nil && pad.Commanded() && (series == nil || series.Commanded())
}

// sound says whether every contact of the station's circuit is.
func (s *standing) sound() bool {
	pad, series := s.circuit[0], s.circuit[1]
	return (pad == nil || pad.sound()) && (series == nil || series.sound())
}

// closed says whether both contacts of the station's circuit are.
func (s *standing) closed() bool {
	pad, series := s.circuit[0], s.circuit[1]
	return pad != nil && pad.Closed() && (series == nil || series.Closed())
}

// fanRuns says whether air moves in a chamber; one without a switched fan has
// one that always runs.
func (b *Bench) fanRuns(s *standing) bool {
	if b.padsOff > 0 || b.boardOff > 0 || s.fanDead {
		return false
	}
	return s.wiring.Fan == NoRelay || b.pins[s.wiring.Fan].Closed()
}

// feel gives every probe the temperature of its place for a second.
func (b *Bench) feel() {
	for i, s := range b.stations {
		if s.tub == nil || s.crossed >= 0 {
			for k, t := range s.probes {
				t.Feel(b.at(i, k), second)
			}
			continue
		}
		// Most probes lie in their own tub. Nothing is called for them here,
		// because this is what a bench does most.
		water := s.tub.Column()
		places := s.places[:len(s.probes)]
		for k, t := range s.probes {
			p := &places[k]
			var celsius float64
			switch {
			case p.reads != nil:
				celsius = *p.reads
			case p.Kind == sim.InWater:
				celsius = water.At(p.Height)
			default:
				celsius = s.tub.At(p.Place)
			}
			t.follow(celsius)
			if t.spec.Local > 0 {
				t.wander(t.noise.Uint64())
			}
		}
	}
}

// at is the true temperature where probe k of station i lies now.
func (b *Bench) at(i, k int) float64 {
	s := b.stations[i]
	if s.crossed >= 0 && s.wiring.Probes[k].Role != controller.RoleRoom {
		s = b.stations[s.crossed]
	}
	if s.tub == nil {
		if s != b.stations[i] || s.wiring.Probes[k].Role == controller.RoleRoom {
			return b.room
		}
		return s.chamber.At(s.inner[k])
	}
	place := b.placeOf(s, i, k)
	if place.Kind == sim.RoomAir {
		return b.room
	}
	return s.tub.At(place)
}

// placeOf is where the probe k of station i lies in the tub that it hangs in;
// crossed probes lie where the other tub's probe of that role would.
func (b *Bench) placeOf(s *standing, i, k int) sim.Place {
	own := b.stations[i]
	if s == own {
		return s.places[k].Place
	}
	for other := range s.wiring.Probes {
		if s.wiring.Probes[other].Role == own.wiring.Probes[k].Role {
			return s.wiring.Probes[other].Place
		}
	}
	return own.places[k].Place
}
