package page

import (
	"math"
	"strconv"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// The scale at the wall: a strip with the band hatched, the limits as thick
// lines with their words, and a pointer at the temperature that governs.
const (
	scaleLeft  = 36.0
	scaleRight = 50.0
	scaleWords = 65.0
)

// scale maps °C to a height on the drawing.
type scale struct {
	lo, hi     float64 // °C
	top, floor float64 // drawing units
}

func (s scale) y(c float64) float64 {
	return s.floor - (c-s.lo)/(s.hi-s.lo)*(s.floor-s.top)
}

// scaleOf chooses the range so that limits and set point always lie on it.
func scaleOf(v *loop.StationView, top, floor float64) scale {
	set := celsiusOr(mark(v), 25)
	s := scale{lo: celsiusOr(v.TooCold, set-3) - 1.5, hi: celsiusOr(v.Cutoff, set+3) + 1.5, top: top, floor: floor}
	if v.Kind == controller.Chamber {
		s.lo = min(10, set-10)
		s.hi = max(set, celsiusOr(v.Cutoff, set)) + 8
		if freezing(v) {
			s.hi = 30 // nothing heats, and no limit is near
		}
	}
	s.lo, s.hi = min(s.lo, set-1), max(s.hi, set+1)
	return s
}

// draw puts the scale on the canvas. water is the temperature that governs;
// known says whether there is one.
func (s scale) draw(c *canvas, v *loop.StationView, u status.Units, water physic.Temperature, known bool) {
	c.rect("outline", "", scaleLeft, s.top, scaleRight-scaleLeft, s.floor-s.top)
	half := float64(v.Differential) / float64(controller.Kelvin) / 2
	set := celsiusOr(mark(v), 25)
	var taken []float64 // heights at which words stand on the right
	if v.SetPoint != 0 {
		yTop, yFloor := s.y(set+half), s.y(set-half)
		if v.Kind == controller.Chamber {
			yTop, yFloor = s.top, s.y(set) // a treatment counts from the target up
			if freezing(v) {
				yTop, yFloor = s.y(set), s.floor
			}
		}
		c.rect("band", "url(#hatch-band)", scaleLeft, yTop, scaleRight-scaleLeft, max(yFloor-yTop, 2))
		taken = append(taken, s.y(set))
		c.text("tiny", "start", scaleWords, s.y(set)+3.5, bandWord(v))
	}
	limit := func(t physic.Temperature, word string, above bool) {
		if t == 0 {
			return
		}
		y := s.y(status.DegreesC(t))
		c.line("limit", scaleLeft-3, y, scaleWords+38, y)
		dy := 12.0
		if above {
			dy = -4
		}
		c.text("tiny strong", "start", scaleWords, y+dy, word)
		taken = append(taken, y, y+dy-4)
	}
	if !freezing(v) {
		limit(v.Cutoff, limitWord(v.Kind), true)
	}
	if v.Kind == controller.Tub {
		limit(v.TooCold, "too cold", false)
	}
	s.ticks(c, u, taken)
	if known {
		s.pointer(c, status.DegreesC(water))
	}
}

func bandWord(v *loop.StationView) string {
	switch {
	case v.Kind != controller.Chamber:
		return "band"
	case v.Treatment == nil:
		return "set point"
	}
	return "target"
}

func limitWord(k controller.Kind) string {
	if k == controller.Chamber {
		return "limit"
	}
	return "cutoff"
}

// pointer marks the temperature; past an end it stands at the end and points
// outward, so that it never looks like a value on the scale.
func (s scale) pointer(c *canvas, celsius float64) {
	y := s.y(celsius)
	switch {
	case y < s.top:
		c.polygon("solid v-mark", "", scaleRight+2, s.top+10, scaleRight+12, s.top+10, scaleRight+7, s.top-2)
	case y > s.floor:
		c.polygon("solid v-mark", "", scaleRight+2, s.floor-10, scaleRight+12, s.floor-10, scaleRight+7, s.floor+2)
	default:
		c.line("thick v-mark", scaleLeft, y, scaleRight, y)
		c.polygon("solid v-mark", "", scaleRight+1, y, scaleRight+12, y-5, scaleRight+12, y+5)
	}
}

// ticks writes °C at the left and °F at the right of the strip, as chosen.
func (s scale) ticks(c *canvas, u status.Units, taken []float64) {
	if u != status.Fahrenheit {
		step := stepFor((s.hi - s.lo) / (s.floor - s.top))
		for x := math.Ceil(s.lo/step) * step; x <= s.hi; x += step {
			c.line("thin", scaleLeft-4, s.y(x), scaleLeft, s.y(x))
			c.text("tiny", "end", scaleLeft-6, s.y(x)+3.5, short(x))
		}
		c.text("tiny strong", "end", scaleLeft-2, s.top-8, "°C")
	}
	if u == status.Celsius {
		return
	}
	lo, hi := s.lo*1.8+32, s.hi*1.8+32
	step := stepFor((hi - lo) / (s.floor - s.top))
	for x := math.Ceil(lo/step) * step; x <= hi; x += step {
		y := s.y((x - 32) / 1.8)
		if near(y, taken) {
			continue
		}
		c.line("thin", scaleRight, y, scaleRight+4, y)
		c.text("tiny", "start", scaleWords, y+3.5, short(x))
	}
	c.text("tiny strong", "start", scaleRight+2, s.top-8, "°F")
}

func near(y float64, taken []float64) bool {
	for _, t := range taken {
		if math.Abs(y-t) < 13 {
			return true
		}
	}
	return false
}

// stepFor is the smallest round step whose labels do not touch.
func stepFor(perUnit float64) float64 {
	for _, step := range [...]float64{0.5, 1, 2, 5, 10, 20, 50} {
		if step/perUnit >= 19 {
			return step
		}
	}
	return 100
}

func celsiusOr(t physic.Temperature, otherwise float64) float64 {
	if t == 0 {
		return otherwise
	}
	return status.DegreesC(t)
}

// short writes a tick's number without a needless decimal.
func short(x float64) string { return strconv.FormatFloat(tenth(x), 'f', -1, 64) }
