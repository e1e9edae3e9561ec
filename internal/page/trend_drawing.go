package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// The trend's frame, in drawing units.
const (
	trendLeft   = 34.0
	trendRight  = 326.0
	trendTop    = 20.0
	trendFloor  = 124.0
	stripTop    = 129.0
	stripFloor  = 137.0
	trendHeight = 156.0
)

// drawTrend draws the last hours: band shaded, limits, one line a probe, the
// strip of heat below. A gap in the readings is a gap in the line. It ends at its
// newest sample, so that it changes when there is a new one and not before.
func drawTrend(v *loop.StationView, samples []sample, u status.Units, zone *time.Location, gap time.Duration) *canvas {
	c := &canvas{W: drawingWidth, H: trendHeight, Label: fmt.Sprintf("Trend of %s over the last %d hours", v.Name, int(trendSpan.Hours()))}
	y, newest := trendScale(v, samples), samples[len(samples)-1]
	x := func(at time.Duration) float64 {
		return trendRight - float64(newest.at-at)/float64(trendSpan)*(trendRight-trendLeft)
	}
	drawTrendGround(c, v, y, u)
	drawHours(c, newest, x, zone)
	for i := range v.Probes {
		drawTrendLine(c, v, i, samples, x, y, gap)
	}
	drawHeatStrip(c, samples, x, gap)
	c.rect("outline", "none", trendLeft, trendTop, trendRight-trendLeft, trendFloor-trendTop)
	c.rect("outline", "none", trendLeft, stripTop, trendRight-trendLeft, stripFloor-stripTop)
	c.text("tiny", "end", trendLeft-4, stripFloor, "heat")
	c.line("void", 0, 0, c.W, c.H)
	return c
}

// trendScale spans the band and what the in-water probes did, and no more: the
// room at night would press everything else flat.
func trendScale(v *loop.StationView, samples []sample) scale {
	set := celsiusOr(mark(v), 25)
	s := scale{lo: set - 1, hi: set + 1, top: trendTop, floor: trendFloor}
	for i := range v.Probes {
		switch v.Probes[i].Role {
		case controller.RoleRoom, controller.RoleFloor:
			continue
		}
		for _, p := range samples {
			if i < len(p.values) && !math.IsNaN(float64(p.values[i])) {
				s.lo, s.hi = min(s.lo, float64(p.values[i])-0.3), max(s.hi, float64(p.values[i])+0.3)
			}
		}
	}
	return s
}

func drawTrendGround(c *canvas, v *loop.StationView, y scale, u status.Units) {
	half := float64(v.Differential) / float64(controller.Kelvin) / 2
	if v.SetPoint != 0 {
		set := status.DegreesC(mark(v))
		top, floor := y.y(set+half), y.y(set-half)
		switch {
		case freezing(v):
			top, floor = y.y(set), y.floor
		case v.Kind == controller.Chamber:
			top, floor = y.top, y.y(set)
		}
		c.rect("shade", "", trendLeft, max(top, y.top), trendRight-trendLeft, min(floor, y.floor)-max(top, y.top))
	}
	for _, limit := range [...]struct {
		celsius float64
		known   bool
	}{
		{celsiusOr(v.Cutoff, 0), v.Cutoff != 0 && !freezing(v)}, {celsiusOr(v.TooCold, 0), v.TooCold != 0 && v.Kind == controller.Tub},
	} {
		if limit.known && limit.celsius > y.lo && limit.celsius < y.hi {
			c.line("limit", trendLeft, y.y(limit.celsius), trendRight, y.y(limit.celsius))
		}
	}
	if u != status.Fahrenheit {
		step := stepFor((y.hi - y.lo) / (y.floor - y.top))
		for t := math.Ceil(y.lo/step) * step; t <= y.hi; t += step {
			c.line("thin", trendLeft-3, y.y(t), trendLeft, y.y(t))
			c.text("tiny", "end", trendLeft-5, y.y(t)+3.5, short(t))
		}
		c.text("tiny strong", "end", trendLeft-2, 9, "°C")
	}
	if u != status.Celsius {
		lo, hi := y.lo*1.8+32, y.hi*1.8+32
		step := stepFor((hi - lo) / (y.floor - y.top))
		for t := math.Ceil(lo/step) * step; t <= hi; t += step {
			at := y.y((t - 32) / 1.8)
			c.line("thin", trendRight, at, trendRight+3, at)
			c.text("tiny", "start", trendRight+5, at+3.5, short(t))
		}
		c.text("tiny strong", "start", trendRight+2, 9, "°F")
	}
}

// drawHours marks the full hours of the wall clock.
func drawHours(c *canvas, newest sample, x func(time.Duration) float64, zone *time.Location) {
	now := newest.wall.In(zone)
	hour := time.Date(now.Year(), now.Month(), now.Day(), now.Hour(), 0, 0, 0, zone)
	for ; now.Sub(hour) < trendSpan; hour = hour.Add(-time.Hour) {
		at := x(newest.at - now.Sub(hour))
		if at < trendLeft || at > trendRight {
			continue
		}
		c.line("grid", at, trendTop, at, stripFloor)
		if at > trendLeft+10 && at < trendRight-10 {
			c.text("tiny", "middle", at, trendHeight-6, hour.Format("15:04"))
		}
	}
}

// trendLines is how many kinds of line there are; a seventh probe begins anew.
const trendLines = 6

// lineClass is the class of a probe's line. Lines differ by weight and dashes
// in the order of the probes, never by colour. The room has none: it would
// press everything else flat.
func lineClass(v *loop.StationView, i int) string {
	if v.Probes[i].Role == controller.RoleRoom {
		return ""
	}
	n := 0
	for j := range i {
		if v.Probes[j].Role != controller.RoleRoom {
			n++
		}
	}
	return "line-" + strconv.Itoa(n%trendLines+1)
}

// drawTrendLine draws one probe; what lies off the scale is not drawn.
func drawTrendLine(c *canvas, v *loop.StationView, i int, samples []sample, x func(time.Duration) float64, y scale, gap time.Duration) {
	class := lineClass(v, i)
	if class == "" {
		return
	}
	var xy []float64
	var before time.Duration
	flush := func() {
		if len(xy) >= 4 {
			c.path(class, polyline(xy))
		}
		xy = xy[:0]
	}
	for _, s := range samples {
		if i >= len(s.values) || math.IsNaN(float64(s.values[i])) {
			flush()
			continue
		}
		if len(xy) > 0 && s.at-before > gap {
			flush()
		}
		at := y.y(float64(s.values[i]))
		if at < trendTop || at > trendFloor {
			flush() // off the scale: no line, rather than one along the edge
			continue
		}
		before = s.at
		xy = append(xy, x(s.at), at)
	}
	flush()
}

// drawHeatStrip fills the time with heat on, as much of the strip's height as
// heat was on of each sample's time.
func drawHeatStrip(c *canvas, samples []sample, x func(time.Duration) float64, gap time.Duration) {
	var d strings.Builder
	for i := 1; i < len(samples); i++ {
		s, before := samples[i], samples[i-1]
		if s.heat <= 0 || s.at-before.at > gap {
			continue
		}
		h := float64(s.heat) * (stripFloor - stripTop)
		d.WriteString("M" + num(x(before.at)) + " " + num(stripFloor) + "V" + num(stripFloor-h) + "H" + num(x(s.at)) + "V" + num(stripFloor) + "Z")
	}
	if d.Len() > 0 {
		c.path("solid", d.String())
	}
}
