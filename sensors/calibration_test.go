package sensors

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
	"pgregory.net/rapid"

	"soakwarden/controller"
)

const milli = controller.MilliKelvin

func degrees(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e6)*physic.MicroKelvin
}

func twoPoints(at0 float64, add0 controller.Difference, at1 float64, add1 controller.Difference) Calibration {
	return Calibration{Points: 2, Corrections: [2]Correction{{degrees(at0), add0}, {degrees(at1), add1}}}
}

func TestApply(t *testing.T) {
	offset := Offset(120*milli, 500*milli)
	line := twoPoints(0, 100*milli, 40, -100*milli)
	var never, broken Calibration
	broken = twoPoints(10, 50*milli, 10, 90*milli)
	for _, c := range []struct {
		what       string
		cal        Calibration
		read, want float64
	}{
		{"never", never, 29.5, 29.5},
		{"offset", offset, 29.5, 29.62},
		{"offset, cold", offset, -20, -19.88},
		{"line, first point", line, 0, 0.1},
		{"line, second point", line, 40, 39.9},
		{"line, middle", line, 20, 20},
		{"line, between", line, 30, 29.95},
		{"line, beyond", line, 60, 59.8},
		{"line, below", line, -20, -19.8},
		{"points that fell together", broken, 10, 10.05},
	} {
		if got := c.cal.Apply(degrees(c.read)); got != degrees(c.want) {
			t.Errorf("%s: %s, want %v °C", c.what, got, c.want)
		}
	}
}

// Whole numbers cannot overflow or lose order: over the whole range, for every
// calibration that Validate accepts, a higher code gives a higher temperature,
// and the correction stays within what the line can reach.
func TestApplyKeepsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Calibration{Points: 2}
		for i := range c.Corrections {
			c.Corrections[i].At = fromCode(rapid.Int16Range(codeColdest, codeHottest).Draw(t, "at"))
			c.Corrections[i].Add = controller.Difference(rapid.Int64Range(-int64(LargestCorrection), int64(LargestCorrection)).Draw(t, "add"))
		}
		if c.Validate() != nil {
			return
		}
		last := c.Apply(fromCode(codeColdest))
		for code := codeColdest + 1; code <= codeHottest; code++ {
			now := c.Apply(fromCode(code))
			if now <= last || now-fromCode(code) > 25*physic.Kelvin || fromCode(code)-now > 25*physic.Kelvin {
				t.Fatalf("code %d gives %s after %s with %+v", code, now, last, c)
			}
			last = now
		}
	})
}

func TestValidateSaysWhatToDo(t *testing.T) {
	bad := func(change func(*Calibration)) Calibration {
		c := twoPoints(0, 100*milli, 40, -100*milli)
		change(&c)
		return c
	}
	for want, c := range map[string]Calibration{
		"one or two":              {Points: 3},
		"uncertainty is negative": {Uncertainty: -1},
		"replace the probe":       Offset(3001*milli, 0),
		"outside −55 to 125":      twoPoints(-60, 0, 40, 0),
		"at least 5K apart":       twoPoints(20, 0, 24, 0),
		"must rise":               twoPoints(40, 0, 0, 0),
		"corrections differ":      twoPoints(0, -1500*milli, 20, 1500*milli),
		"before its date": bad(func(c *Calibration) {
			c.Date, c.Due = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
		}),
	} {
		if err := c.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", c, err, want)
		}
	}
	good := bad(func(*Calibration) {})
	if err := good.Validate(); err != nil {
		t.Error(err)
	}
}

func TestUncertaintyAndDueDate(t *testing.T) {
	date := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		what       string
		cal        Calibration
		calibrated bool
		u          controller.Difference
		overdueIn  time.Duration // after date: overdue, and not just before
	}{
		{"never", Calibration{}, false, Uncalibrated, 0},
		{"offset without evaluation", Offset(100*milli, 0), false, Uncalibrated, 0},
		{"uncertainty without offset", Calibration{Uncertainty: 100 * milli, Date: date}, false, Uncalibrated, 0},
		{"no date", Offset(100*milli, 200*milli), true, 200 * milli, 0},
		{"a year", Calibration{Points: 1, Uncertainty: 200 * milli, Date: date}, true, 200 * milli, 365 * 24 * time.Hour},
		{"due date", Calibration{Points: 1, Uncertainty: 200 * milli, Date: date, Due: date.Add(time.Hour)}, true, 200 * milli, time.Hour},
	} {
		if c.cal.Calibrated() != c.calibrated || c.cal.Expanded() != c.u {
			t.Errorf("%s: %v, %v", c.what, c.cal.Calibrated(), c.cal.Expanded())
		}
		if c.overdueIn == 0 {
			if c.cal.Overdue(date.Add(1e5 * time.Hour)) {
				t.Errorf("%s: overdue", c.what)
			}
		} else if c.cal.Overdue(date.Add(c.overdueIn)) || !c.cal.Overdue(date.Add(c.overdueIn+time.Second)) {
			t.Errorf("%s: not overdue just after %v", c.what, c.overdueIn)
		}
	}
}
