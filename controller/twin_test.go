package controller

import (
	"fmt"
	"time"

	"soakwarden/controller/alarm"
)

// twin is the protective control written a second time, as simply as possible:
// a record for each cause, letters for alarm states, no sets, no shortcuts. It
// is told which conditions are there and decides on its own what acts, what is
// latched, what a reset does, where each alarm stands and whether heat may be.
type twin struct {
	tub    bool
	causes [causeCount]twinCause
	resets []time.Duration // ages of accepted resets from the page

	speaker  Cause // whose alarm stands for the warmth
	speaking time.Duration
	warmth   bool // something spoke of warmth at the end of the step before

	// What the twin was told in the step before.
	water   int
	tooWarm bool // hottest over the set point by more than the differential
	ready   bool // was ready once
	failed  bool // a proof failed
}

type twinCause struct {
	used, away time.Duration
	acts       bool
	severity   Severity
	latched    bool
	there      bool
	letter     string // A to F
	shelf      time.Duration
	hushed     bool
	out        bool
}

func newTwin(s *Station) *twin {
	t := &twin{tub: s.set.Kind == Tub}
	t.follow(s)
	return t
}

// follow copies where the station stands, once, at the beginning.
func (t *twin) follow(s *Station) {
	for c := range causeCount {
		m := s.marks[c]
		beneath, shelf, hushed, out := m.alarm.Parts()
		t.causes[c] = twinCause{
			used: m.held, away: m.away, acts: s.acting.has(c), severity: m.severity, latched: s.latched.has(c),
			there: s.present.has(c), letter: string("ABCDEF"[beneath]), shelf: shelf, hushed: hushed, out: out,
		}
	}
	for _, left := range s.resets {
		if left > 0 {
			t.resets = append(t.resets, resetsSpan-left)
		}
	}
	t.speaker, t.speaking = s.warm, s.warmFor
	t.warmth = t.warm()
	t.tell(s)
}

func (t *twin) warm() bool {
	return t.causes[OverBand].acts || t.causes[UnaskedRise].acts || t.causes[HeatFromOutside].acts
}

func failed(s *Station) bool {
	return s.proofs[ProofPairing].Failed || s.proofs[ProofAllOff].Failed
}

func (t *twin) tell(s *Station) {
	t.ready, t.failed = s.everReady, failed(s)
	t.water = s.water.count
	t.tooWarm = s.water.hottest-s.set.SetPoint > 0 && Difference(s.water.hottest-s.set.SetPoint) > s.set.Differential
}

// arrows are the transitions of the standard.
var arrows = map[string]string{
	"A there": "B", "B gone": "D", "B gone held": "E", "B ack": "C", "C gone": "A", "C gone held": "F",
	"D there": "B", "D ack": "A", "E there": "B", "E ack": "F", "F there": "B", "F reset": "A", "C again": "B",
}

func (c *twinCause) go_(what string) bool {
	to, ok := arrows[c.letter+" "+what]
	if ok {
		c.letter = to
	}
	return ok
}

func (c *twinCause) state() alarm.State {
	switch {
	case c.out:
		return alarm.OutOfService
	case c.hushed:
		return alarm.SuppressedByDesign
	case c.shelf > 0:
		return alarm.Shelved
	}
	return alarm.State(c.letter[0] - 'A')
}

// act is what the twin makes of one act; only those it knows are compared.
func (t *twin) act(a Act) (Refusal, bool) {
	if a.Kind != Acknowledge && a.Kind != Reset && a.Kind != Shelve && a.Kind != Unshelve {
		return NoRefusal, false
	}
	if a.Cause >= causeCount {
		return NotActive, true
	}
	if a.Place == Nowhere {
		return WrongPlace, true
	}
	c, r := &t.causes[a.Cause], a.Cause.Rule()
	switch a.Kind {
	case Acknowledge:
		if !c.go_("ack") {
			return NotActive, true
		}
	case Unshelve:
		if c.shelf == 0 {
			return NotActive, true
		}
		c.shelf = 0
	case Shelve:
		if c.letter == "A" && c.shelf == 0 {
			return NotActive, true
		}
		if !r.Deferrable || c.latched || a.Span <= 0 || a.Span > alarm.ShelveMost || c.letter == "A" {
			return NotNow, true
		}
		c.shelf = a.Span
	case Reset:
		return t.reset(a), true
	}
	return NoRefusal, true
}

func (t *twin) reset(a Act) Refusal {
	var which []Cause
	for c := range causeCount {
		if t.causes[c].latched && (a.Cause == NoCause || a.Cause == c) {
			which = append(which, c)
		}
	}
	if len(which) == 0 {
		return NothingLatched
	}
	lately := 0
	for _, age := range t.resets {
		if age < resetsSpan {
			lately++
		}
	}
	for _, c := range which {
		r := c.Rule()
		if a.Place < r.Reset {
			return WrongPlace
		}
		for _, thing := range []Seen{SeenAnimal, SeenLevel, SeenProbe, SeenPad} {
			if r.Seen&thing != 0 && a.Seen&thing == 0 {
				return NotSeen
			}
		}
		blind := t.tub && t.water == 0 && (c == OverCutoff || c == OverBand || c == UnaskedRise)
		there := t.causes[c].there || t.causes[c].acts
		if c == UnaskedRise {
			there = t.tooWarm
		}
		if c == NoRise {
			there = false
		}
		if there || blind {
			return CausePersists
		}
		if a.Place == Page && lately >= 3 {
			return TooManyResets
		}
	}
	for _, c := range which {
		k := &t.causes[c]
		k.latched, k.acts, k.severity, k.used, k.away = false, false, NoSeverity, 0, 0
		if t.speaker == c {
			t.speaker, t.speaking = NoCause, 0
		}
		k.go_("gone held")
		k.go_("ack")
		k.go_("reset")
	}
	if a.Place == Page {
		t.resets = append(t.resets, 0)
	}
	return NoRefusal
}

// pass lets time pass before the acts of a step.
func (t *twin) pass(dt time.Duration) {
	if t.warmth && t.speaker != NoCause {
		t.speaking = 30 * time.Minute
	} else if t.speaking -= dt; t.speaking <= 0 {
		t.speaker, t.speaking = NoCause, 0
	}
}

// step carries out what the conditions of this step do.
func (t *twin) step(s *Station, dt time.Duration, again bool) {
	looked := min(dt, 5*time.Second)
	if again {
		t.causes[AttendedTooLong].go_("again")
	}
	for i := range t.causes {
		c := Cause(i)
		k, r := &t.causes[i], c.Rule()
		there := s.present.has(c)
		k.there = there
		if there {
			k.used = max(k.used, s.marks[c].held-looked) // a silent probe's age counts, whoever looked
			k.used = min(k.used+looked, max(r.Delay, r.TripDelay))
			k.away = 0
		} else {
			k.used = max(0, k.used-looked/10)
		}
		if there && k.used >= r.Delay {
			k.acts = true
			k.severity = r.Severity
			if s.off.has(c) && k.severity < HeatOff {
				k.severity = HeatOff
			}
			if s.grave.has(c) || r.TripDelay > 0 && k.used >= r.TripDelay {
				k.severity = Trip
			}
			if k.severity == Trip {
				k.latched = true
			}
		}
		if !there && k.acts {
			k.away += looked
			if k.away >= r.ClearAfter {
				k.acts, k.away = false, 0
				if !k.latched {
					k.severity = NoSeverity
				}
			}
		}
		if k.latched {
			k.severity = Trip
		}
		t.alarm(s, c, k, r, dt)
	}
	t.warmth = t.warm()
	t.tell(s)
}

func (t *twin) alarm(s *Station, c Cause, k *twinCause, r Rule, dt time.Duration) {
	k.shelf = max(0, k.shelf-dt)
	if k.acts && (c == OverBand || c == UnaskedRise || c == HeatFromOutside) && (k.latched || !t.hushes(s, c, false, false)) {
		t.speaker = c
	}
	if k.acts && k.severity >= Warning || c != NoCause && c == t.speaker {
		k.go_("there")
	} else if k.latched {
		k.go_("gone held")
	} else {
		k.go_("gone")
	}
	if k.latched {
		k.shelf = 0
	}
	// Alarms come after the acts of a step and before its proofs, which may
	// change readiness and failures: those count from the step before.
	if t.hushes(s, c, t.ready, t.failed) && !k.latched && k.letter == "D" {
		k.letter = "A"
	}
	hush := t.hushes(s, c, s.everReady, failed(s)) && !k.latched
	if hush && k.letter == "D" && (c == TooCold || c == Unproven) {
		k.letter = "A" // these two are told again when that changes
	}
	k.hushed = hush && k.letter != "A"
	k.out = s.outOfService && r.Deferrable && k.letter != "A"
}

// hushes says whether the design silences the alarm in the station's mode.
func (t *twin) hushes(s *Station, c Cause, ready, failed bool) bool {
	switch c {
	case TooCold:
		return s.attended || s.animal == AnimalIsOut || s.animal == AnimalMayBeIn && !ready
	case NobodyPresent:
		return s.attended || s.animal == AnimalIsOut
	case Unproven:
		return s.attended || !failed
	case HeatFromOutside:
		return s.attended || t.speaker == OverBand || t.speaker == UnaskedRise
	case OverBand:
		return t.speaker == UnaskedRise
	case UnaskedRise:
		return t.speaker == OverBand
	case ProbeJumped, ProbesDiffer, NoRise, WaterLow, ProofOverdue:
		return s.attended
	}
	return false
}

// mayHeat is the twin's permission, as far as causes go.
func (t *twin) mayHeat() bool {
	for i := range t.causes {
		if k := &t.causes[i]; k.latched || k.acts && k.severity >= HeatOff {
			return false
		}
	}
	return true
}

// disagrees says in which respect the station stands elsewhere.
func (t *twin) disagrees(s *Station) string {
	for i := range t.causes {
		c := Cause(i)
		k, st := &t.causes[i], s.Cause(c)
		if k.acts != s.acting.has(c) || k.latched != st.Latched || k.severity != st.Severity || k.state() != st.Alarm {
			return fmt.Sprintf("%s: acts %v, latched %v, %v, %q; the twin has %v, %v, %v, %q",
				c, s.acting.has(c), st.Latched, st.Severity, st.Alarm, k.acts, k.latched, k.severity, k.state())
		}
	}
	if s.out.Permitted && !t.mayHeat() {
		return "heat is permitted; the twin forbids it"
	}
	if (s.out.Reason == NoCause) != t.mayHeat() {
		return fmt.Sprintf("reason %q; the twin's permission is %v", s.out.Reason, t.mayHeat())
	}
	return ""
}
