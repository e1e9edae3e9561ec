package observer

import "time"

// SeriesKind says which series relay the station has.
type SeriesKind uint8

// The series relays. Only a relay of the station's own may be toggled.
const (
	NoSeries     SeriesKind = iota
	OwnSeries               // in series with this pad alone
	SharedSeries            // in series with other stations' pads too
)

// Params describe the configured tub. The real one may be off by a lot: gain
// by a factor of 0.4 to 2.5, coast by half.
type Params struct {
	Gain         float64    // K/s of the water at full pad without losses (P/C); must be over 0
	Coast        float64    // s; heat still under way when the pad goes off, over P; 0 means 120
	Flux         float64    // W/m² of pad; informs the floor's expected rise, 0 means unknown
	Depth        float64    // m of water; 0 means unknown and is taken as 0.15, the deepest
	SetPoint     float64    // °C, middle of the differential
	Differential float64    // K between switching on and off
	HasFloor     bool       // a probe on the contact surface over the pad exists
	Series       SeriesKind // which series relay is wired
	Seed         uint64     // of the jitter of test periods; any number, give each tub its own
}

// Place is the index of a probe in Input.Probes.
type Place int8

// The probes of a tub. None is the answer of a finding about no probe.
const (
	Control Place = iota
	Guard
	Floor
	None Place = -1
)

// Reading is one probe's part of an Input.
type Reading struct {
	Value    float64 // °C, calibrated
	Code     int16   // raw code in 1/16 °C, for the frozen test
	Valid    bool    // good quality: it was read in this cycle and judged good
	Believed bool    // valid, and the caller counts it (as in the water, for Control and Guard)
	Fresh    bool    // a new conversion since the Step before
}

// Input is all that one Step looks at.
type Input struct {
	Now      time.Duration // monotonic; must not go back
	Probes   [3]Reading    // by Place
	Pad      bool          // pad relay was commanded closed since the Step before
	Series   bool          // series relay was commanded closed since then (ignored for NoSeries)
	Wanted   bool          // the operating control wants heat now, whether it gets it or not
	Attended bool          // lid off, hands in the tub: announced, tests are widened
	Changed  bool          // the water was changed (announced), this Step only
	SetPoint float64       // °C, the effective set point; 0 means Params.SetPoint
}

// Verdict is what the observer holds for true, the worst first to matter. The
// zero value claims nothing.
type Verdict uint8

// The verdicts, in rising order of weight.
const (
	Learning       Verdict = iota // numbers not trusted yet: only the level rule and the probe tests judge
	Quiet                         // nothing speaks for a fault
	OutsideHeat                   // the water rises, and not because of the pad: sun or a hot room
	CannotTell                    // a test ended without a decision: stay careful, alarm
	SuspectNoRise                 // heat is commanded and the water does not answer: pad, relay, lid or probe
	ProvenNoRise                  // the floor says so too, or the answer to many toggles
	SuspectUnasked                // the water rises with heat commanded off
	ProvenUnasked                 // the floor says so, or the answer to many toggles: latch
)

// Findings are the facts beside the verdict.
type Findings struct {
	Jumped     Place // the cooler probe of a pair of which one moved alone: disbelieve it; None
	Frozen     Place // a probe that repeats its code while the others moved; None
	Differ     bool  // the in-water probes differ in both phases of the cycle or for 30 min
	Unasked    bool  // unasked rise is suspected or proven, whatever else the verdict names
	NoRise     bool  // no rise is suspected or proven, whatever else the verdict names
	OffGain    bool  // learned gain is outside 0.6…1.6 of the configured: pad or volume is not as configured
	Low        bool  // the last toggles were answered 1.4 times too strongly: water may be low (slow hint)
	Crossed    bool  // floor and water do not belong to the same command: tubs may be crossed (hint)
	FloorBlind bool  // the floor probe does not feel the pad: out of place or another tub's; its proofs rest
	Fell       bool  // the water fell faster than any loss, for one block: out of the water, or other water
	Testing    bool  // a toggle test is running
}

// AboutProbes says whether a probe was found to be out of order.
func (f *Findings) AboutProbes() bool {
	return f.Jumped != None || f.Frozen != None || f.Differ || f.FloorBlind
}

// Advice is what the caller should do with relays that it is free to use. It
// can only withhold heat, or let a test see whether heat comes unasked.
type Advice struct {
	// OpenSeries: open the series relay whenever the pad relay is commanded
	// off (it costs nothing then, heat was not asked). While true the series
	// relay follows the pad relay at each off.
	OpenSeries bool
	// WithholdPad: command the pad relay off now, wanted or not; lasts at most
	// 24 min at a time, three times in one inquiry, with as long a time of heat
	// between.
	WithholdPad bool
	// CloseSeries: with the pad relay off, the series relay may be closed now
	// to see whether heat comes through the pad relay. Overrides OpenSeries.
	// Only given for OwnSeries, and only while the hottest believed probe is
	// under the set point + 0.4 K. Never combine it with a closed pad relay.
	CloseSeries bool
}
