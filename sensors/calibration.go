package sensors

import (
	"fmt"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Uncalibrated is the expanded uncertainty of a probe that was never
// calibrated. Of eight real ones, bought as good to 0.5 K, two were off by 0.6
// and 1.1 K.
const Uncalibrated = 1200 * controller.MilliKelvin

// Bounds of a calibration that Validate accepts.
const (
	LargestCorrection = 3 * controller.Kelvin // beyond it a probe is broken, not off
	NarrowestSpan     = 5 * controller.Kelvin // between two points
	steepest          = 10                    // corrections may differ by 1/steepest of the span
	validFor          = 365 * 24 * time.Hour  // without a due date; common practice, no published source
)

// Correction is what must be added to a probe that reads At.
type Correction struct {
	At  physic.Temperature // as read, uncorrected
	Add controller.Difference
}

// Calibration is how a probe's readings are corrected and how far they can be
// believed afterwards. The zero value is a probe that was never calibrated.
type Calibration struct {
	// Points is how many of Corrections count: none, one (an offset, whatever
	// its At), or two, between and beyond which the correction is a line.
	Points      int
	Corrections [2]Correction
	Date        time.Time // zero when not recorded
	Due         time.Time // zero: a year after Date
	Method      string
	Uncertainty controller.Difference // expanded, k = 2; zero when not evaluated
}

// Offset makes a calibration of one point.
func Offset(add, uncertainty controller.Difference) Calibration {
	return Calibration{
		Points:      1,
		Corrections: [2]Correction{{At: physic.ZeroCelsius, Add: add}},
		Uncertainty: uncertainty,
	}
}

// Validate says what is wrong with a calibration, and what to do instead.
func (c *Calibration) Validate() error {
	if c.Points < 0 || c.Points > 2 {
		return fmt.Errorf("calibration has %d points; give none, one or two", c.Points)
	}
	if c.Uncertainty < 0 {
		return fmt.Errorf("calibration uncertainty is negative; give the expanded uncertainty, such as 0.2K")
	}
	for _, p := range c.Corrections[:c.Points] {
		if p.Add > LargestCorrection || p.Add < -LargestCorrection {
			return fmt.Errorf("correction of %s is more than %s: replace the probe", kelvin(p.Add), kelvin(LargestCorrection))
		}
		if p.At < fromCode(codeColdest) || p.At > fromCode(codeHottest) {
			return fmt.Errorf("calibration point at %s is outside −55 to 125 °C", p.At)
		}
	}
	if c.Points == 2 {
		low, high := c.Corrections[0], c.Corrections[1]
		span := controller.Difference(high.At - low.At)
		if span < NarrowestSpan {
			return fmt.Errorf("calibration points at %s and %s must rise and be at least %s apart",
				low.At, high.At, kelvin(NarrowestSpan))
		}
		if slope := high.Add - low.Add; max(slope, -slope) > span/steepest {
			return fmt.Errorf("corrections differ by %s over %s: replace the probe", kelvin(slope), kelvin(span))
		}
	}
	if !c.Due.IsZero() && c.Due.Before(c.Date) {
		return fmt.Errorf("calibration is due on %s, before its date %s",
			c.Due.Format(time.DateOnly), c.Date.Format(time.DateOnly))
	}
	return nil
}

// Calibrated says whether the probe was calibrated and the result evaluated.
func (c *Calibration) Calibrated() bool { return c.Points > 0 && c.Uncertainty > 0 }

// Expanded is the expanded uncertainty (k = 2) with which a corrected reading
// counts: Uncalibrated for a probe that was never calibrated.
func (c *Calibration) Expanded() controller.Difference {
	if !c.Calibrated() {
		return Uncalibrated
	}
	return c.Uncertainty
}

// DueDate is the day on which to calibrate again, zero when neither it nor the
// date of the calibration was recorded.
func (c *Calibration) DueDate() time.Time {
	if c.Due.IsZero() && !c.Date.IsZero() {
		return c.Date.Add(validFor)
	}
	return c.Due
}

// Overdue says whether the due date has passed. A calibration without any date
// is not overdue; a record has to print that its date is not recorded.
func (c *Calibration) Overdue(wall time.Time) bool {
	due := c.DueDate()
	return c.Calibrated() && !due.IsZero() && wall.After(due)
}

// Apply corrects a reading. The arithmetic is whole numbers of nanokelvin, so
// that it is the same on every processor.
func (c *Calibration) Apply(read physic.Temperature) physic.Temperature {
	switch c.Points {
	case 1:
		return read + physic.Temperature(c.Corrections[0].Add)
	case 2:
		low, high := &c.Corrections[0], &c.Corrections[1]
		// In microkelvin the product stays below 1.1e18: 180 K times 6 K.
		span := int64(high.At-low.At) / 1000
		if span <= 0 {
			return read + physic.Temperature(low.Add)
		}
		part := int64(high.Add-low.Add) * (int64(read-low.At) / 1000)
		return read + physic.Temperature(low.Add) + physic.Temperature(part/span)
	}
	return read
}

// fromCode is a code of 1/16 °C as a temperature, exactly.
func fromCode(code int16) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(code)*nanokelvinACode
}

// kelvin writes a difference with its unit, to a thousandth.
func kelvin(d controller.Difference) string {
	return fmt.Sprintf("%.3gK", float64(d)/float64(controller.Kelvin))
}
