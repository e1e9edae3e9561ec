package sim

import "math"

// Start is the state that a tub begins in.
type Start struct {
	Water float64 // °C, of the water that was poured in
	Room  float64 // °C; pad, floor, walls and air begin at the room's temperature
}

// Drive is what acts on a tub during one step. The zero value has no heat.
// Pad, Room and Sun may change each second at no cost; the others make the
// model work its coefficients out again.
type Drive struct {
	Pad     float64 // share of the pad's full power that flows, 0 to 1
	Room    float64 // air of the room, °C
	Sun     float64 // W absorbed by the water and what lies in it
	LidOff  bool    // a tub without a lid is always open
	Draught float64 // speed of the room's air over the tub, m/s; 0 is still air
	Stir    float64 // 0 still, 1 stirred by hand
	Leak    float64 // L/h out of the bottom
	Film    float64 // factor on the floor's film to the water (an animal that shifts): 0 means 1
}

// PlaceKind says where a probe is.
type PlaceKind uint8

// The kinds of place. The zero value is the air of the room.
const (
	RoomAir  PlaceKind = iota
	InWater            // at Height over the floor; above the water line it is in the air under the lid
	OnFloor            // the contact surface over the pad, where nothing lies on it
	UnderPet           // the contact surface under the animal; without one, as OnFloor
	OnPad              // on the pad itself
	UnderLid           // the air over the water
	OnWall             // outside of the wetted wall
)

// Place is where a probe measures.
type Place struct {
	Kind   PlaceKind
	Height float64 // m over the floor, for InWater
}

// Truth is everything that the model knows of a tub. Temperatures are °C.
type Truth struct {
	Water   float64 // volume mean; of a dry tub, of the floor beside the pad
	Lower   float64 // lower half of the water
	Upper   float64 // upper half of the water
	Floor   float64 // contact surface over the pad
	Contact float64 // contact surface under the animal (skin contact); Floor without one
	Pad     float64
	Air     float64 // over the water
	Wall    float64
	Lid     float64
	Animal  float64 // body; Water without one
	Room    float64 // as driven in the last step

	Depth      float64 // m
	Volume     float64 // L
	Evaporated float64 // kg that left as vapour since the start: litres of cold water
	Leaked     float64 // kg that left by the leak
	Overflowed float64 // kg that ran over the rim
	PadHeat    float64 // J from the pad since the start
	SunHeat    float64 // J
	Lost       float64 // J to the room, vapour included
	PadWatts   float64 // flowing in the last step
}

// Balance is the account of energy and water since the start, summed at the
// boundaries. Energies count from 0 °C, in joules; masses in kilograms.
type Balance struct {
	PadHeat, SunHeat  float64 // in
	Lost              float64 // to the room and with vapour (its latent heat)
	WithWaterIn       float64 // carried by water poured in and animals put in
	WithWaterOut      float64 // carried by water drained, leaked, evaporated and animals taken out
	Stored            float64 // now
	StoredAtStart     float64
	WaterIn, WaterOut float64 // kg poured, kg drained, leaked and run over
	Evaporated        float64 // kg
	Water             float64 // kg now
	WaterAtStart      float64
}

// Energy returns what the energy account fails to close by, J.
func (b Balance) Energy() float64 {
	return b.Stored - b.StoredAtStart - (b.PadHeat + b.SunHeat + b.WithWaterIn - b.Lost - b.WithWaterOut)
}

// EnergyThrough returns the size of what went through, J: the yardstick for Energy.
func (b Balance) EnergyThrough() float64 {
	return magnitude(b.PadHeat) + magnitude(b.SunHeat) + magnitude(b.Lost) + magnitude(b.WithWaterIn) + magnitude(b.WithWaterOut)
}

// Mass returns what the water account fails to close by, kg.
func (b Balance) Mass() float64 {
	return b.Water - b.WaterAtStart - (b.WaterIn - b.WaterOut - b.Evaporated)
}

func magnitude(v float64) float64 { return math.Abs(v) }
