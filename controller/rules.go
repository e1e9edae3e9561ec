package controller

import "time"

// Relays says which relays a cause opens when it trips.
type Relays uint8

// The relays that a trip opens. Pad is opened by every trip.
const (
	NoRelay       Relays = iota
	PadRelay             // the one that cycles
	OwnRelays            // the pad relay, and the series relay when it is the station's own
	EveryRelay           // both at once, the series relay even when others share it
	FollowsRelays        // the series relay follows the pad relay at every off
)

// Rule is what the protective control knows of one cause. A cause whose
// condition holds uses up its grace (Delay); then it acts with Severity. While
// the condition is away the grace comes back at a tenth of that speed. Worse
// findings about the same cause (a proof, a bound) act with a higher severity;
// LooksAt says which.
type Rule struct {
	Cause      Cause
	Name       string
	LooksAt    string
	Delay      time.Duration // grace; 0 acts at once
	TripDelay  time.Duration // with this much grace used up it trips; 0 never trips by time
	ClearAfter time.Duration // the condition must be away this long
	Severity   Severity
	Latches    bool // a trip on it is held until a reset; false: it never trips
	Relays     Relays
	Reset      Place // the least place from which a latch may be reset
	Seen       Seen  // what a reset must name as looked at
	Deferrable bool  // a person may shelve its alarm
	Advice     string
}

// CauseCount is how many causes there are, NoCause included.
const CauseCount = int(causeCount)

// refill is how many times slower grace comes back than it is used up.
const refill = 10

// Rule is the cause's row of the table.
func (c Cause) Rule() Rule {
	if c >= causeCount {
		return rules[NoCause]
	}
	return rules[c]
}

// String is the cause's name.
func (c Cause) String() string { return c.Rule().Name }

// Rules is the whole table, in the order of Cause.
func Rules() [CauseCount]Rule { return rules }

// The table is written once, here, and never changed.
var rules = [CauseCount]Rule{
	NoCause: {Name: "none"},
	OverCutoff: {
		Name: "over the cutoff", LooksAt: "hottest believable in-water reading, worst case by its age",
		Severity: Trip, Latches: true, Relays: EveryRelay, ClearAfter: 10 * time.Second,
		Reset: Board, Seen: SeenAnimal | SeenLevel | SeenProbe,
		Advice: "Lift the snake out. Dry box. Unplug.",
	},
	OverBand: {
		Name: "over the band", LooksAt: "hottest in-water reading over the set point + 0.6 K with heat commanded off; latched when our heat did it",
		Delay: 20 * time.Second, ClearAfter: time.Minute,
		Severity: HeatOff, Latches: true, Relays: EveryRelay,
		Reset: Board, Seen: SeenAnimal | SeenLevel | SeenPad,
		Advice: "Feel the water. Shade the tub, cool the room, look for a stuck relay.",
	},
	FloorTooHot: {
		Name: "floor too hot", LooksAt: "contact surface over the pad: heat off 1 K under the bound, trip at the bound or when it comes twice within two hours",
		ClearAfter: 10 * time.Second,
		Severity:   HeatOff, Latches: true, Relays: OwnRelays, Reset: Board, Seen: SeenAnimal | SeenPad,
		Advice: "Lift the snake off the floor. Look for an air gap or low water over the pad.",
	},
	TooCold: {
		Name: "too cold", LooksAt: "coldest believable in-water reading under the warning line",
		Delay: time.Minute, ClearAfter: time.Minute, Severity: Warning,
		Advice: "Warm the animal. Look whether the pad has power and the lid is on.",
	},
	ProbeSilent: {
		Name: "probe silent", LooksAt: "time without a reading of a required probe: heat off, then trip",
		Delay: 10 * time.Second, TripDelay: time.Minute, ClearAfter: 5 * time.Second,
		Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenProbe,
		Advice: "Look at the probe's plug and cable.",
	},
	ProbeImplausible: {
		Name: "probe implausible", LooksAt: "time with an impossible reading of a required probe: heat off, then trip",
		Delay: 10 * time.Second, TripDelay: time.Minute, ClearAfter: 5 * time.Second,
		Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenProbe,
		Advice: "Look for a wet plug or a short, then change the probe.",
	},
	ProbeJumped: {
		Name: "probe jumped", LooksAt: "one in-water probe moves and the other does not; the cooler is disbelieved, heat off until the fill is confirmed; or the floor probe no longer feels the pad",
		Severity: Warning, ClearAfter: time.Minute, Relays: PadRelay, Deferrable: true,
		Advice: "Put the probe back under water, look at the level, then confirm the fill.",
	},
	ProbesDiffer: {
		Name: "probes differ", LooksAt: "the in-water probes disagree in both phases of a cycle; the cooler is disbelieved, no heat while nobody is present",
		Severity: Warning, ClearAfter: time.Minute, Relays: PadRelay, Deferrable: true,
		Advice: "Compare both probes in one cup of water.",
	},
	ProbeFrozen: {
		Name: "probe frozen", LooksAt: "the same code far longer than when healthy while the others moved, or although heat and losses must have moved it; the only probe of its kind trips after half an hour without heat",
		TripDelay: time.Minute, ClearAfter: 10 * time.Second,
		Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenProbe,
		Advice: "Change the probe.",
	},
	UnaskedRise: {
		Name: "unasked rise", LooksAt: "water or floor warms with heat commanded off; latched on proof",
		ClearAfter: 30 * time.Minute,
		Severity:   Warning, Latches: true, Relays: EveryRelay, Reset: Board, Seen: SeenAnimal | SeenPad,
		Advice: "Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.",
	},
	NoRise: {
		Name: "no rise", LooksAt: "heat commanded on and no answer: pad, relay, lid or probe; latched on the floor's proof",
		ClearAfter: 15 * time.Minute,
		Severity:   Warning, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenPad, Deferrable: true,
		Advice: "Look at pad, plug and lid, and whether each probe is in this tub.",
	},
	HeatFromOutside: {
		Name: "heat from outside", LooksAt: "rise with every relay open, or a room over the set point",
		Delay: time.Minute, ClearAfter: 30 * time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Shade the tub or cool the room.",
	},
	NoWater: {
		Name: "no water", LooksAt: "a reading that falls faster than water can: heat off until the fill is confirmed; tripped when heat warms far too quickly",
		Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Board, Seen: SeenAnimal | SeenLevel | SeenPad,
		Advice: "Look at the water level and at every probe, then confirm the fill.",
	},
	WaterLow: {
		Name: "water low", LooksAt: "learned mass against the last confirmed fill: alarm under 70 %, heat off under 50 %, each after a quarter of allowance",
		Delay: 10 * time.Minute, ClearAfter: 2 * time.Hour, Severity: Warning, Relays: PadRelay, Deferrable: true,
		Advice: "Top up the water, then confirm the fill.",
	},
	WrongTub: {
		Name: "wrong tub", LooksAt: "heating here warms the probe of another tub: heat off until the proof is begun anew; a doubt alone is a note",
		Severity: Note, Relays: OwnRelays,
		Advice: "Trace each probe and pad to its tub, then prove anew.",
	},
	OnTooLong: {
		Name: "on too long", LooksAt: "unbroken heat past the longest that a warm-up in the coldest room can need",
		Severity: Trip, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenAnimal | SeenPad,
		Advice: "Look whether the pad warms and the lid is on.",
	},
	RelayDisagrees: {
		Name: "relay disagrees", LooksAt: "the pad relay's feedback against its command",
		Delay: 5 * time.Second, ClearAfter: 5 * time.Second,
		Severity: Trip, Latches: true, Relays: EveryRelay, Reset: Page, Seen: SeenPad,
		Advice: "Unplug the pad. Change the pad relay.",
	},
	RelayUnwritable: {
		Name: "relay cannot be written", LooksAt: "a relay of this station could not be written: heat off, then trip",
		TripDelay: 10 * time.Second, ClearAfter: 5 * time.Second,
		Severity: HeatOff, Latches: true, Relays: EveryRelay, Reset: Page, Seen: SeenPad,
		Advice: "Unplug the pad. Look at the relay board.",
	},
	SeriesWelded: {
		Name: "series relay welded", LooksAt: "the series relay's feedback, or warming with the series relay open in its proof",
		Delay: 5 * time.Second, ClearAfter: 5 * time.Second,
		Severity: Trip, Latches: true, Relays: EveryRelay, Reset: Page, Seen: SeenPad,
		Advice: "Unplug the pad. Change the series relay.",
	},
	BothWelded: {
		Name: "both relays welded", LooksAt: "water 1.2 K over the set point that still climbs with everything commanded off for 15 min; latched on the floor's proof or by feedback",
		Delay: 5 * time.Second, ClearAfter: time.Minute,
		Severity: Warning, Latches: true, Relays: EveryRelay, Reset: Board, Seen: SeenAnimal | SeenPad,
		Advice: "PULL THE PLUG. Lift the snake out. Dry box.",
	},
	AttendedTooLong: {
		Name: "attended too long", LooksAt: "time since the lid came off; the alarm asks anew every ten minutes",
		Severity: HeatOff, Relays: PadRelay,
		Advice: "Close the lid, take the hands out and end the attended mode.",
	},
	NobodyPresent: {
		Name: "nobody present", LooksAt: "time since a person's last act, at a station that heats only attended",
		Severity: HeatOff, Relays: PadRelay, Deferrable: true,
		Advice: "Look at the animal and say that you are here.",
	},
	Unproven: {
		Name: "unproven", LooksAt: "the proofs of relays and pairing: no heat but the proof's own pulses; when those fail, none unless a person is present or the tub is empty",
		Severity: Warning, Relays: PadRelay, Deferrable: true,
		Advice: "Stay with the tub until the proof has passed.",
	},
	TooManyRestarts: {
		Name: "restarts", LooksAt: "unclean starts: heat waits five minutes, doubling; the third in an hour trips",
		Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenAnimal,
		Advice: "Find out what stops the program: power, heat, card.",
	},
	LoopLate: {
		Name: "loop late", LooksAt: "lateness of a tick over 5 s",
		ClearAfter: 5 * time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Look what else this computer is doing.",
	},
	ClockStepped: {
		Name: "clock stepped", LooksAt: "the wall clock against the monotonic one",
		ClearAfter: time.Minute, Severity: Note, Deferrable: true,
		Advice: "Check the date and time.",
	},
	JournalFailing: {
		Name: "journal failing", LooksAt: "the record; heat off while the latch store is not proven",
		Delay: 30 * time.Second, ClearAfter: time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Look at the card and change it.",
	},
	CardNearlyFull: {
		Name: "card nearly full", LooksAt: "room left for the record",
		Delay: time.Minute, ClearAfter: 10 * time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Make room on the card.",
	},
	SupplyLow: {
		Name: "supply low", LooksAt: "the board's own supply voltage",
		Delay: 10 * time.Second, ClearAfter: 10 * time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Change the board's power supply or its cable.",
	},
	CalibrationOverdue: {
		Name: "calibration overdue", LooksAt: "the due date of each probe",
		Severity: Warning, Deferrable: true,
		Advice: "Calibrate the probes.",
	},
	ProofOverdue: {
		Name: "proof overdue", LooksAt: "age of the series relay's proof, due weekly",
		ClearAfter: time.Minute, Severity: Warning, Deferrable: true,
		Advice: "Begin the proof of the relays and stay with it.",
	},
	OverLimit: {
		Name: "over the limit", LooksAt: "hottest probe of the chamber: heat off at the limit, trip 2 K over it",
		ClearAfter: 10 * time.Second, Severity: HeatOff, Latches: true, Relays: OwnRelays, Reset: Page, Seen: SeenProbe,
		Advice: "Unplug the heater if the heat does not stop. Keep the door shut while anything smokes.",
	},
	AirflowLost: {
		Name: "airflow lost", LooksAt: "the airflow input while the fan runs",
		Delay: 5 * time.Second, ClearAfter: 10 * time.Second, Severity: HeatOff, Relays: PadRelay,
		Advice: "Look at the fan.",
	},
	OverTime: {
		Name: "over time", LooksAt: "the treatment's planned time",
		Severity: Warning, Deferrable: true,
		Advice: "Look for a leak or a cold corner.",
	},
	OutOfPiece: {
		Name: "out of its piece", LooksAt: "a core probe that follows the air, moves faster than its piece can, or is there far too soon",
		Severity: Warning, Deferrable: true,
		Advice: "Stop the treatment. When it is cool, put the core probe back into its piece and begin anew.",
	},
	DoorOpened: {
		Name: "door open", LooksAt: "the door input",
		Severity: HeatOff, Relays: PadRelay, Deferrable: true,
		Advice: "Close the door.",
	},
}
