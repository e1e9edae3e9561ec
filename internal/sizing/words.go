package sizing

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// both writes a temperature in both units.
func both(celsius float64) string {
	return fmt.Sprintf("%.1f °C (%.1f °F)", celsius, celsius*9/5+32)
}

func watts(w float64) string {
	if w < 10 {
		return fmt.Sprintf("%.1f W", w)
	}
	return fmt.Sprintf("%.0f W", w)
}

// clock writes a time the way one says it.
func clock(seconds float64) string {
	if math.IsInf(seconds, 0) || math.IsNaN(seconds) {
		return "never"
	}
	d := time.Duration(math.Round(seconds)) * time.Second
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Round(time.Minute).Minutes()))
	case d < 48*time.Hour:
		m := int(d.Round(time.Minute).Minutes())
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	}
	return fmt.Sprintf("%.1f days", d.Hours()/24)
}

func clockOf(seconds *float64) string {
	if seconds == nil {
		return "never"
	}
	return clock(*seconds)
}

// Text writes the heat budget for a person.
func (s Size) Text() string {
	var b strings.Builder
	line := func(what, value string) { fmt.Fprintf(&b, "  %-34s %s\n", what, value) }
	fmt.Fprintf(&b, "%s (%s): %s\n", s.Name, s.Kind, strings.ToUpper(string(s.Verdict)))
	thing := "water"
	if s.Kind == "chamber" {
		thing = "air"
	}
	line("warming up, coldest room", clockOf(s.WarmUp))
	if s.WarmUpWithAnimal != nil {
		line("  the same with the animal in", clockOf(s.WarmUpWithAnimal))
	}
	if s.HoldPower != nil && s.HoldShare != nil {
		line("holding, coldest room", fmt.Sprintf("%s, %.0f %% of the heater", watts(*s.HoldPower), *s.HoldShare*100))
	}
	if s.StuckOn != nil {
		line("stuck on, warmest room", fmt.Sprintf("%s ends at %s", thing, both(*s.StuckOn)))
		line("  from the set point to the cutoff", clockOf(s.StuckOnCutoff))
	}
	if s.Coast != nil {
		line("rise after the heat goes off", fmt.Sprintf("%.2f K (%.2f °F)", *s.Coast, *s.Coast*1.8))
	}
	if s.Kind == "tub" {
		line("power cut, too cold after", clockOf(s.PowerCut))
		line("evaporation", fmt.Sprintf("%.2f L a day", *s.Evaporation))
		line("floor over the pad, heat on", both(*s.Floor))
	}
	for _, a := range s.Advice {
		fmt.Fprintf(&b, "  - %s\n", a)
	}
	return b.String()
}
