package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// Difference is a temperature difference in nanokelvin. It is a type of its own
// because an absolute temperature and a difference convert differently.
type Difference int64

// Kelvin is the unit of Difference.
const (
	MilliKelvin Difference = 1_000_000
	Kelvin      Difference = 1000 * MilliKelvin
)

// Kind says what a station is. The zero value is no station: it never heats.
type Kind uint8

// The kinds of station.
const (
	NoKind  Kind = iota
	Tub          // an animal in water
	Chamber      // empty furnishings
)

// Role says what a probe measures at its station.
type Role uint8

// The roles of probes. Control and Guard are the two in-water probes of a tub.
const (
	NoRole Role = iota
	RoleControl
	RoleGuard
	RoleFloor // contact surface over the pad
	RoleRoom
	RoleCore    // chamber: inside a piece
	RoleSurface // chamber: on a piece
	RoleAir     // chamber: free air
)

// Quality says how far a reading can be believed.
type Quality uint8

// The qualities. Unknown is the zero value and never permits heat.
const (
	Unknown Quality = iota
	Bad
	Suspect // plausible, but waits for a second reading that agrees
	Good
)

// Flaw says why a reading is not good.
type Flaw uint8

// The flaws. Absent, CRC, Malformed and Stale make a probe silent; the others
// make it implausible.
const (
	NoFlaw Flaw = iota
	Absent
	Shorted
	BadCRC
	PowerOnValue
	LowPower
	Malformed
	OutOfRange
	Stale
)

// Reading is one probe's value with its moment and quality. The zero value is
// a reading that does not exist.
type Reading struct {
	Value   physic.Temperature // calibrated
	At      time.Duration      // when the conversion started, on the clock of Input.Now
	Code    int16              // raw code in 1/16 °C before calibration, for the frozen test
	Quality Quality
	Flaw    Flaw
}

// Contact is what a relay's feedback says. The zero value is no feedback.
type Contact uint8

// The contact states.
const (
	ContactUnknown Contact = iota
	ContactOpen
	ContactClosed
)

// Command is what the relays of a station must do. The zero value is all off.
type Command struct {
	Pad    bool // pad relay closed (in a chamber: heat relay)
	Series bool // series relay closed
	Fan    bool // chamber only
	Buzzer bool // warns a person that something is about to start
}

// Heat says whether the command lets current through to the heater.
func (c Command) Heat(hasSeries bool) bool { return c.Pad && (c.Series || !hasSeries) }

// Severity orders what a cause does. The worst of the active causes wins.
type Severity uint8

// The severities.
const (
	NoSeverity Severity = iota
	Note                // recorded, shown
	Warning             // alarm, heat goes on
	HeatOff             // pad relay open while it acts; clears by itself
	Trip                // both relays open, latched until reset
)

// Place says from where a person acted. The zero value may do the least.
type Place uint8

// The places. Board means the local socket or a button at the device.
const (
	Nowhere Place = iota
	Page
	Board
)

// Seen is the set of things a person names as looked at when resetting.
type Seen uint8

// The things to look at before a reset.
const (
	SeenAnimal Seen = 1 << iota
	SeenLevel
	SeenProbe
	SeenPad
)

// ActKind is what a person did.
type ActKind uint8

// The acts.
const (
	NoAct            ActKind = iota
	Acknowledge              // of the alarm of Cause
	Reset                    // of the latch of Cause
	BeginAttended            // lid off, hands in the tub: both relays open
	ExtendAttended           // once more, at most twice
	EndAttended              // lid on, hands out
	WaterChanged             // the tub was refilled; Value is the new water's temperature when known
	AnimalIn                 // an animal is in the tub
	AnimalOut                // no animal is in the tub
	Presence                 // somebody is here and looks (a round does this too)
	Shelve                   // silence the alarm of Cause for Span
	Unshelve                 //
	TakeOutOfService         // the station does not heat until it is put back
	PutInService             //
	ConfirmFill              // level and depth confirmed by eye
	Prove                    // start the proof of relays and pairing (attended)
)

// Act is one deliberate act of a person.
type Act struct {
	Kind   ActKind
	Cause  Cause
	Place  Place
	Seen   Seen
	Value  physic.Temperature // zero when not given
	Span   time.Duration
	Number uint32 // chosen by the caller; comes back in the event that answers it
}

// Health is what the program knows of itself. The zero value claims nothing
// good: StoreProven must be set before any heat.
type Health struct {
	StoreProven    bool          // the latch store was read, and a write to it read back
	Permit         bool          // the bench lets this station take heat (first heat one at a time)
	Unclean        bool          // this start followed an unclean stop
	Restarts       uint8         // unclean starts within the last hour, this one included
	LateBy         time.Duration // how late this tick is
	ClockStepped   bool          // wall clock was stepped since the last tick
	JournalFailing bool
	CardNearlyFull bool
	SupplyLow      bool
	RelayUnwritten bool // a relay of this station could not be written
	SharedTrip     bool // another station tripped on a series relay that both share
	CrossedWarming bool // heating here warmed another station's probe, or the reverse
	DoorOpen       bool // chamber: door input
	AirflowSeen    bool // chamber: the airflow input says that air moves
	OthersHeating  bool // some other station of the bench heats now
}

// Treatment is what drives a chamber. The zero value drives nothing: a chamber
// heats only while a treatment runs.
type Treatment struct {
	Running    bool
	Target     physic.Temperature // of the air, at most Settings.SetPoint; zero heats nothing
	OverTime   bool               // it takes far longer than planned
	OutOfPiece bool               // a core probe follows the air
}

// Input is all that one Step looks at. Readings stand in the order of
// Settings.Probes.
type Input struct {
	Now        time.Duration
	Readings   []Reading
	PadSeen    Contact // feedback of the pad relay
	SeriesSeen Contact // feedback of the series relay
	Health     Health
	Treatment  Treatment // chamber only
	Acts       []Act
}
