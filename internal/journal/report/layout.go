package report

import (
	"fmt"
	"math"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/status"
)

// Paperwork is what the record itself does not hold.
type Paperwork struct {
	Paper   Paper
	Printed time.Time // zero is printed as not recorded
	Program string    // version of the printing program
	Units   status.Units
}

const (
	margin   = 12.0
	inset    = 4.0
	textSize = 2.8
	lineStep = 4.2
	titleHt  = 30.0
)

// pen lays text out down a sheet and begins another when it is full.
type pen struct {
	*canvas
	y     float64
	units status.Units
}

func (p *pen) left() float64   { return margin + inset }
func (p *pen) right() float64  { return p.paper.Width - margin - inset }
func (p *pen) bottom() float64 { return p.paper.Height - margin - titleHt - inset }

func (p *pen) next() {
	p.sheet()
	p.box(thick, margin, margin, p.paper.Width-2*margin, p.paper.Height-2*margin)
	p.y = margin + inset + 3
}

func (p *pen) room(h float64) {
	if p.y+h > p.bottom() {
		p.next()
	}
}

func (p *pen) head(text string) {
	p.room(4 * lineStep)
	p.y += 3
	p.write(p.left(), p.y, 3.4, 'l', true, text)
	p.line(thin, 0, 0, point{p.left(), p.y + 1.4}, point{p.right(), p.y + 1.4})
	p.y += 2 + lineStep
}

// row writes cells at columns given as shares of the width; the last one wraps.
func (p *pen) row(bold bool, at []float64, cells ...string) {
	x := func(i int) float64 { return p.left() + at[i]*(p.right()-p.left()) }
	last := len(cells) - 1
	lines := p.wrap(cells[last], textSize, p.right()-x(last), bold)
	for i, text := range lines {
		p.room(lineStep)
		if i == 0 {
			for k := range last {
				p.write(x(k), p.y, textSize, 'l', bold, cells[k])
			}
		}
		p.write(x(last), p.y, textSize, 'l', bold, text)
		p.y += lineStep
	}
}

// layout draws the whole report.
func layout(s *Sheet, w Paperwork) *canvas {
	p := &pen{canvas: newCanvas(w.Paper), units: w.Units}
	p.next()
	p.y += 2
	p.write(p.left(), p.y, 5, 'l', true, "Record of "+s.Station)
	p.y += 2 * lineStep
	two := []float64{0, 0.24}
	p.row(false, two, "time", stamp(s.From)+" to "+stamp(s.To)+" UTC")
	for _, t := range s.Treatments {
		p.row(true, two, "verdict", fmt.Sprintf("treatment %s: %s %s", t.Number, orNot(t.Result), t.Reason))
	}
	if len(s.Treatments) == 0 && s.Settings != nil && s.Settings.Kind == controller.Chamber {
		p.row(true, two, "verdict", notRecorded)
	}
	for _, l := range s.settings(w.Units) {
		p.row(false, two, l[0], l[1])
	}
	p.y += 2
	p.curve(s)
	p.head("Probes")
	at := []float64{0, 0.15, 0.27, 0.36, 0.52, 0.68, 0.81, 0.93}
	p.row(true, at, "probe", "U", "calibrated", "lowest", "highest", "at temperature", "longest", "no value")
	for i := range s.Probes {
		q := &s.Probes[i]
		within, longest := span(q.Within), span(q.Longest)
		if !q.Counts {
			within, longest = "—", "—"
		}
		p.row(false, at, q.Name, p.uncertainty(q.Uncertainty), q.Calibrated, written(w.Units, q.Min), written(w.Units, q.Max),
			within, longest, fmt.Sprint(q.Bad))
	}
	p.row(false, []float64{0}, "At temperature: "+s.meaning(w.Units)+". Time between two readings counts when both are, and no more than "+
		longestStep.String()+" apart.")
	p.head("Deviations")
	if len(s.Deviation) == 0 {
		p.row(false, []float64{0}, "none recorded")
	}
	for _, d := range s.Deviation {
		p.row(false, []float64{0}, clipped(d))
	}
	for _, t := range s.Treatments {
		p.treated(t, s)
	}
	for _, c := range s.Cases {
		p.story(c)
	}
	p.head("Alarms, acts, rounds and notes")
	if len(s.Events) == 0 {
		p.row(false, []float64{0}, "none recorded")
	}
	n := 0
	for _, e := range s.Events {
		number := ""
		if e.Mark {
			n++
			number = fmt.Sprint(n)
		}
		when := stamp(e.Time)
		if !e.Sure {
			when += " ?"
		}
		p.row(false, []float64{0, 0.06, 0.3}, number, when, clipped(e.Text))
	}
	for i := range p.sheets {
		p.titleBlock(i, s, w)
	}
	return p.canvas
}

// story tells a case day by day, by the same clock as the rest of the sheet.
func (p *pen) story(c *casebook.Report) {
	lines := c.Summary()
	p.head(lines[0])
	for _, line := range lines[1:] {
		p.row(false, []float64{0}, line)
	}
	for _, d := range c.Days(time.UTC) {
		p.room(4 * lineStep)
		p.y += 1
		p.row(true, []float64{0}, d.Name)
		for _, l := range d.Lines {
			p.row(false, []float64{0, 0.08}, l.Clock, clipped(l.Text))
		}
	}
}

// notRecorded stands where the record is silent.
const notRecorded = "not recorded"

const longestText = 400 // characters of one event on paper

func clipped(text string) string {
	if r := []rune(text); len(r) > longestText {
		return string(r[:longestText]) + " … (the rest is in the export)"
	}
	return text
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") }

// written writes a temperature given in °C.
func written(u status.Units, v float64) string {
	if v != v {
		return "never"
	}
	c, f := fmt.Sprintf("%.2f °C", v), fmt.Sprintf("%.2f °F", fahrenheit(v))
	switch u {
	case status.Celsius:
		return c
	case status.Fahrenheit:
		return f
	}
	return c + " / " + f
}

func fahrenheit(celsius float64) float64 { return celsius*1.8 + 32 }

func kelvin(u status.Units, k float64) string {
	return u.Difference(controller.Difference(math.Round(k * float64(controller.Kelvin))))
}

func (p *pen) uncertainty(k float64) string {
	if k == 0 {
		return notRecorded
	}
	return kelvin(p.units, k)
}

func span(d time.Duration) string { return d.Round(time.Second).String() }

// settings are the lines that say what the station was told.
func (s *Sheet) settings(u status.Units) [][2]string {
	if s.Settings == nil {
		return [][2]string{{"settings", notRecorded}}
	}
	set := s.Settings
	celsius := func(t physic.Temperature) string { return written(u, journal.Celsius(t)) }
	setPoint := "set point"
	if set.Kind == controller.Chamber {
		setPoint = "set point of the air"
	}
	out := [][2]string{
		{"kind", set.Kind.String()},
		{setPoint, celsius(set.SetPoint) + ", differential " + u.Difference(set.Differential)},
	}
	if set.Kind == controller.Chamber {
		out = append(out, [2]string{"limit of the furnishings", celsius(set.Limit)})
	} else {
		out = append(out, [2]string{"too cold, cutoff", celsius(set.TooCold) + ", " + celsius(set.Cutoff)})
	}
	return append(out, [2]string{"heat commanded on", fmt.Sprintf("%.1f %% of the time", 100*s.HeatRatio)})
}

func (s *Sheet) meaning(u status.Units) string {
	switch {
	case s.Settings == nil:
		return "not known, because the settings are not in the record"
	case s.Settings.Kind == controller.Chamber:
		switch target, freeze := s.target(); {
		case target != target:
			return "not known, because no treatment is recorded in that time"
		case freeze:
			return "a reading and its uncertainty U together are at or below the treatment's target, " + written(u, target)
		default:
			return "a reading less its uncertainty U is at or above the treatment's target, " + written(u, target)
		}
	}
	return "a reading within " + kelvin(u, withinOf) + " of the set point"
}

// titleBlock stands at the foot of every sheet, with the fields of ISO 7200
// that a record has.
func (p *pen) titleBlock(i int, s *Sheet, w Paperwork) {
	y := p.paper.Height - margin - titleHt
	x0, x1 := margin, p.paper.Width-margin
	cell := func(x, dy float64, label, text string, bold bool) {
		p.sheets[i] = append(p.sheets[i],
			mark{points: []point{{x + 1.5, y + dy + 3}}, text: label, size: 1.8, anchor: 'l'},
			mark{points: []point{{x + 1.5, y + dy + 7.6}}, text: text, size: textSize, anchor: 'l', bold: bold})
	}
	rule := func(a, b point) {
		p.sheets[i] = append(p.sheets[i], mark{points: []point{a, b}, weight: thin})
	}
	p.sheets[i] = append(p.sheets[i], mark{points: []point{{x0, y}, {x1, y}}, weight: thick})
	third := (x1 - x0) / 3
	for k := 1; k <= 2; k++ {
		rule(point{x0, y + float64(10*k)}, point{x1, y + float64(10*k)})
		rule(point{x0 + float64(k)*third, y}, point{x0 + float64(k)*third, y + 10})
	}
	printed := notRecorded
	if !w.Printed.IsZero() {
		printed = stamp(w.Printed) + " UTC"
	}
	cell(x0, 0, "title", "Record of "+s.Station, true)
	cell(x0+third, 0, "printed", printed, false)
	cell(x0+2*third, 0, "sheet; program recording, printing",
		fmt.Sprintf("%d of %d;  %s, %s", i+1, len(p.sheets), orNot(s.Version), orNot(w.Program)), false)
	cell(x0, 10, "configuration", orNot(s.Config), false)
	whole := "verifies"
	if !s.Head.OK {
		whole = "DOES NOT VERIFY"
	}
	cell(x0, 20, fmt.Sprintf("chain over %d entries, %s", s.Head.Entries, whole), s.Head.Chain, false)
}

func orNot(text string) string {
	if strings.TrimSpace(text) == "" {
		return notRecorded
	}
	return text
}
