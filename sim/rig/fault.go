package rig

import (
	"fmt"
	"strings"
	"time"
)

// FaultKind is one way in which a bench goes wrong, by the name a scenario
// uses. The set of kinds is FaultKinds.
type FaultKind string

// The kinds of fault.
const (
	RelayWelded       FaultKind = "relay welded"
	RelayOpen         FaultKind = "relay open"
	RelayChatters     FaultKind = "relay chatters"
	RelayRefuses      FaultKind = "relay cannot be written"
	RelayInverted     FaultKind = "relay inverted"
	PadDead           FaultKind = "pad dead"
	PadWeak           FaultKind = "pad weak"
	ProbeSilent       FaultKind = "probe silent"
	ProbeFrozen       FaultKind = "probe frozen"
	ProbePowerOnValue FaultKind = "probe power-on value"
	ProbeOffset       FaultKind = "probe offset"
	ProbeDrifts       FaultKind = "probe drifts"
	ProbeNoisy        FaultKind = "probe noisy"
	ProbeOutOfWater   FaultKind = "probe out of water"
	ProbesSwapped     FaultKind = "probes swapped"
	ProbeOutOfPiece   FaultKind = "probe out of piece"
	FanDead           FaultKind = "fan dead"
	BusShorted        FaultKind = "bus shorted"
	BusHung           FaultKind = "bus hung"
	TubLeaking        FaultKind = "tub leaking"
	TubEmptied        FaultKind = "tub emptied"
	LidOff            FaultKind = "lid off"
	RoomHot           FaultKind = "room hot"
	RoomCold          FaultKind = "room cold"
	SunOnTub          FaultKind = "sun on tub"
	MainsLost         FaultKind = "mains lost"
	PadsLost          FaultKind = "pads lost"
	ClockStepped      FaultKind = "clock stepped"
	CardFull          FaultKind = "card full"
	CardFailing       FaultKind = "card failing"
	DaemonPaused      FaultKind = "daemon paused"
	DaemonKilled      FaultKind = "daemon killed"
)

// TargetKind says what a fault is aimed at.
type TargetKind uint8

// The kinds of target.
const (
	NoTarget      TargetKind = iota // the whole bench
	AtRelay                         // a relay's name
	AtBus                           // a bus's name
	AtStation                       // a station's name
	AtProbe                         // station/role, station/role-2 or station/ROM
	AtStationPair                   // two stations: a,b
)

func (t TargetKind) String() string {
	return [...]string{"nothing", "a relay", "a bus", "a station", "station/role", "two stations (a,b)"}[t]
}

// FaultSpec says what a kind of fault needs.
type FaultSpec struct {
	Kind     FaultKind
	Target   TargetKind
	Unit     string  // of the amount, empty when there is none
	Low      float64 // bounds of the amount in Unit, both allowed
	High     float64
	Optional bool   // the amount may be left out
	Words    string // what it does, for a person
}

// FaultKinds lists every kind of fault in a fixed order.
var FaultKinds = []FaultSpec{
	{RelayWelded, AtRelay, "", 0, 0, false, "the contact stays closed"},
	{RelayOpen, AtRelay, "", 0, 0, false, "the contact stays open"},
	{RelayChatters, AtRelay, "", 0, 0, false, "the contact opens every other second"},
	{RelayRefuses, AtRelay, "", 0, 0, false, "the line takes no value"},
	{RelayInverted, AtRelay, "", 0, 0, false, "the relay is wired with the other polarity than was declared"},
	{PadDead, AtStation, "", 0, 0, false, "the pad gives no heat"},
	{PadWeak, AtStation, "%", 0, 100, false, "the pad gives only this share of its power"},
	{ProbeSilent, AtProbe, "", 0, 0, false, "the probe is gone from the bus"},
	{ProbeFrozen, AtProbe, "", 0, 0, false, "the probe repeats its last code"},
	{ProbePowerOnValue, AtProbe, "", 0, 0, false, "the probe loses power before each conversion"},
	{ProbeOffset, AtProbe, "K", -50, 50, false, "the probe reads this much off"},
	{ProbeDrifts, AtProbe, "K/day", -50, 50, false, "the probe's error grows"},
	{ProbeNoisy, AtProbe, "K", 0, 20, false, "the probe scatters, one standard deviation"},
	{ProbeOutOfWater, AtProbe, "air|floor|pad", 0, 0, true, "the probe lies somewhere else"},
	{ProbesSwapped, AtStationPair, "", 0, 0, false, "the control probes of two tubs are crossed"},
	{ProbeOutOfPiece, AtProbe, "", 0, 0, false, "the probe was pulled out of its piece and hangs in the chamber's air"},
	{FanDead, AtStation, "", 0, 0, false, "the fan of a chamber does not turn"},
	{BusShorted, AtBus, "", 0, 0, false, "the data line is shorted to ground"},
	{BusHung, AtBus, "", 0, 0, false, "nothing on the bus answers in time"},
	{TubLeaking, AtStation, "L/h", 0, 1000, false, "the tub leaks"},
	{TubEmptied, AtStation, "", 0, 0, false, "the water runs out at once"},
	{LidOff, AtStation, "", 0, 0, false, "the lid is off"},
	{RoomHot, NoTarget, "K", 0, 40, false, "the room is this much warmer"},
	{RoomCold, NoTarget, "K", 0, 40, false, "the room is this much colder"},
	{SunOnTub, AtStation, "W", 0, 200, false, "the sun shines into the water"},
	{MainsLost, NoTarget, "", 0, 0, false, "pads and board have no power"},
	{PadsLost, NoTarget, "", 0, 0, false, "the pads have no power"},
	{ClockStepped, NoTarget, "s", -1e9, 1e9, false, "the wall clock jumps"},
	{CardFull, NoTarget, "", 0, 0, false, "nothing more fits on the card"},
	{CardFailing, NoTarget, "", 0, 0, false, "the card does not take a write"},
	{DaemonPaused, NoTarget, "s", 0, 86400, false, "the program stands still"},
	{DaemonKilled, NoTarget, "", 0, 0, false, "the program dies and is started again"},
}

// Example is an amount that makes sense for the kind, with its unit; empty when
// it takes none.
func (s FaultSpec) Example() string {
	switch s.Kind {
	case PadWeak:
		return "40%"
	case ProbeOffset:
		return "-1K"
	case ProbeDrifts:
		return "-4K/day"
	case ProbeNoisy:
		return "0.3K"
	case ProbeOutOfWater:
		return "air"
	case TubLeaking:
		return "2L/h"
	case RoomHot, RoomCold:
		return "8K"
	case SunOnTub:
		return "12W"
	case ClockStepped, DaemonPaused:
		return "5s"
	}
	return ""
}

// Fault is one fault of a scenario, as data.
type Fault struct {
	Kind   FaultKind
	Target string
	At     time.Duration
	Until  time.Duration // zero: for good
	Amount float64       // in the unit of its kind
	Where  string        // of a probe out of water: air, floor or pad
}

// Spec returns what kind needs; an unknown one is an error that lists the known.
func (kind FaultKind) Spec() (FaultSpec, error) {
	names := make([]string, 0, len(FaultKinds))
	for _, s := range FaultKinds {
		if s.Kind == kind {
			return s, nil
		}
		names = append(names, string(s.Kind))
	}
	return FaultSpec{}, fmt.Errorf("no such fault %q: write one of %s", kind, strings.Join(names, ", "))
}

// Active says whether the fault is there at now.
func (f *Fault) Active(now time.Duration) bool {
	return now >= f.At && (f.Until == 0 || now < f.Until)
}

// Check says what is wrong with the fault's own data: its kind, amount and
// times. Whether the target exists is the bench's question.
func (f *Fault) Check() error {
	s, err := f.Kind.Spec()
	if err != nil {
		return err
	}
	switch {
	case f.At < 0:
		return fmt.Errorf("%s: at lies before the start: write a time from 0s on", f.Kind)
	case f.Until != 0 && f.Until <= f.At:
		return fmt.Errorf("%s: until must come after at", f.Kind)
	case s.Target == NoTarget && f.Target != "":
		return fmt.Errorf("%s: takes no target: leave it out", f.Kind)
	case s.Target != NoTarget && f.Target == "":
		return fmt.Errorf("%s: needs a target: write %s", f.Kind, s.Target)
	case f.Kind == ProbeOutOfWater && f.Where != "air" && f.Where != "floor" && f.Where != "pad":
		return fmt.Errorf("%s: no place %q: write air, floor or pad", f.Kind, f.Where)
	case !(f.Amount >= s.Low && f.Amount <= s.High):
		return fmt.Errorf("%s: amount %g %s is outside %g to %g", f.Kind, f.Amount, s.Unit, s.Low, s.High)
	}
	return nil
}
