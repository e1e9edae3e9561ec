// Package pairing decides which station of a bench may take its first heat, and
// notices when the pad of one tub warms the water of another.
//
// Stations whose pairing is not proven take heat one after another: with one
// unproven pad on, whatever else warms without heat of its own is warmed by
// that pad. A proven station heats when it likes, until its water rises unasked
// or misses its heat: probes that were put back crossed are found by asking the
// pads one by one. The package never grants heat by itself: a permit is one
// condition among those that each station's protective control asks for.
//
// Invariants: at most one unproven station holds a permit; a crossing once seen
// stays until Forget; a station that cannot use its permit does not block the
// others for ever.
package pairing

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// Bounds of a turn. A turn that shows nothing in 45 min belongs to a pad that
// cannot warm its tub, which is the station's own alarm; ten minutes without
// asking for heat means that the water is warm already. Five minutes between
// turns let the heat that is still under way arrive (three times the longest
// coast seen at the ninety-fifth percentile, 300 s at the ninety-ninth).
const (
	longestTurn = 45 * time.Minute
	longestIdle = 10 * time.Minute
	pause       = 5 * time.Minute
)

// What counts as warmed by another's pad. Three codes of a 12-bit probe are
// well over its noise; sun and a warming room do that too, so the rise must also
// be a quarter of what the pad on trial would have given its own tub, and that
// tub must have stayed behind. Less than five codes expected proves nothing.
const (
	leastRise     = 187500 * physic.MicroKelvin
	leastExpected = 312500 * physic.MicroKelvin
)

// Station is what the bench sees of one station in a tick.
type Station struct {
	Proven  bool               // its pad is known to warm its own tub and no other
	Heating bool               // current was commanded through its pad
	Unasked bool               // its water rises although its pad is off
	Misses  bool               // its pad is on and its water does not rise
	Latched bool               // its heat is off until a person resets it
	Valid   bool               // Water can be believed
	Water   physic.Temperature // of its in-water probes
	Gain    physic.Temperature // nominal rise of its water in an hour of full heat
}

// Verdict is the answer for one station. The zero value permits nothing.
type Verdict struct {
	Permit  bool
	Crossed bool // its pad warms another's water, or another's pad warms its own
}

// Bench holds the turns. The zero value is ready to use and permits nothing
// until its first Step.
type Bench struct {
	turn    bool
	holder  int
	next    int
	since   time.Duration // of the turn
	idle    time.Duration // last moment at which the holder heated, or the turn began
	rest    time.Duration // no turn begins before
	heated  time.Duration // of the holder in this turn
	last    time.Duration
	started bool
	base    []physic.Temperature
	based   []bool
	crossed []bool
	doubt   doubt
}

// Step gives a verdict for each station. out must be as long as stations, and
// the number of stations must never change.
func (b *Bench) Step(now time.Duration, stations []Station, out []Verdict) {
	if b.crossed == nil {
		b.crossed = make([]bool, len(stations))
		b.base = make([]physic.Temperature, len(stations))
		b.based = make([]bool, len(stations))
	}
	b.endTurn(now, stations)
	b.beginTurn(now, stations)
	if b.turn {
		b.watch(now, stations)
	}
	b.ask(now, stations)
	b.last, b.started = now, true
	for i, s := range stations {
		out[i] = Verdict{
			Permit:  (s.Proven || b.turn && b.holder == i) && !b.doubt.holds(i),
			Crossed: b.crossed[i],
		}
	}
}

// Forget clears what is known of crossings: a person changed the wiring.
func (b *Bench) Forget() { *b = Bench{last: b.last, started: b.started} }

func (b *Bench) endTurn(now time.Duration, stations []Station) {
	if !b.turn {
		return
	}
	if stations[b.holder].Proven || b.crossed[b.holder] ||
		now-b.since >= longestTurn || now-b.idle >= longestIdle {
		b.turn = false
		b.next = b.holder + 1
		if b.heated > 0 {
			b.rest = now + pause
		}
	}
}

func (b *Bench) beginTurn(now time.Duration, stations []Station) {
	if b.turn || now < b.rest || b.doubt.phase != asksNothing {
		return
	}
	for k := range stations {
		i := (b.next + k) % len(stations)
		if stations[i].Proven || b.crossed[i] {
			continue
		}
		b.turn, b.holder, b.since, b.idle, b.heated = true, i, now, now, 0
		for j, s := range stations {
			b.base[j], b.based[j] = s.Water, s.Valid
		}
		return
	}
}

// watch looks for water that warms although only the holder's pad is on.
func (b *Bench) watch(now time.Duration, stations []Station) {
	h := &stations[b.holder]
	if h.Heating {
		b.idle = now
		if b.started {
			b.heated += now - b.last
		}
	}
	if b.heated == 0 {
		// Until the first heat the base line follows the water.
		for j, s := range stations {
			b.base[j], b.based[j] = s.Water, s.Valid
		}
		return
	}
	expected := h.expected(b.heated)
	if expected < leastExpected || !b.based[b.holder] || !h.Valid || h.Water-b.base[b.holder] >= expected/2 {
		return
	}
	for j, s := range stations {
		if j == b.holder || s.Proven || s.Heating || !s.Valid || !b.based[j] {
			continue
		}
		if rise := s.Water - b.base[j]; rise >= leastRise && rise >= expected/4 {
			b.crossed[b.holder], b.crossed[j] = true, true
		}
	}
}
