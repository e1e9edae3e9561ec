package sensors

import (
	"fmt"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// TOML writes a calibration as the lines that a [[station.probe]] of the
// configuration takes. There a correction stands with the true temperature at
// which it was found.
func (c *Calibration) TOML() string {
	var s strings.Builder
	names := [2][2]string{{"offset", "offset_at"}, {"second_offset", "second_at"}}
	for i, p := range c.Corrections[:c.Points] {
		add := roundMilli(int64(p.Add))
		truth := int64(p.At-physic.ZeroCelsius) + int64(p.Add)
		fmt.Fprintf(&s, "%s = \"%sK\"\n", names[i][0], signed(add))
		fmt.Fprintf(&s, "%s = \"%sC\"\n", names[i][1], strings.TrimPrefix(signed(roundMilli(truth)), "+"))
	}
	if c.Uncertainty > 0 {
		up := (int64(c.Uncertainty) + int64(controller.MilliKelvin) - 1) / int64(controller.MilliKelvin)
		fmt.Fprintf(&s, "uncertainty = \"%sK\"\n", strings.TrimPrefix(signed(up), "+"))
	}
	if !c.Date.IsZero() {
		fmt.Fprintf(&s, "calibrated = %s\n", c.Date.Format(time.DateOnly))
	}
	if due := c.DueDate(); !due.IsZero() {
		fmt.Fprintf(&s, "due = %s\n", due.Format(time.DateOnly))
	}
	if c.Method != "" {
		fmt.Fprintf(&s, "method = %q\n", c.Method)
	}
	return s.String()
}

// roundMilli rounds nanokelvin to millikelvin, halves away from zero.
func roundMilli(nano int64) int64 {
	const milli = int64(controller.MilliKelvin)
	if nano < 0 {
		return -((-nano + milli/2) / milli)
	}
	return (nano + milli/2) / milli
}

// signed writes thousandths with their sign, as in −0.040 and +29.430.
func signed(milli int64) string {
	sign := '+'
	if milli < 0 {
		sign, milli = '-', -milli
	}
	return fmt.Sprintf("%c%d.%03d", sign, milli/1000, milli%1000)
}
