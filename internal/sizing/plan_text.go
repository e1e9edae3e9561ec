package sizing

import (
	"fmt"
	"strings"
)

// Text writes the plan for a person.
func (p *Plan) Text() string {
	var b strings.Builder
	line := func(what, format string, args ...any) {
		fmt.Fprintf(&b, "  %-26s %s\n", what, fmt.Sprintf(format, args...))
	}
	word := "FITS"
	if !p.Fits {
		word = "DOES NOT FIT"
	}
	fmt.Fprintf(&b, "%s, %s: %s\n", p.Station, p.Schedule, word)
	for _, r := range p.Reasons {
		fmt.Fprintf(&b, "  - %s\n", r)
	}
	if len(p.Probes) > 0 {
		line("from", "%s, chamber and load", both(p.StartC))
		line("air held at", "%s, reached after %s", both(p.AirC), clockOf(p.Air))
		if !p.Freeze {
			line("ramp", "at most %.0f K/h", p.RampK)
		}
		if p.LimitC != nil {
			line("limit of the load", "%s; the air gets to %s", both(*p.LimitC), both(p.MostAirC))
		}
		line("every core there after", "%s; slowest: %s", clockOf(p.There), p.Slowest)
		line("schedule held after", "%s", clockOf(p.Total))
		for _, piece := range p.Pieces {
			cover := "NOT covered"
			switch {
			case piece.Probes > 0:
				cover = fmt.Sprintf("core probes in it: %d", piece.Probes)
			case piece.CoveredBy != "":
				cover = "covered by " + piece.CoveredBy
			}
			line(piece.Name, "core there after %s; %s", clockOf(piece.There), cover)
		}
		for _, probe := range p.Probes {
			where := probe.Role
			if probe.Piece != "" {
				where += " of " + probe.Piece
			}
			if probe.DepthM != nil {
				where += fmt.Sprintf(", %.0f mm deep", *probe.DepthM*1000)
			}
			line(probe.ROM, "%s: counts after %s, up to %.1f K behind the air", where, clockOf(probe.There), probe.LagK)
		}
	}
	for _, a := range p.Advice {
		fmt.Fprintf(&b, "  - %s\n", a)
	}
	return b.String()
}
