package rig

import (
	"fmt"
	"math"
	"time"

	"soakwarden/controller"
	"soakwarden/sim"
	"soakwarden/sim/num"
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
	exposed  time.Duration // for which a fault could be seen
	room     float64       // °C now, without a station's own draught
	roomNow  float64       // °C, without what faults add
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
	tub      *sim.Tub     // nil for a chamber
	chamber  *sim.Chamber // nil for a tub
	nuisance *nuisance
	around   around
	probes   []*Thermometer
	places   []sim.Place        // where each probe of a tub lies now
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
}

// happening is one fault with what became of it.
type happening struct {
	Fault
	aim    aim
	on     bool
	effect time.Duration // first second with an effect; negative before
}

// NewBench builds a bench. The error says everything that is wrong with it.
func NewBench(w Wiring) (*Bench, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	b := &Bench{wiring: w, board: Board{Powered: true}}
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
	b.roomNow = b.roomAt(0)
	b.room = b.roomNow
	b.feel()
	return b, nil
}

func (b *Bench) build(i int) (*standing, error) {
	w := &b.wiring.Stations[i]
	s := &standing{wiring: w, share: 1, crossed: -1, nuisance: newNuisance(b.wiring.Nuisances, b.wiring.Seed, uint64(i)+1)}
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
		s.places, s.inner = append(s.places, p.Place), append(s.inner, p.Inner)
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

// Room is the air of the room, °C.
func (b *Bench) Room() float64 { return b.room }

// Truth is what the model knows of the tub of station i; the zero Truth for a
// chamber.
func (b *Bench) Truth(i int) sim.Truth {
	if b.stations[i].tub == nil {
		return sim.Truth{}
	}
	return b.stations[i].tub.Truth()
}

// Bath is the water of station i: its depth in m, its volume in L, and what the
// sun gave it and what went to the room since the start, in J. All zero for a
// chamber.
func (b *Bench) Bath(i int) (depth, litres, sun, lost float64) {
	t := b.stations[i].tub
	if t == nil {
		return 0, 0, 0, 0
	}
	sun, lost = t.Flows()
	return t.Depth(), t.Volume(), sun, lost
}

// Heats says whether current really flowed into station i in the last step.
func (b *Bench) Heats(i int) bool { return b.stations[i].heat }

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
	for n := 2; n <= 20; n += 2 {
		term = float64(term*q) / float64(n*(n-1))
		sum += term
	}
	return float64(sign * sum)
}

// Step advances the bench by one second.
func (b *Bench) Step() {
	b.now += second
	b.runFaults()
	b.board.Powered = b.boardOff == 0
	if b.now%roomEvery == 0 {
		b.roomNow = b.roomAt(b.now)
	}
	b.room = b.roomNow + b.roomBy
	for _, p := range b.pins {
		p.Power(b.board.Powered)
		p.tick()
	}
	for i := range b.stations {
		b.stepStation(i)
	}
	b.feel()
	for _, bus := range b.buses {
		bus.At(b.now)
	}
	b.markEffects()
}

func (b *Bench) stepStation(i int) {
	s := b.stations[i]
	s.nuisance.step(b.now, &s.around)
	s.asked = b.closed(s, (*Pin).Commanded)
	s.heat = b.closed(s, (*Pin).Closed) && b.padsOff == 0 && b.boardOff == 0 && !s.around.padsOff && s.share > 0
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
	d := s.around.drive
	d.Room = b.room + s.around.roomDelta
	d.LidOff = d.LidOff || s.lids > 0 || s.lidOpen
	d.Sun += s.sun
	d.Leak = s.leak
	if s.heat {
		d.Pad = s.share
	}
	s.tub.Step(d)
}

// fanRuns says whether air moves in a chamber; one without a switched fan has
// one that always runs.
func (b *Bench) fanRuns(s *standing) bool {
	if b.padsOff > 0 || b.boardOff > 0 || s.fanDead {
		return false
	}
	return s.wiring.Fan == NoRelay || b.pins[s.wiring.Fan].Closed()
}

// FanRuns says whether air moves in the chamber of station i.
func (b *Bench) FanRuns(i int) bool { return b.fanRuns(b.stations[i]) }

// Chamber is what the model knows of the chamber of station i; the zero truth
// for a tub. Its pieces are valid until the next call.
func (b *Bench) Chamber(i int) sim.ChamberTruth {
	if b.stations[i].chamber == nil {
		return sim.ChamberTruth{}
	}
	return b.stations[i].chamber.Truth()
}

// closed says whether both contacts of a station's circuit are, by one view.
func (b *Bench) closed(s *standing, view func(*Pin) bool) bool {
	w := s.wiring
	return w.Pad != NoRelay && view(b.pins[w.Pad]) && (w.Series == NoRelay || view(b.pins[w.Series]))
}

// feel gives every probe the temperature of its place.
func (b *Bench) feel() {
	for i, s := range b.stations {
		own := s.tub != nil && s.crossed < 0
		places := s.places[:len(s.probes)]
		for k, t := range s.probes {
			if p := &places[k]; own && p.Kind == sim.InWater {
				t.Feel(s.tub.InWater(p.Height), second) // most of them
				continue
			}
			t.Feel(b.at(i, k), second)
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
		return s.places[k]
	}
	for other := range s.wiring.Probes {
		if s.wiring.Probes[other].Role == own.wiring.Probes[k].Role {
			return s.wiring.Probes[other].Place
		}
	}
	return own.places[k]
}

// Intended is the true temperature where probe k of station i belongs.
func (b *Bench) Intended(i, k int) float64 {
	s := b.stations[i]
	p := &s.wiring.Probes[k]
	switch {
	case p.Role == controller.RoleRoom:
		return b.room
	case s.tub == nil:
		return s.chamber.At(p.Inner)
	}
	return s.tub.At(p.Place)
}

// OpenLid is a person's hand on the lid of station i.
func (b *Bench) OpenLid(i int, open bool) { b.stations[i].lidOpen = open }

// ChangeWater pours the water of station i away and fills it to its first depth
// with water of that temperature in °C.
func (b *Bench) ChangeWater(i int, celsius float64) {
	if t := b.stations[i].tub; t != nil {
		t.ChangeWater(celsius, b.wiring.Stations[i].Tub.Depth)
	}
}

// PutAnimal puts an animal of that mass in kg into station i.
func (b *Bench) PutAnimal(i int, kg, celsius float64) {
	if t := b.stations[i].tub; t != nil {
		t.PutAnimal(kg, animalCover, celsius)
	}
}

// animalCover is the share of the heated floor that an animal lies on.
const animalCover = 0.3

// Water is the volume mean of the water of station i, °C; the room for a chamber.
func (b *Bench) Water(i int) float64 {
	if t := b.stations[i].tub; t != nil {
		return t.Water()
	}
	return b.room
}

// Observe is this second's truth of the tub of station i for a judge.
func (b *Bench) Observe(i int, agreeing bool) sim.Observation {
	return b.stations[i].tub.Observe(agreeing)
}

// Floor is the contact surface over the pad of station i, °C.
func (b *Bench) Floor(i int) float64 {
	if t := b.stations[i].tub; t != nil {
		return t.At(sim.Place{Kind: sim.OnFloor})
	}
	return b.room
}

// TakeAnimal takes the animal out of station i.
func (b *Bench) TakeAnimal(i int) {
	if t := b.stations[i].tub; t != nil {
		t.TakeAnimal()
	}
}

// NuisanceChange says whether somebody changes the water of station i now as
// part of the nuisances, and how far from the set point the new water is in K.
func (b *Bench) NuisanceChange(i int) (kelvin float64, yes bool) {
	a := &b.stations[i].around
	return a.change, a.changes
}

// Noise is a generator of its own stream for the caller, fixed by the seed.
func (b *Bench) Noise(stream uint64) *num.Noise {
	return num.NewNoise(b.wiring.Seed, 1<<32+stream)
}

// Sunny says whether the sun heated the water of station i in the last step.
func (b *Bench) Sunny(i int) bool {
	s := b.stations[i]
	return s.sun > 0 || s.around.drive.Sun > 0
}

// LidOff says whether the lid of station i was off in the last step.
func (b *Bench) LidOff(i int) bool {
	s := b.stations[i]
	return s.lids > 0 || s.lidOpen || s.around.drive.LidOff
}
