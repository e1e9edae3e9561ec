package report

import (
	"fmt"
	"math"
	"sort"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/status"
)

const (
	curveHeight = 80.0
	heatHeight  = 4.0
)

// axes turn time and temperature into places.
type axes struct {
	x0, x1, y0, y1 float64 // y0 is the foot
	low, high      float64 // °C
}

func (a *axes) x(share float64) float64 { return a.x0 + share*(a.x1-a.x0) }
func (a *axes) y(v float64) float64 {
	v = math.Min(a.high, math.Max(a.low, v))
	return a.y0 - (v-a.low)/(a.high-a.low)*(a.y0-a.y1)
}

// limit is a line that is drawn across the curve.
type limit struct {
	name string
	at   float64
}

func (s *Sheet) limits() []limit {
	if s.Settings == nil {
		return nil
	}
	c := journal.Celsius
	if s.Settings.Kind == controller.Chamber {
		lines := []limit{{"air", c(s.Settings.SetPoint)}}
		if target, _ := s.target(); !math.IsNaN(target) {
			lines = append(lines, limit{"target", target})
		}
		if s.Settings.Limit > 0 {
			lines = append(lines, limit{"limit", c(s.Settings.Limit)})
		}
		return lines
	}
	return []limit{{"too cold", c(s.Settings.TooCold)}, {"set point", c(s.Settings.SetPoint)}, {"cutoff", c(s.Settings.Cutoff)}}
}

// scale finds a range of whole kelvins that shows every reading and limit.
func (s *Sheet) scale() (low, high float64) {
	low, high = math.NaN(), math.NaN()
	for i := range s.Probes {
		low, high = least(low, s.Probes[i].Min), most(high, s.Probes[i].Max)
	}
	for _, l := range s.limits() {
		low, high = least(low, l.at), most(high, l.at)
	}
	if math.IsNaN(low) || math.IsNaN(high) {
		low, high = 0, 1
	}
	return math.Floor(low - 0.5), math.Ceil(high + 0.5)
}

// curve draws the readings with band, limits, heat and numbered events.
func (p *pen) curve(s *Sheet) {
	p.room(curveHeight + 36)
	low, high := s.scale()
	a := &axes{x0: p.left() + 12, x1: p.right() - 18, y1: p.y + 6, low: low, high: high}
	a.y0 = a.y1 + curveHeight
	if s.Settings != nil && s.Settings.Kind == controller.Tub {
		set := journal.Celsius(s.Settings.SetPoint)
		top, foot := a.y(set+withinOf), a.y(set-withinOf)
		p.area(225, point{a.x0, top}, point{a.x1, top}, point{a.x1, foot}, point{a.x0, foot})
	}
	p.grid(s, a)
	limits, free := s.limits(), a.y1-10
	sort.SliceStable(limits, func(i, k int) bool { return limits[i].at > limits[k].at })
	for _, l := range limits {
		p.line(thin, 3, 0, point{a.x0, a.y(l.at)}, point{a.x1, a.y(l.at)})
		at := math.Max(a.y(l.at), free)
		free = at + 2.8
		c, f := fmt.Sprintf("%.1f °C", l.at), fmt.Sprintf("%.1f °F", fahrenheit(l.at))
		if p.units == status.Fahrenheit {
			c = f
		}
		p.write(a.x1+1, at+1, 2.2, 'l', false, l.name+" "+c)
		if p.units == status.Both {
			p.write(a.x1+1, at+3.6, 2.2, 'l', false, f)
			free += 2.8
		}
	}
	for i := range s.Probes {
		p.probeLine(&s.Probes[i], a, i, int(longestStep*Bins/s.To.Sub(s.From)))
	}
	p.heat(s, a)
	p.numbers(s, a)
	p.box(thick, a.x0, a.y1, a.x1-a.x0, a.y0-a.y1)
	p.y = a.y0 + heatHeight + 9
	x := a.x0
	for i := range s.Probes {
		p.line(thick, i%len(dashes), 90*(i/len(dashes)), point{x, p.y - 1}, point{x + 10, p.y - 1})
		p.write(x+11, p.y, 2.4, 'l', false, s.Probes[i].Name)
		x += 16 + p.width(s.Probes[i].Name, 2.4, false)
	}
	p.y += lineStep
}

// grid draws the scale of temperatures and of time.
func (p *pen) grid(s *Sheet, a *axes) {
	if p.units != status.Fahrenheit {
		p.degrees(a, a.x0-1, "°C", func(c float64) float64 { return c }, func(c float64) float64 { return c })
	}
	if p.units != status.Celsius {
		at := a.x0 - 1
		if p.units == status.Both {
			at -= 5
		}
		p.degrees(a, at, "°F", fahrenheit, func(f float64) float64 { return (f - 32) / 1.8 })
	}
	whole := s.To.Sub(s.From)
	every := whole
	for _, d := range []time.Duration{time.Minute, 5 * time.Minute, 15 * time.Minute, time.Hour, 3 * time.Hour, 6 * time.Hour,
		12 * time.Hour, 24 * time.Hour, 7 * 24 * time.Hour, 28 * 24 * time.Hour} {
		if whole/d <= 8 {
			every = d
			break
		}
	}
	for t := s.From.Truncate(every).Add(every); t.Before(s.To); t = t.Add(every) {
		x := a.x(float64(t.Sub(s.From)) / float64(whole))
		p.line(thin/2, 0, 170, point{x, a.y1}, point{x, a.y0})
		p.write(x, a.y0+heatHeight+3.5, 2.2, 'm', false, t.UTC().Format("01-02 15:04"))
	}
}

// degrees writes the scale of one unit, its numbers ending at x. to turns °C
// into the unit, from turns it back. Lines are drawn for the unit that stands at
// the curve.
func (p *pen) degrees(a *axes, x float64, unit string, to, from func(float64) float64) {
	low, high, step := to(a.low), to(a.high), 1.0
	for (high-low)/step > 10 {
		step *= 2
		if step == 4 {
			step = 5
		}
	}
	p.write(x, a.y1-1, 2.2, 'r', false, unit)
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		y := a.y(from(v))
		if x == a.x0-1 {
			p.line(thin/2, 0, 170, point{a.x0, y}, point{a.x1, y})
		}
		p.write(x, y+0.8, 2.2, 'r', false, fmt.Sprintf("%.0f", v))
	}
}

// probeLine draws the span of each step, and nothing where there is no reading
// for more than the steps that ordinary readings leave empty.
func (p *pen) probeLine(q *Probe, a *axes, i, empties int) {
	dash, grey := i%len(dashes), 90*(i/len(dashes))
	var line []point
	end := func() {
		if len(line) == 1 {
			line = append(line, point{line[0].x + 0.2, line[0].y})
		}
		if len(line) > 0 {
			p.line(thick*0.7, dash, grey, line...)
		}
		line = nil
	}
	empty := 0
	for k := range Bins {
		if math.IsNaN(q.Low[k]) {
			if empty++; empty > empties {
				end()
			}
			continue
		}
		empty = 0
		x := a.x((float64(k) + 0.5) / Bins)
		low, high := a.y(q.Low[k]), a.y(q.High[k])
		if low-high > 0.8 {
			p.line(thin/2, 0, grey, point{x, low}, point{x, high})
		}
		line = append(line, point{x, (low + high) / 2})
	}
	end()
}

// heat draws a bar under the curve where heat was commanded on.
func (p *pen) heat(s *Sheet, a *axes) {
	p.write(a.x0-1, a.y0+heatHeight, 2.2, 'r', false, "heat")
	begin := -1
	for k := 0; k <= Bins; k++ {
		on := k < Bins && s.Heat[k] > 0
		if on && begin < 0 {
			begin = k
		}
		if !on && begin >= 0 {
			x0, x1 := a.x(float64(begin)/Bins), a.x(float64(k)/Bins)
			p.area(60, point{x0, a.y0 + 1}, point{x1, a.y0 + 1}, point{x1, a.y0 + heatHeight}, point{x0, a.y0 + heatHeight})
			begin = -1
		}
	}
	p.line(thin, 0, 0, point{a.x0, a.y0 + heatHeight}, point{a.x1, a.y0 + heatHeight})
}

// numbers sets the number of each marked event above the curve, and leaves out
// those that would stand on one another.
func (p *pen) numbers(s *Sheet, a *axes) {
	n, free := 0, a.x0-10
	for _, e := range s.Events {
		if !e.Mark {
			continue
		}
		n++
		share := float64(e.Time.Sub(s.From)) / float64(s.To.Sub(s.From))
		if share < 0 || share > 1 {
			continue
		}
		x := a.x(share)
		p.line(thin, 0, 0, point{x, a.y1 - 1.5}, point{x, a.y1 + 1.5})
		if x >= free {
			anchor := byte('m')
			if x < a.x0+2 {
				anchor = 'l' // beside the unit of the scale
			}
			p.write(x, a.y1-2, 2, anchor, false, fmt.Sprint(n))
			free = x + 4
		}
	}
}
