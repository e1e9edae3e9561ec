package sensors

import (
	"errors"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// IcePoint is the temperature of melting ice under standard pressure: 0.000 °C
// on ITS-90. With care it is realised to ±0.002 °C and easily to ±0.01 °C (ASTM
// E563).
const IcePoint = physic.ZeroCelsius

// What Fit assumes where nothing else is said. All but the first bound come from
// common practice, no published source.
const (
	// FewestReadings make a mean worth having.
	FewestReadings = 10
	// IceUncertainty is what an ice bath of household ice in a flask counts
	// with, expanded: several times what E563 calls easy.
	IceUncertainty = 50 * controller.MilliKelvin
	// DriftAllowed is how far a probe may wander until it is due again.
	DriftAllowed = 100 * controller.MilliKelvin

	steepestError  = 0.03 // K/K: the steepest of eight real probes
	bentError      = 0.01 // K/K: how much that slope may change between and beyond two points
	widestScatter  = 0.15 // K: four times the noise of real probes
	farthestWander = 0.10 // K between the halves of the readings
	coverage       = 2    // k, for about 95 %
)

// ErrReplace says that the probe is broken rather than off.
var ErrReplace = errors.New("replace the probe")

// Point is what a probe read while a reference stood at a known temperature.
type Point struct {
	Reference   physic.Temperature
	Uncertainty controller.Difference // of the reference and of the bath at the probe, expanded (k = 2)
	Readings    []physic.Temperature  // uncorrected, in the order in which they were taken
}

// Plan is what the result will be used for.
type Plan struct {
	From, To physic.Temperature    // between which readings must hold
	Drift    controller.Difference // until Due, to either side; DriftAllowed when zero
	Date     time.Time
	Due      time.Time
	Method   string
}

// Term is one line of an uncertainty budget.
type Term struct {
	Source   string
	Basis    string  // what was taken, and its distribution
	Standard float64 // K, standard uncertainty at the worst place of the range
}

// Budget lists what makes a corrected reading uncertain.
type Budget []Term

// Combined is the root of the sum of the squares, in K (JCGM 100, 5.1.2).
func (b Budget) Combined() float64 {
	sum := 0.0
	for _, t := range b {
		sum += float64(t.Standard * t.Standard)
	}
	return math.Sqrt(sum)
}

// Expanded is the combined uncertainty times two, rounded up to a millikelvin
// (JCGM 100, 6.2.1).
func (b Budget) Expanded() controller.Difference {
	milli := math.Ceil(coverage*b.Combined()*1000 - 1e-9)
	return controller.Difference(milli) * controller.MilliKelvin
}

// Fit makes a calibration of one or two points, and says how far it can be
// believed between plan.From and plan.To. Two points come in rising order.
//
// Its errors say what to do again; ErrReplace is among them when a correction
// is out of bounds.
func Fit(points []Point, plan Plan) (Calibration, Budget, error) {
	var c Calibration
	if len(points) != 1 && len(points) != 2 {
		return c, nil, fmt.Errorf("%d points were measured; one or two make a calibration", len(points))
	}
	if plan.From > plan.To || plan.From < fromCode(codeColdest) || plan.To > fromCode(codeHottest) {
		return c, nil, fmt.Errorf("range of use %s to %s: it must rise within −55 to 125 °C", plan.From, plan.To)
	}
	if plan.Drift == 0 {
		plan.Drift = DriftAllowed
	}
	if plan.Drift < 0 {
		return c, nil, errors.New("drift is negative; give how far the probe may wander, such as 0.1K")
	}
	c = Calibration{Points: len(points), Date: plan.Date, Due: plan.Due, Method: plan.Method}
	scatters := make([]float64, len(points))
	for i, p := range points {
		mean, scatter, err := settled(p.Readings)
		if err != nil {
			return Calibration{}, nil, fmt.Errorf("point at %s: %w", p.Reference, err)
		}
		if p.Uncertainty <= 0 {
			return Calibration{}, nil, fmt.Errorf("point at %s: the reference has no uncertainty; give its expanded one, such as 0.05K", p.Reference)
		}
		scatters[i] = scatter
		c.Corrections[i] = Correction{At: mean, Add: controller.Difference(p.Reference - mean)}
	}
	if err := c.Validate(); err != nil {
		if len(points) == 2 && c.Corrections[1].At-c.Corrections[0].At < physic.Temperature(NarrowestSpan) {
			return Calibration{}, nil, err
		}
		return Calibration{}, nil, fmt.Errorf("%w: %w", ErrReplace, err)
	}
	budget := weigh(&c, points, plan, scatters)
	c.Uncertainty = budget.Expanded()
	return c, budget, nil
}

// settled is the mean of readings and their standard deviation in K, if they
// were taken at rest.
func settled(readings []physic.Temperature) (mean physic.Temperature, scatter float64, err error) {
	n := len(readings)
	if n < FewestReadings {
		return 0, 0, fmt.Errorf("%d readings are too few; take %d at least, a second apart", n, FewestReadings)
	}
	sum := func(part []physic.Temperature) (s float64) {
		for _, r := range part {
			s += kelvins(r - readings[0])
		}
		return s
	}
	first := sum(readings[:n/2]) / float64(n/2)
	second := sum(readings[n/2:]) / float64(n-n/2)
	if wander := second - first; math.Abs(wander) > farthestWander {
		return 0, 0, fmt.Errorf("readings moved by %+.2f K while they were taken; stir, wait and take them again", wander)
	}
	off := sum(readings) / float64(n)
	squares := 0.0
	for _, r := range readings {
		d := kelvins(r-readings[0]) - off
		squares += float64(d * d)
	}
	scatter = math.Sqrt(squares / float64(n-1))
	if scatter > widestScatter {
		return 0, 0, fmt.Errorf("readings scatter by %.2f K; check cable and supply and take them again", scatter)
	}
	micro := math.RoundToEven(off * 1e6)
	return readings[0] + physic.Temperature(micro)*physic.MicroKelvin, scatter, nil
}

func kelvins(t physic.Temperature) float64 { return float64(t) / float64(physic.Kelvin) }

// weigh makes the budget at the worst end of the range of use.
func weigh(c *Calibration, points []Point, plan Plan, scatters []float64) Budget {
	from, to := weighAt(c, points, plan, scatters, plan.From), weighAt(c, points, plan, scatters, plan.To)
	worst := from
	if to.Combined() > from.Combined() {
		worst = to
	}
	if len(points) == 2 {
		middle := (c.Corrections[0].At + c.Corrections[1].At) / 2
		if middle > plan.From && middle < plan.To {
			if b := weighAt(c, points, plan, scatters, middle); b.Combined() > worst.Combined() {
				worst = b
			}
		}
	}
	return worst
}

// weighAt makes the budget at one temperature.
func weighAt(c *Calibration, points []Point, plan Plan, scatters []float64, at physic.Temperature) Budget {
	// How much each point's error counts there: one point as it is, two as the
	// line through them takes them.
	weights := []float64{1}
	shape := ""
	bend := 0.0
	scatter := scatters[0]
	if len(points) == 1 {
		away := math.Abs(kelvins(at - c.Corrections[0].At))
		bend = float64(steepestError * away)
		shape = fmt.Sprintf("±%.2f K/K over %.1f K, rectangular", steepestError, away)
	} else {
		low, high := c.Corrections[0].At, c.Corrections[1].At
		w := kelvins(at-low) / kelvins(high-low)
		weights = []float64{1 - w, w}
		scatter = max(scatter, scatters[1])
		// Between the points a curve leaves its chord by at most an eighth of
		// the change of slope times the span; beyond them it leaves the line.
		beyond := max(kelvins(low-at), kelvins(at-high), 0)
		bend = bentError*kelvins(high-low)/8 + float64(bentError*beyond)
		shape = fmt.Sprintf("slope changes by ±%.2f K/K, rectangular", bentError)
	}
	reference, mean := 0.0, 0.0
	for i, p := range points {
		u := weights[i] * float64(p.Uncertainty) / float64(controller.Kelvin) / coverage
		reference += float64(u * u)
		s := weights[i] * scatters[i]
		mean += float64(s*s) / float64(len(p.Readings))
	}
	third := math.Sqrt(3)
	return Budget{
		{"reference and bath", "expanded, halved", math.Sqrt(reference)},
		{"mean of the readings", "standard deviation of the mean", math.Sqrt(mean)},
		{"scatter of one reading", "standard deviation", scatter},
		{"resolution of the probe", "±1/32 K, rectangular", 1.0 / 32 / third},
		{"away from the points", shape, bend / third},
		{"drift until due", fmt.Sprintf("±%s, rectangular", kelvin(plan.Drift)), float64(plan.Drift) / float64(controller.Kelvin) / third},
	}
}
