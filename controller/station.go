package controller

import (
	"math/bits"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/alarm"
	"soakwarden/controller/observer"
)

// causes is a set of causes.
type causes uint64

func (s causes) has(c Cause) bool { return s&(1<<c) != 0 }

// next takes the first cause out of the set.
func (s *causes) next() Cause {
	c := Cause(bits.TrailingZeros64(uint64(*s)))
	*s &= *s - 1
	return c
}

// mark is what the station remembers of one cause.
type mark struct {
	held     time.Duration // grace used up
	away     time.Duration // for which the condition of an acting cause is away
	age      time.Duration // since it acts
	value    physic.Temperature
	probe    int8
	severity Severity
	alarm    alarm.Machine
}

// kept is the part of a station that Save writes. Times are spans that run
// only while the program runs, so that nothing in it depends on a clock.
type kept struct {
	marks   [causeCount]mark
	acting  causes
	latched causes

	onTime       time.Duration             // of unbroken heat
	resets       [resetsMost]time.Duration // until each page reset is forgotten
	attended     bool
	attendedFor  time.Duration
	extensions   uint8
	climb        time.Duration // since the alarm about it last asked
	widened      time.Duration // until tests are narrow again
	presence     time.Duration // for which a person still counts as present
	animal       Animal
	outOfService bool
	everReady    bool
	crossed      bool          // wrong tub, until the proof is begun anew
	warm         Cause         // whose alarm speaks for the warmth that lasts
	warmFor      time.Duration // until that event is over, once nothing speaks of it
	floorAgain   time.Duration // in which one more floor too hot trips
	gone         Cause         // why the water must be looked at before any heat; NoCause when it need not

	sequence
}

// Station is one station's decision core.
//
//	            ┌── sense ──▶ observer ──┐
//	Input ──▶ acts                       ├──▶ protect ──▶ permitted ──┐
//	            └── attended, presence ──┘        │                   ├─and─▶ Command
//	                                              ▼                   │
//	                                        latches, alarms   operate ┘
//	                                                          (or the proof)
//
// A station that knows nothing of its relays proves them before it holds the
// water; see sequence for the order. The zero value is not usable; call New.
type Station struct {
	kept
	set  Settings
	rate rates
	obs  *observer.Observer // nil in a chamber
	clock

	probes  []*sense  // in the order of Settings.Probes, and among these
	control *sense    // in the water; one that never says anything where there is none,
	guard   *sense    // in the water, likewise,
	floor   *sense    // and over the pad, likewise
	wet     []*sense  // the one or two in the water
	given   []Reading // the readings, when there are too few
	place   [3]int    // index in Settings.Probes by observer.Place, −1 for none
	room    int       // index of the room's probe, −1 for none
	fit     bool      // may be left alone with an animal
	overdue bool      // a probe's calibration is
	water   water
	look    finding
	tells   observer.Input // what the observer is told
	run     operating
	heater  heater // of a chamber
	stage   Stage
	trial   trial

	present causes // conditions of this Step
	off     causes // of them, those that withhold heat whatever the table says
	grave   causes // of them, those that trip whatever the table says
	worn    causes // those that have used up some grace
	alive   causes // those whose alarm needs attention
	told    [causeCount]alarm.State

	blind   time.Duration // without a believable in-water probe
	ready   bool          // every required probe is good in this Step
	begin   bool          // required probes have agreed since the start
	agreed  time.Duration
	unalike time.Duration
	changed bool // the water was changed, told to the observer in this Step
	doubts  bool // some probe is disbelieved
	tandem  bool // the series relay follows the pad relay at every off
	waits   Wait
	readyAt time.Duration
	command Command
	out     Output
}

// clock is the station's time.
type clock struct {
	begun bool
	start time.Duration
	now   time.Duration
	dt    time.Duration // since the Step before
	grace time.Duration // dt, as far as somebody looked

	// What follows from dt, which is nearly always what it was.
	share float64            // of the way to the mean that smoothing goes
	lift  physic.Temperature // that the effective set point may rise
}

// lookMost is how much of a gap between two Steps counts as a condition that
// lasted: what nobody looked at proves nothing. Spans of heat count in full.
const lookMost = 5 * time.Second

// Step decides one tick. The Output is valid until the next Step.
//
//go:noinline
func (s *Station) Step(in *Input) *Output {
	s.tick(in.Now)
	s.out.Events = s.out.Events[:0]
	s.pass()
	s.idle()
	s.flow(in)
	if len(in.Acts) > 0 {
		s.takeActs(in.Acts)
	}
	s.sense(in)
	if s.set.Kind == Tub {
		s.mix()
		s.watch(in)
	}
	s.protect(in)
	s.prove(in)
	s.operate(in)
	s.decide(in)
	return &s.out
}

// tick goes on to the time of this Step.
func (s *Station) tick(now time.Duration) {
	if now-s.now != s.dt || !s.begun {
		s.pace(now)
	}
	s.now = now
}

// pace works out what follows from the time between two Steps when it is not
// what it was.
func (s *Station) pace(now time.Duration) {
	if !s.begun {
		s.begun, s.start, s.now = true, now, now
		s.look.ask = now
	}
	must(now >= s.now, "the clock ran backward")
	dt := now - s.now
	s.dt, s.grace = dt, min(dt, lookMost)
	s.share = min(1, dt.Seconds()/smoothTime)
	s.lift = physic.Temperature(over(s.set.RampPerHour, dt))
}

// must holds an invariant in production. The caller opens every relay when it
// is broken.
func must(held bool, invariant string) {
	if !held {
		panic("controller: broken invariant: " + invariant)
	}
}

// event adds one event to this Step's list.
func (s *Station) event(e Event) { s.out.Events = append(s.out.Events, e) }
