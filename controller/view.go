package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/alarm"
	"soakwarden/controller/observer"
)

// CauseState is where one cause stands.
type CauseState struct {
	Present  bool // its condition is there now
	Acting   bool // the condition outlasted its grace, or the cause is latched
	Latched  bool
	Severity Severity           // with which it acts now
	Since    time.Duration      // moment at which it began to act, on the clock of Input.Now; before a start it is negative
	Value    physic.Temperature // what was measured when it began or got worse, zero when it is not about a temperature
	Probe    int                // index of the probe it is about, −1 for none
	Alarm    alarm.State
}

// Cause says where a cause stands after the last Step.
func (s *Station) Cause(c Cause) CauseState {
	if c >= causeCount {
		c = NoCause
	}
	m := &s.marks[c]
	st := CauseState{
		Present: s.present.has(c), Acting: (s.acting | s.latched).has(c), Latched: s.latched.has(c),
		Severity: m.severity, Value: m.value, Probe: s.about(c), Alarm: m.alarm.State(),
	}
	if st.Acting {
		st.Since = s.now - m.age
	}
	return st
}

// about is the index of the probe that a cause is about. One that was saved
// before a probe was taken away is about none.
func (s *Station) about(c Cause) int {
	if i := int(s.marks[c].probe); i < len(s.probes) {
		return i
	}
	return -1
}

// Animal is what the station was told of the animal.
type Animal uint8

// The animal's places. MayBeIn is the zero value and is treated like In.
const (
	AnimalMayBeIn Animal = iota
	AnimalIsIn
	AnimalIsOut
)

// Wait says what a station without heat waits for, apart from causes.
type Wait uint8

// What a station waits for.
const (
	NoWait           Wait = iota
	WaitStore             // the latch store is not proven
	WaitProbes            // required probes have not all given agreeing readings since the start
	WaitTurn              // the bench lets another station take its first heat
	WaitShared            // another station holds the shared series relay open
	WaitAttended          // somebody works at the tub
	WaitService           // out of service
	WaitTreatment         // chamber: no treatment runs
	WaitConfirmation      // a proof's pulse is over and its answer is on the way
)

// ProofKind is one of the things a station proves about its wiring.
type ProofKind uint8

// The proofs.
const (
	ProofAllOff    ProofKind = iota // ten minutes with everything off did not warm
	ProofPairing                    // a short heat warmed this station's own water
	ProofSeries                     // with the series relay open the pad did not warm
	ProofKindCount = 3
)

// ProofState is one proof. A failed proof is one that was tried and gave the
// wrong answer; it may pass later.
type ProofState struct {
	Passed bool
	Failed bool
	Age    time.Duration // time with the program running since it passed or failed
}

// pass lets a proof that was tried grow old.
func (p *ProofState) pass(d time.Duration) {
	if p.Passed || p.Failed {
		p.Age += d
	}
}

// View is what a person may want to know of a station beside Output and Cause.
type View struct {
	Attended       bool
	AttendedLeft   time.Duration // until it becomes too long
	Extensions     int           // used
	Widened        bool          // tests are still wide after hands were in
	Animal         Animal
	OutOfService   bool
	ReadyAt        time.Duration // when it became ready, zero while it is not
	PresenceLeft   time.Duration // for which a person counts as present
	MustBeAttended bool          // it heats only while a person is present
	Waits          Wait
	Proofs         [ProofKindCount]ProofState
	Stage          Stage
	PairingProven  bool // the bench need not hold others back for it
	WaterConfirmed bool // the rise fitted the water since the last fill
	Tandem         bool // the series relay follows the pad relay at every off
	HeatOn         time.Duration
	GainPerHour    Difference // learned, or configured until trusted
	GainTrusted    bool
	Coast          time.Duration
	WaterLeft      float64 // learned share of the last confirmed fill, 0 until known; what creeps up by itself is no lost water
	PageResetsLeft int
}

// PairingProven says whether a short heat has warmed this station's own water
// since hands last changed it: whoever changes the water of two tubs takes the
// probes out of both. The bench asks it of every station in every tick.
func (s *Station) PairingProven() bool { return s.proofs[ProofPairing].Passed && s.waterFits }

// Doubts says what about this tub another's pad would explain: its water rises
// although its own relays are open, or misses the heat of its own pad; and
// whether a latch keeps its own pad from answering.
func (s *Station) Doubts() (unasked, misses, latched bool) {
	f := &s.look.facts
	return f.Unasked || s.look.verdict == observer.OutsideHeat, f.NoRise, s.latched != 0
}

// View gives the view after the last Step.
func (s *Station) View() View {
	v := View{
		Attended: s.attended, Extensions: int(s.extensions), Widened: s.widened > 0,
		Animal: s.animal, OutOfService: s.outOfService, ReadyAt: s.readyAt,
		PresenceLeft: s.presence, MustBeAttended: s.mustBeAttended(), Waits: s.waits,
		Stage: s.stage, PairingProven: s.PairingProven(), WaterConfirmed: s.waterFits,
		Tandem: s.tandem, HeatOn: s.onTime, Proofs: s.proofs, PageResetsLeft: s.pageResetsLeft(),
		GainPerHour: s.set.Limits.GainPerHour, Coast: s.set.Limits.Coast,
	}
	if s.attended {
		v.AttendedLeft = max(0, s.attendedAllowed()-s.attendedFor)
	}
	if s.obs != nil {
		v.GainPerHour = Difference(s.obs.Gain() * 3600 * float64(Kelvin))
		v.GainTrusted = s.obs.Trusted()
		v.Coast = time.Duration(s.obs.Coast() * float64(time.Second))
		if s.look.answers > 0 {
			v.WaterLeft = min(1, fillCreep/s.look.answers)
		}
	}
	return v
}
