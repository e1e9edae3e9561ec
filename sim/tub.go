package sim

import (
	"fmt"
	"math"

	"soakwarden/sim/physics"
)

// Tub is a tub with its pad, water, lid and animal. Use NewTub. It is not for
// use by several goroutines.
type Tub struct {
	spec TubSpec
	hold holdings
	geo  geometry
	step float64 // s

	t     state   // node temperatures, °C
	cap   state   // node heat capacities, J/K
	mass  float64 // kg of water
	film  float64 // kg that left as vapour since the last refresh, still in cap
	leak  float64 // kg that leaked since the last refresh, still in cap
	drive Drive

	net      network
	lin      state // where the network is linear
	swing    state // from where the nodes are to there
	linRoom  float64
	matrix   collapsed
	before   state // the nodes one step ago; as t after what no step did
	age      int   // steps since the refresh
	window   int   // steps until the next
	stale    bool
	reach    state   // K that a node may move away from lin
	tight    float64 // the most that any node may, K
	longest  int     // steps between refreshes, at most
	refreshN int

	looked  bool    // density and depth are of this step
	density float64 // kg/m³ of the water
	depth   float64 // m

	account Balance
	leaked  float64 // kg
	over    float64 // kg
	topped  float64 // kg of what evaporated that was replaced
}

// holdings is what lies in the tub.
type holdings struct {
	animal float64 // kg
	cover  float64 // share of the heated floor
}

// NewTub returns a tub that was just filled, or what is wrong with the spec.
func NewTub(spec TubSpec, start Start) (*Tub, error) { return newTub(spec, start, 1) }

// newTub has the length of a step for the tests of its order.
func newTub(spec TubSpec, start Start, step float64) (*Tub, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if !(start.Water > 0 && start.Water < 100) {
		return nil, fmt.Errorf("tub: water is %g °C, write 0 to 100", start.Water)
	}
	if !(start.Room > -30 && start.Room < 60) {
		return nil, fmt.Errorf("tub: room is %g °C, write −30 to 60", start.Room)
	}
	spec = spec.WithDefaults()
	t := &Tub{spec: spec, step: step, tight: 0.1, longest: int(60 / step), stale: true}
	t.geo = geometryOf(spec)
	t.mass = spec.Depth * t.geo.base * physics.WaterDensity(start.Water)
	t.hold.animal, t.hold.cover = spec.Animal, spec.AnimalCover
	for i := range t.t {
		t.t[i] = start.Room
	}
	t.t[lower], t.t[upper], t.t[beast] = start.Water, start.Water, start.Water
	t.before = t.t
	t.cap = t.capacities()
	t.drive.Room = start.Room
	t.account.StoredAtStart = t.stored()
	t.account.WaterAtStart = t.mass
	return t, nil
}

// Step runs the tub for one second under d.
func (t *Tub) Step(d Drive) {
	// Pad, room and sun enter the step as they are; all else changes the
	// coefficients.
	if was := &t.drive; d.LidOff != was.LidOff || d.Draught != was.Draught || d.Stir != was.Stir ||
		d.Leak != was.Leak || d.Film != was.Film {
		t.stale = true
	}
	room := d.Room
	d.Room = t.drive.Room // until Again has compared the two
	t.drive = d
	t.Again(d.Pad, room)
}

// Again is Step under what acted in the last one, but for the share of the pad's
// power and for the room, °C.
func (t *Tub) Again(pad, room float64) {
	if !(pad >= 0 && pad <= 1) {
		pad = min(max(pad, 0), 1)
	}
	d := &t.drive
	if room != d.Room && math.Abs(room-t.linRoom) > 0.5 {
		t.stale = true
	}
	d.Pad, d.Room = pad, room
	if t.stale || t.age >= t.window || t.strayed() {
		t.refresh()
	}
	t.age++
	t.looked = false
	watts := pad * t.spec.PadPower
	t.before = t.t
	lost, vapour := t.matrix.apply(&t.before, &t.t, watts, room, d.Sun)
	t.account.Lost += lost
	t.film += vapour
	t.account.PadHeat += float64(watts * t.step)
	if d.Sun != 0 {
		t.account.SunHeat += float64(d.Sun * t.step)
	}
	if d.Leak != 0 {
		t.leak += float64(d.Leak * (t.step * 1e-3 / 3.6))
	}
}

// strayed says whether a node with a film on it has moved away from where the
// network is linear. The pad and the animal have none.
func (t *Tub) strayed() bool {
	return t.far(floor) || t.far(patch) || t.far(lower) || t.far(upper) || t.far(air) || t.far(wall) || t.far(lid)
}

func (t *Tub) far(i int) bool { return math.Abs(t.t[i]-t.lin[i]) > t.reach[i] }

// refresh books the water that left, makes the network linear about where the
// nodes will be half-way to the next refresh, and collapses the step.
func (t *Tub) refresh() {
	t.settle()
	// How many steps until a node will have gone 1.5 times as far as it may
	// stray from where the network is linear: half of that on either side, and
	// some for a drift that grows.
	most := float64(t.longest)
	if t.drive.Leak > 0 {
		// The water's heat capacity changes while it runs out.
		most = max(1, most/4)
	}
	for i := floor; i <= lid; i++ {
		per := math.Abs(t.t[i] - t.before[i])
		if float64(per*most) > 1.5*t.reach[i] {
			most = 1.5 * t.reach[i] / per
		}
	}
	t.window = max(1, int(most))
	ahead := float64(t.window) / 2
	for i := range t.t {
		t.swing[i] = float64(ahead * (t.t[i] - t.before[i]))
		t.lin[i] = t.t[i] + t.swing[i]
	}
	t.linRoom = t.drive.Room
	t.assemble(&t.lin, t.linRoom)
	t.matrix.collapse(&t.net, &t.cap, t.step)
	t.age, t.stale = 0, false
	t.refreshN++
}

// Truth returns everything that the model knows.
func (t *Tub) Truth() Truth {
	t.look()
	kg := t.left()
	wet := kg > dryMass*t.geo.base
	tr := Truth{
		Water: (t.t[lower] + t.t[upper]) / 2, Lower: t.t[lower], Upper: t.t[upper],
		Floor: t.t[floor], Contact: t.t[patch], Pad: t.t[pad], Air: t.t[air], Wall: t.t[wall], Lid: t.t[lid],
		Animal: t.t[beast], Room: t.drive.Room,
		Depth: t.depth, Volume: t.Volume(),
		Evaporated: t.account.Evaporated + t.film, Leaked: t.leaked + t.leak, Overflowed: t.over,
		PadHeat: t.account.PadHeat, SunHeat: t.account.SunHeat, Lost: t.account.Lost,
		PadWatts: t.drive.Pad * t.spec.PadPower,
	}
	if !wet {
		tr.Water = t.t[lower]
	}
	if t.hold.animal == 0 {
		tr.Contact, tr.Animal = tr.Floor, tr.Water
	}
	return tr
}

// Water returns the volume mean of the water, °C: what the judges look at.
func (t *Tub) Water() float64 { return float64((t.t[lower] + t.t[upper]) / 2) }

// Depth returns the depth of the water, m.
func (t *Tub) Depth() float64 {
	t.look()
	return t.depth
}

// Volume returns the volume of the water, L.
func (t *Tub) Volume() float64 {
	t.look()
	return 1000 * t.left() / t.density
}

// Bath returns Depth, m, and what the sun gave and what went to the room since
// the start, J.
func (t *Tub) Bath() (depth, sun, lost float64) {
	t.look()
	return t.depth, t.account.SunHeat, t.account.Lost
}

// look works out density and depth, which every probe and judge asks for: once
// a step, and each time while somebody moves water between two.
func (t *Tub) look() {
	if !t.looked || t.stale {
		t.measure()
	}
}

func (t *Tub) measure() {
	t.looked = true
	t.density = physics.WaterDensity(t.Water())
	t.depth = t.left() / (t.geo.base * t.density)
}

// left returns the water that is there, kg, with what left since it was booked.
func (t *Tub) left() float64 {
	// A comparison, because max also looks for what no mass is.
	kg := t.mass - t.film - t.leak
	if kg < 0 {
		return 0
	}
	return kg
}

// At returns the true temperature at a place, °C.
func (t *Tub) At(p Place) float64 {
	switch p.Kind {
	case InWater:
		return t.InWater(p.Height)
	case OnFloor:
		return t.t[floor]
	case UnderPet:
		if t.hold.animal == 0 {
			return t.t[floor]
		}
		return t.t[patch]
	case OnPad:
		return t.t[pad]
	case UnderLid:
		return t.t[air]
	case OnWall:
		return t.t[wall]
	}
	return t.drive.Room
}

// Source is where the temperature of a kind of place stands after each step, °C;
// nil for a place that changes with the water line, the animal or the room.
func (t *Tub) Source(k PlaceKind) *float64 {
	switch k {
	case OnFloor:
		return &t.t[floor]
	case OnPad:
		return &t.t[pad]
	case UnderLid:
		return &t.t[air]
	case OnWall:
		return &t.t[wall]
	}
	return nil
}

// InWater returns the temperature at a height m over the floor, °C: of the air
// under the lid when that is above the water line.
func (t *Tub) InWater(height float64) float64 {
	c := t.Column()
	return c.At(height)
}

// Column is what lies over the floor of a tub at one moment: water, and the air
// under the lid.
type Column struct {
	depth      float64 // m of water, negative for none
	lower, air float64 // °C
	rise       float64 // K from the lower half to the upper
}

// Column returns the column of now; it costs less than several places one by one.
func (t *Tub) Column() Column {
	t.look()
	depth := t.depth
	if depth <= 0 {
		depth = math.Inf(-1)
	}
	return Column{depth: depth, lower: t.t[lower], air: t.t[air], rise: t.t[upper] - t.t[lower]}
}

// At returns the temperature at a height m over the floor, °C, as Tub.InWater.
func (c *Column) At(height float64) float64 {
	if !(height <= c.depth) {
		return c.air
	}
	// Linear between the middles of the two halves, even beyond them.
	share := 2*height/c.depth - 0.5
	switch {
	case share <= 0:
		share = 0
	case share > 1:
		share = 1
	}
	return c.lower + float64(share*c.rise)
}

// Balance returns the account of energy and water since the start.
func (t *Tub) Balance() Balance {
	t.settle()
	b := t.account
	b.Stored = t.stored()
	b.Water = t.mass
	return b
}
