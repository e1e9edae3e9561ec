package controller

import (
	"testing"
	"time"
)

// times are how long a condition must be there until its cause acts and until
// it trips (0: never by time), and how long it must be away until that is over;
// with what a reset must name as looked at. The same figures stand in SAFETY.md.
var times = map[Cause]struct {
	acts, trips, ends time.Duration
	seen              Seen
}{
	OverCutoff:         {0, 0, 10 * time.Second, SeenAnimal | SeenLevel | SeenProbe},
	OverBand:           {20 * time.Second, 0, time.Minute, SeenAnimal | SeenLevel | SeenPad},
	FloorTooHot:        {0, 0, 10 * time.Second, SeenAnimal | SeenPad},
	TooCold:            {time.Minute, 0, time.Minute, 0},
	ProbeSilent:        {10 * time.Second, time.Minute, 5 * time.Second, SeenProbe},
	ProbeImplausible:   {10 * time.Second, time.Minute, 5 * time.Second, SeenProbe},
	ProbeJumped:        {0, 0, time.Minute, 0},
	ProbesDiffer:       {0, 0, time.Minute, 0},
	ProbeFrozen:        {0, time.Minute, 10 * time.Second, SeenProbe},
	UnaskedRise:        {0, 0, 30 * time.Minute, SeenAnimal | SeenPad},
	NoRise:             {0, 0, 15 * time.Minute, SeenPad},
	HeatFromOutside:    {time.Minute, 0, 30 * time.Minute, 0},
	NoWater:            {0, 0, 0, SeenAnimal | SeenLevel | SeenPad},
	WaterLow:           {10 * time.Minute, 0, 2 * time.Hour, 0},
	WrongTub:           {},
	OnTooLong:          {seen: SeenAnimal | SeenPad},
	RelayDisagrees:     {5 * time.Second, 0, 5 * time.Second, SeenPad},
	RelayUnwritable:    {0, 10 * time.Second, 5 * time.Second, SeenPad},
	SeriesWelded:       {5 * time.Second, 0, 5 * time.Second, SeenPad},
	BothWelded:         {5 * time.Second, 0, time.Minute, SeenAnimal | SeenPad},
	AttendedTooLong:    {},
	NobodyPresent:      {},
	Unproven:           {},
	TooManyRestarts:    {seen: SeenAnimal},
	LoopLate:           {0, 0, 5 * time.Minute, 0},
	ClockStepped:       {0, 0, time.Minute, 0},
	JournalFailing:     {30 * time.Second, 0, time.Minute, 0},
	CardNearlyFull:     {time.Minute, 0, 10 * time.Minute, 0},
	SupplyLow:          {10 * time.Second, 0, 10 * time.Minute, 0},
	CalibrationOverdue: {},
	ProofOverdue:       {0, 0, time.Minute, 0},
	OverLimit:          {0, 0, 10 * time.Second, SeenProbe},
	AirflowLost:        {5 * time.Second, 0, 10 * time.Second, 0},
	OverTime:           {},
	OutOfPiece:         {},
	DoorOpened:         {},
}

// Every cause acts, trips and ends when its times are over, to the second.
func TestEveryCauseKeepsItsTimes(t *testing.T) {
	for c := NoCause + 1; c < causeCount; c++ {
		want, ok := times[c]
		if !ok {
			t.Errorf("%s has no times", c)
			continue
		}
		set := tubSettings()
		if c >= OverLimit {
			set = chamberSettings()
		}
		s := newReady(t, set, set.SetPoint).s
		s.dt, s.grace = time.Second, time.Second
		second := func(there causes) { s.present, s.off, s.grave = there, 0, 0; s.use(s.stirring()) }
		acts, trips := int(max(want.acts, time.Second)/time.Second), int(want.trips/time.Second)
		if c.Rule().Severity == Trip {
			trips = acts
		}
		for n := 1; n <= max(acts, trips); n++ {
			second(1 << c)
			if s.acting.has(c) != (n >= acts) || s.latched.has(c) != (trips > 0 && n >= trips) {
				t.Errorf("%s after %d s: acts %v, tripped %v", c, n, s.acting.has(c), s.latched.has(c))
				break
			}
		}
		ends := int(max(want.ends, time.Second) / time.Second)
		for n := 1; n <= ends; n++ {
			second(0)
			if s.acting.has(c) != (n < ends) {
				t.Errorf("%s away for %d s: acts %v", c, n, s.acting.has(c))
				break
			}
		}
		if s.latched.has(c) != (trips > 0) {
			t.Errorf("%s: latched %v when its condition is over", c, s.latched.has(c))
		}
		if c.Rule().Seen != want.seen {
			t.Errorf("%s: a reset must name %04b, want %04b", c, c.Rule().Seen, want.seen)
		}
	}
}

// Grace comes back ten times slower than it is used up, and an interruption of
// what acts begins its end anew.
func TestGraceComesBackSlowly(t *testing.T) {
	s := newReady(t, tubSettings(), at(29.4)).s
	s.dt, s.grace = time.Second, time.Second
	seconds := func(n int, there bool) {
		for range n {
			if s.present, s.off, s.grave = 0, 0, 0; there {
				s.present = 1 << OverBand
			}
			s.use(s.stirring())
		}
	}
	seconds(19, true)
	seconds(20, false) // two seconds of grace
	seconds(2, true)
	if s.acting.has(OverBand) {
		t.Error("acts a second before its grace is used up")
	}
	if seconds(1, true); !s.acting.has(OverBand) {
		t.Error("grace came back too fast")
	}
	seconds(59, false)
	seconds(1, true)
	seconds(59, false)
	if !s.acting.has(OverBand) {
		t.Error("two pauses were added up")
	}
	if seconds(1, false); s.acting.has(OverBand) {
		t.Error("it acts a minute after its condition went away")
	}
	// All of it comes back in ten times its length and no more than that.
	seconds(200, false)
	seconds(19, true)
	if s.acting.has(OverBand) {
		t.Error("grace did not come back")
	}
	seconds(500, false)
	seconds(19, true)
	if s.acting.has(OverBand) {
		t.Error("grace did not come back")
	}
	seconds(1, true)
	if !s.acting.has(OverBand) {
		t.Error("more grace came back than there is")
	}
}
