package assess

import (
	"fmt"
	"strings"
	"time"
)

// Text writes the answer for a person.
func (a *Assessment) Text() string {
	var b strings.Builder
	line := func(what, format string, args ...any) {
		fmt.Fprintf(&b, "  %-26s %s\n", what, fmt.Sprintf(format, args...))
	}
	way := "or above"
	if a.Freeze {
		way = "or below"
	}
	fmt.Fprintf(&b, "%s: %s\n", a.Result, a.Reason)
	line("schedule", "%s (%s %s for %s)", a.Schedule, both(a.TargetC), way, span(a.HoldS))
	line("uncertainty", "%.2f K, taken off every reading", a.UncertaintyK)
	line("longest together", "%s", span(a.LongestTogether))
	if a.From != nil {
		line("", "from %s to %s", *a.From, *a.To)
	}
	line("largest gap", "%s of %s allowed", span(a.LargestGapS), span(a.LongestGapS))
	line("rows", "%d, of which bad: %d", a.Rows, a.BadRows)
	for _, p := range a.Probes {
		if p.MinC == nil {
			line(p.Name, "no reading")
			continue
		}
		text := fmt.Sprintf("%s to %s, longest %s", both(*p.MinC), both(*p.MaxC), span(p.LongestContinuous))
		if p.Lethality != nil {
			text += fmt.Sprintf(", lethality %.3g min (%.3g at the least)", *p.Lethality, *p.LethalityLow)
		}
		line(p.Name, "%s", text)
	}
	for i, p := range a.Problems {
		if i == 10 {
			fmt.Fprintf(&b, "  … and %d more\n", len(a.Problems)-i)
			break
		}
		line(fmt.Sprintf("line %d", p.Line), "%s", p.Message)
	}
	for _, n := range a.Notes {
		fmt.Fprintf(&b, "  - %s\n", n)
	}
	return b.String()
}

func both(c float64) string { return fmt.Sprintf("%.2f °C (%.2f °F)", c, c*9/5+32) }

func span(s float64) string { return (time.Duration(s*1000) * time.Millisecond).String() }
