package config

import (
	"time"

	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/sensors"
)

// Species is one group of snakes with the upper end of its clinical preferred
// temperature zone, which no set point may pass.
type Species struct {
	Name  string
	Upper physic.Temperature
}

// Station is one thing under control.
type Station struct {
	Name         string
	Kind         controller.Kind
	Animal       string // free words for people, empty when not given
	Species      Species
	SetPoint     physic.Temperature // chamber: what its air is held at
	Differential controller.Difference
	TooCold      physic.Temperature
	Cutoff       physic.Temperature
	Limit        physic.Temperature    // chamber: for its hottest probe
	FloorBound   physic.Temperature    // contact surface over the pad
	MinOn        time.Duration         // least time the pad relay stays closed
	MinOff       time.Duration         // least time it stays open
	RampPerHour  controller.Difference // most that the effective set point climbs in an hour
	RoomColdest  physic.Temperature
	RoomWarmest  physic.Temperature
	Cutout       physic.Temperature // independent thermal cut-out, manual reset; zero when there is none
	AttendedOnly bool

	PadRelay       string // name of a relay; chamber: heat relay
	SeriesRelay    string // empty when none
	SeriesShared   bool   // another station names the same series relay
	FanRelay       string // chamber; empty when none
	PadFeedback    string // name of an input, empty when none
	SeriesFeedback string
	AirflowInput   string // chamber
	DoorInput      string // chamber

	Tub     Tub     // of a tub
	Chamber Chamber // of a chamber
	Pieces  []Piece // of a chamber
	Probes  []Probe
	at      marks
}

// At returns where a key of the station is written, or where the station
// begins when it is not. Keys of the tub or chamber are "tub.pad", "chamber.heater".
func (s *Station) At(key string) Place { return s.at.of(key) }

// Sizeable says whether all that a heat budget needs was written without a
// mistake: it is true of every station of a Config that Parse returned.
func (s *Station) Sizeable() bool {
	switch s.Kind {
	case controller.Tub:
		return s.Species.Name != "" && s.at.has("cutoff") &&
			!s.at.bad("set_point", "cutoff", "too_cold", "differential", "floor_bound", "ramp", "room_coldest", "room_warmest", "cutout", "tub") &&
			s.Cutoff > s.SetPoint && s.TooCold < s.SetPoint && s.RoomColdest <= s.RoomWarmest
	case controller.Chamber:
		return !s.at.bad("set_point", "differential", "limit", "room_coldest", "room_warmest", "cutout", "chamber", "piece") &&
			(s.Chamber.Freeze || s.Limit > s.SetPoint) && s.RoomColdest <= s.RoomWarmest
	}
	return false
}

// Tub is the box with the water and the animal. Lengths in metres.
type Tub struct {
	Length, Width float64 // inside, of the water surface
	Depth         float64 // of the water
	Height        float64 // of the walls, inside
	Wall          float64 // thickness of walls and floor
	Material      string  // of walls, floor and lid
	Insulation    float64 // thickness of foam around it
	Lid           bool
	Holes         int // air holes in the lid
	HoleSize      float64
	PadPower      float64 // W
	PadArea       float64 // m²
	PadInsulation float64 // thickness of foam under the pad
	AnimalMass    float64 // kg, 0 when not given
}

// Volume returns the volume of the water in m³.
func (t Tub) Volume() float64 { return t.Length * t.Width * t.Depth }

// Flux returns the pad's power over its area in W/m².
func (t Tub) Flux() float64 { return t.PadPower / t.PadArea }

// Chamber is the cabinet in which empty furnishings are treated. Lengths in
// metres, inside.
type Chamber struct {
	Length, Width, Height float64
	Wall                  float64 // thickness of the inner wall
	Material              string  // of the inner wall
	Insulation            float64 // thickness of foam around it
	Leak                  float64 // air changes an hour
	HeaterPower           float64 // W; 0 in a freezer
	CoolerPower           float64 // W that a freezer's coil takes away; 0 in one that heats
	Freeze                bool    // a freezer with a thermostat of its own: watched, never switched
}

// Shape is the shape of a piece.
type Shape string

// The shapes. A slab is heated from two faces, a cylinder around its side, a
// bar around its four sides.
const (
	Slab     Shape = "slab"
	Cylinder Shape = "cylinder"
	Bar      Shape = "bar"
)

// Piece is one thing in a chamber. Lengths in metres; those that do not belong
// to its shape are zero.
type Piece struct {
	Name      string
	Shape     Shape
	Thickness float64 // slab, the whole
	Area      float64 // slab, of one face, m²
	Diameter  float64 // cylinder
	Width     float64 // bar
	Height    float64 // bar
	Length    float64 // cylinder, bar
	Material  string
	Moisture  float64 // kg of water in a kg of dry wood, 0.12 for 12 %
	at        marks
}

// Probe is one temperature sensor of a station.
type Probe struct {
	Role        controller.Role
	Bus         string
	ROM         string          // as written: family, dash, 12 hex digits of the serial number
	Address     onewire.Address // the same with its CRC
	Height      float64         // of a tub's in-water probe over the floor, m; −1 when not given
	Piece       string          // of a chamber's core or surface probe, empty when not given
	Depth       float64         // of a core probe under the surface, m; −1 when not given
	Calibration Calibration
	at          marks
}

// At returns where a key of the probe is written, or where the probe begins.
func (p *Probe) At(key string) Place { return p.at.of(key) }

// Calibration is what is known of a probe's error. Offsets are added to what
// the probe reads where the true temperature is as given.
type Calibration struct {
	Done         bool // an offset was measured
	Offset       controller.Difference
	OffsetAt     physic.Temperature // zero when not given
	Second       bool               // two points: the offset is a straight line through both
	SecondOffset controller.Difference
	SecondAt     physic.Temperature
	Uncertainty  controller.Difference // expanded; 1.2 K when never calibrated
	Date         time.Time             // UTC midnight, zero when not given
	Method       string
	Due          time.Time // UTC midnight, zero when not given
}

// Applied returns the calibration as the sensors apply it, which want each
// correction at the reading and not at the true temperature.
func (c Calibration) Applied() sensors.Calibration {
	s := sensors.Calibration{Date: c.Date, Due: c.Due, Method: c.Method, Uncertainty: c.Uncertainty}
	if !c.Done {
		s.Uncertainty = 0
		return s
	}
	s.Points = 1
	s.Corrections[0] = sensors.Correction{At: physic.ZeroCelsius, Add: c.Offset}
	if c.OffsetAt != 0 {
		s.Corrections[0].At = plus(c.OffsetAt, -c.Offset)
	}
	if c.Second {
		s.Points = 2
		s.Corrections[1] = sensors.Correction{At: plus(c.SecondAt, -c.SecondOffset), Add: c.SecondOffset}
	}
	return s
}

// Overdue says whether the day on which to calibrate again has passed. The
// caller knows whether its clock can be trusted.
func (c Calibration) Overdue(now time.Time) bool {
	s := c.Applied()
	return s.Overdue(now.AddDate(0, 0, -1))
}
