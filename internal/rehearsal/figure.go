package rehearsal

import (
	"fmt"
	"strings"

	"soakwarden/sim/num"
)

// Measures of the figure in pixels.
const (
	figLeft    = 170 // names of the faults
	figPanel   = 300 // width of a panel
	figBetween = 70
	figTop     = 84
	figRow     = 24
	figBottom  = 74
)

// Ends of the axes.
const (
	figKelvin   = 6.0 // over the set point; farther points stand at the edge with their number
	figShortest = 1.0 // s, of the axis of times, which is logarithmic
	figLongest  = 3e4 // s
)

// Figure draws the program beside a plain limit: for each fault the warmest
// water and the median time until it was noticed. It is legible in black and
// white: the program is a full disc, the plain limit an open square, and what
// was not noticed in most runs a cross at the right edge.
func (o *Campaigned) Figure(plain *Campaigned) []byte {
	rows := compare(o, plain)
	var b strings.Builder
	second := figLeft + figPanel + figBetween
	width, height := second+figPanel+60, figTop+figRow*len(rows)+figBottom
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" font-family=\"sans-serif\" font-size=\"12\">\n", width, height)
	fmt.Fprintf(&b, "<title>Warmest water and time to notice: the program and a plain limit</title>\n<rect width=\"%d\" height=\"%d\" fill=\"#ffffff\"/>\n", width, height)
	text := func(x, y float64, anchor, style, s string) {
		fmt.Fprintf(&b, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\"%s>%s</text>\n", x, y, anchor, style, s)
	}
	line := func(x1, y1, x2, y2 float64, style string) {
		fmt.Fprintf(&b, "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" %s/>\n", x1, y1, x2, y2, style)
	}
	disc := func(x, y float64) {
		fmt.Fprintf(&b, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"4.5\" fill=\"#000000\"/>\n", x, y)
	}
	square := func(x, y float64) {
		fmt.Fprintf(&b, "<rect x=\"%.1f\" y=\"%.1f\" width=\"9\" height=\"9\" fill=\"#ffffff\" stroke=\"#000000\" stroke-width=\"1.2\"/>\n", x-4.5, y-4.5)
	}
	cross := func(x, y float64, style string) {
		line(x-4, y-4, x+4, y+4, style)
		line(x-4, y+4, x+4, y-4, style)
	}
	foot := float64(figTop + figRow*len(rows))
	const black, grey, pale = "stroke=\"#000000\" stroke-width=\"1.4\"", "stroke=\"#8c8c8c\" stroke-width=\"1.4\"", "stroke=\"#d9d9d9\""

	// Legend.
	disc(figLeft+5, 22)
	text(figLeft+16, 26, "start", "", "the program, two probes in the water")
	square(figLeft+255, 22)
	text(figLeft+266, 26, "start", "", "a plain limit, one probe")
	cross(figLeft+425, 22, black)
	text(figLeft+436, 26, "start", "", "not noticed in most runs")

	text(figLeft, figTop-30, "start", " font-weight=\"bold\"", "warmest water over the set point [K]")
	text(float64(second), figTop-30, "start", " font-weight=\"bold\"", "noticed after its first effect, median")
	kelvin := func(k float64) float64 { return figLeft + min(max(k, 0), figKelvin)/figKelvin*figPanel }
	when := func(s float64) float64 {
		s = min(max(s, figShortest), figLongest)
		return float64(second) + num.Log(s/figShortest)/num.Log(figLongest/figShortest)*figPanel
	}
	for k := 0; k <= figKelvin; k++ {
		line(kelvin(float64(k)), figTop-8, kelvin(float64(k)), foot, pale)
		text(kelvin(float64(k)), figTop-12, "middle", " fill=\"#595959\"", fmt.Sprint(k))
	}
	for _, tick := range []struct {
		s    float64
		name string
	}{{1, "1 s"}, {10, "10 s"}, {60, "1 min"}, {600, "10 min"}, {3600, "1 h"}, {21600, "6 h"}} {
		line(when(tick.s), figTop-8, when(tick.s), foot, pale)
		text(when(tick.s), figTop-12, "middle", " fill=\"#595959\"", tick.name)
	}
	// The limits that the judges know.
	line(kelvin(faultRise), figTop-8, kelvin(faultRise), foot, "stroke=\"#000000\" stroke-dasharray=\"5 3\"")
	text(kelvin(faultRise), foot+14, "middle", "", "1 K promised")

	for i, r := range rows {
		y := float64(figTop+figRow*i) + figRow/2
		text(figLeft-10, y+4, "end", "", r.fault)
		ours, theirs := worst(r.ours), worst(r.plain)
		line(kelvin(ours), y, kelvin(theirs), y, grey)
		square(kelvin(theirs), y)
		disc(kelvin(ours), y)
		if theirs > figKelvin {
			text(kelvin(theirs)+8, y+4, "start", "", fmt.Sprintf("%.0f K", theirs))
		}
		edge := when(figLongest) + 14
		a, b := edge, edge
		if r.ours.mostly() {
			a = when(*r.ours.MedianS)
		}
		if r.plain.mostly() {
			b = when(*r.plain.MedianS)
		}
		line(a, y, b, y, grey)
		if r.plain.mostly() {
			square(b, y)
		} else {
			cross(edge+8, y, grey)
		}
		if r.ours.mostly() {
			disc(a, y)
		} else {
			cross(edge, y, black)
		}
	}
	text(figLeft, foot+34, "start", " fill=\"#595959\" font-size=\"10\"", "Model, not hardware. Invented tubs, the same for both.")
	for i, command := range []string{o.Command, plain.Command} {
		text(figLeft, foot+48+float64(14*i), "start", " fill=\"#595959\" font-size=\"10\"", strings.ReplaceAll(command, "\n", "; "))
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

// worst is how warm a row got, zero when nothing is known.
func worst(row *FaultRow) float64 {
	if row.WorstOver == nil {
		return 0
	}
	return *row.WorstOver
}

// mostly says whether a fault was found in at least half of the runs in which
// it mattered, so that the median of all of them is a time.
func (row *FaultRow) mostly() bool {
	return row.MedianS != nil && 2*row.Found >= row.Acted-row.Standing
}
