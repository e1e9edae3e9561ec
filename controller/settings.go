package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// ProbeSettings describes one probe of a station.
type ProbeSettings struct {
	Role        Role
	Uncertainty Difference // expanded, after calibration; 1.2 K when never calibrated
	Calibrated  bool
	Overdue     bool // its calibration is past its due date
}

// Limits are plain numbers that the thermal model of the configured station
// says the water will do. They are nominal: the real tub may be off by a lot.
type Limits struct {
	GainPerHour Difference      // rise of the water an hour at full pad, no losses (P/C)
	LossPerHour Difference      // fall of the water an hour at the set point in the coldest room, heat off
	Coast       time.Duration   // heat still on its way into the water when the pad goes off, over P
	LongestOn   time.Duration   // the longest unbroken heat that a warm-up in the coldest room can need
	FloorRise   Difference      // floor over the pad minus water, steady, at full pad
	Flux        int32           // pad power over its area, W/m²
	Depth       physic.Distance // of the water; zero is unknown
}

// Settings is everything that a station is told. The zero value never heats.
type Settings struct {
	Kind          Kind
	SetPoint      physic.Temperature // middle of the differential
	Differential  Difference         // between switching on and off
	TooCold       physic.Temperature
	Cutoff        physic.Temperature
	FloorBound    physic.Temperature // tub: at most 35 °C
	RoomWarmest   physic.Temperature
	MinOn         time.Duration
	MinOff        time.Duration
	RampPerHour   Difference // the most that the effective set point may rise an hour
	Probes        []ProbeSettings
	HasPad        bool // a pad relay is wired
	HasSeries     bool // a series relay is wired
	SeriesShared  bool // it serves other stations too
	HasPadSeen    bool // the pad relay has feedback
	HasSeriesSeen bool // the series relay has feedback
	AttendedOnly  bool // heats only while a person was here within the last 30 min
	Limits        Limits

	// Chamber only.
	Limit physic.Temperature // for the hottest probe
	// HasAirflow, HasFan, HasDoor: what is wired.
	HasFan     bool
	HasAirflow bool
	HasDoor    bool
}

// EventKind says what happened.
type EventKind uint8

// The kinds of event.
const (
	NoEvent      EventKind = iota
	CauseRaised            // the cause passed its delay and acts
	CauseCleared           // its condition went away and it is not latched
	Latched                // the protective control tripped on the cause
	ResetDone              // a person's reset was accepted
	ActDone                // another act was accepted
	ActRefused             // an act was refused; Refusal says why
	AlarmChanged           // the alarm of Cause went from From to To
	HeatSwitched           // the command changed; On says to what
	SeriesSwitched
	FirstHeat  // the first heat since the start
	Ready      // in band for ten minutes, the probes agreeing
	ModeChange // attended mode began or ended; On says which
	Proof      // a proof was passed (On) or failed
)

// Refusal says why an act was refused.
type Refusal uint8

// The refusals.
const (
	NoRefusal      Refusal = iota
	CausePersists          // the condition is still there
	WrongPlace             // this cause is reset only at the board
	NotSeen                // what must be named as seen was not named
	TooManyResets          // more than three from the page within 24 h
	NothingLatched         // there is nothing to reset
	NotActive              // no such alarm to acknowledge or shelve
	NotNow                 // the station's mode does not allow it
	NoMoreExtensions
)

// Event is one thing that happened in a Step.
type Event struct {
	Kind    EventKind
	Cause   Cause
	From    uint8 // alarm.State before
	To      uint8 // alarm.State after
	Refusal Refusal
	On      bool
	Probe   int8               // index of the probe it is about, −1 for none
	Number  uint32             // of the act it answers
	Value   physic.Temperature // what was measured, when it is about a temperature
}

// Output is the answer of one Step. Events is valid until the next Step.
type Output struct {
	Command Command
	// OpenShared: the series relay must be open even where other stations
	// share it and need it (a trip, or no believable in-water probe).
	OpenShared bool
	Permitted  bool               // the protective control would allow heat
	Reason     Cause              // the worst cause that withholds heat, NoCause when permitted
	Effective  physic.Temperature // the set point that governs now (it climbs after a start)
	Governing  int                // index of the probe that governs, −1 for none
	Events     []Event
}
