package page

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// The section through a tub, in drawing units. The depth is drawn larger than
// the length, and the title strip says so: a soak tub is flat.
const (
	drawingWidth = 360.0
	tubLeft      = 126.0 // inside of the left wall
	tubRight     = 244.0
	tubFloor     = 196.0 // upper side of the floor
	tubRim       = 74.0
	wallThick    = 6.0
	valuesLeft   = 272.0
	tubHeight    = 256.0
)

// spot is a probe on a drawing: where it is and what is written beside it.
type spot struct {
	x, y  float64
	probe *loop.ProbeView
	name  string
}

// drawTub draws the section: walls and floor cut and hatched, water, pad,
// probes where they are, leader lines to the values, the scale at the wall.
func drawTub(v *loop.StationView, u status.Units) *canvas {
	c := &canvas{W: drawingWidth, H: tubHeight, Label: labelOf(v, u)}
	water, known := shown(v)
	scaleOf(v, 28, 222).draw(c, v, u, water, known)
	drawWalls(c, v)
	surface := drawWater(c, v)
	drawPad(c, v)
	if v.AnimalIn {
		drawAnimal(c, surface)
	}
	drawSpots(c, u, tubSpots(v, surface), 22, tubHeight-40)
	c.line("void", 0, 0, c.W, c.H)
	return c
}

func drawWalls(c *canvas, v *loop.StationView) {
	l, r, w := tubLeft, tubRight, wallThick
	c.polygon("cut", "url(#hatch-cut)", l, tubRim, l-w, tubRim, l-w, tubFloor+w, r+w, tubFloor+w, r+w, tubRim,
		r, tubRim, r, tubFloor, l, tubFloor)
	if v.Tub.Lid && !v.Attended {
		c.rect("cut", "url(#hatch-cut)", l-w-4, tubRim-7, r-l+2*w+8, 6)
	}
	if v.Attended {
		// The lid is off: drawn as an outline of where it belongs.
		c.rect("phantom", "none", l-w-4, tubRim-7, r-l+2*w+8, 6)
	}
}

// drawWater draws the surface with the level sign and the depth, and returns
// the height of the surface.
func drawWater(c *canvas, v *loop.StationView) float64 {
	depth := v.Tub.Depth // as filled: no sensor measures the level
	if v.Truth != nil {
		depth = v.Truth.Depth
	}
	surface := tubFloor - levelOf(depth)
	doubtful := activeAlarm(v, controller.NoWater) || activeAlarm(v, controller.WaterLow)
	class := "outline"
	if doubtful {
		class = "hidden-line"
	}
	if depth > 0 {
		c.rect("water", "url(#hatch-water)", tubLeft, surface, tubRight-tubLeft, tubFloor-surface)
		c.line(class, tubLeft, surface, tubRight, surface)
		x := tubRight - 40
		c.polygon("outline", "none", x-5, surface-9, x+5, surface-9, x, surface-1)
	}
	c.dimension(tubLeft+15, surface, tubFloor)
	text := strconv.Itoa(int(depth*1000+0.5)) + " mm"
	if doubtful {
		text += " ?"
	}
	c.upright("tiny halo", tubLeft+11, (surface+tubFloor)/2, text)
	return surface
}

// levelOf is the drawn height of water of a depth in metres: 10 mm can still
// be seen and 150 mm stays below the rim.
func levelOf(depth float64) float64 {
	if !(depth > 0) {
		return 0
	}
	return min(14+depth*600, tubFloor-tubRim-14)
}

func drawPad(c *canvas, v *loop.StationView) {
	if v.Tub.PadPower <= 0 {
		return
	}
	top, x, w := tubFloor+wallThick+1, tubLeft+14, tubRight-tubLeft-28
	word := "pad " + strconv.FormatFloat(v.Tub.PadPower, 'f', -1, 64) + " W, heat off"
	if v.HeatOn {
		c.rect("solid", "", x, top, w, 8)
		word = "pad " + strconv.FormatFloat(v.Tub.PadPower, 'f', -1, 64) + " W, HEAT ON"
	} else {
		c.rect("cut", "url(#hatch-pad)", x, top, w, 8)
	}
	c.leader(x+w/2, top+4, x+w/2-12, top+26, x+w/2-44)
	c.text("label v", "middle", (tubLeft+tubRight)/2-6, top+40, word)
}

// drawAnimal draws a coil in phantom line, the line of ISO 128 for what is
// adjacent and not part of the thing drawn.
func drawAnimal(c *canvas, surface float64) {
	const turns, steps = 2.4, 60
	cx, flat := tubLeft+54, min(0.36, (tubFloor-surface-6)/68)
	if flat <= 0 {
		return
	}
	cy := tubFloor - 3 - 33*flat
	var xy []float64
	for i := 0; i <= steps; i++ {
		part := float64(i) / steps
		r, angle := 33-25*part, -0.6+part*turns*2*math.Pi
		xy = append(xy, cx+r*math.Cos(angle), cy+flat*r*math.Sin(angle))
	}
	c.path("phantom", polyline(xy))
	c.circle("dot", "", xy[len(xy)-2], xy[len(xy)-1], 2.2) // the head, in the middle
}

// tubSpots places the probes by their role: the control probe low in the
// water, the guard probe higher, the floor probe over the pad, the room probe
// outside.
func tubSpots(v *loop.StationView, surface float64) []spot {
	depth := tubFloor - surface
	var spots []spot
	for i := range v.Probes {
		p := &v.Probes[i]
		s := spot{probe: p, name: probeName(v, i)}
		switch p.Role {
		case controller.RoleControl:
			s.x, s.y = tubLeft+90, tubFloor-depth*0.28
		case controller.RoleGuard:
			s.x, s.y = tubLeft+104, tubFloor-depth*0.66
		case controller.RoleFloor:
			s.x, s.y = tubLeft+84, tubFloor-1
		case controller.RoleRoom:
			s.x, s.y = tubRight+20, 46
		default:
			s.x, s.y = (tubLeft+tubRight)/2, tubRim-22
		}
		spots = append(spots, s)
	}
	return spots
}

// drawSpots draws probes, leader lines and values, the values one below the
// other at the right without touching.
func drawSpots(c *canvas, u status.Units, spots []spot, top, bottom float64) {
	slices.SortStableFunc(spots, func(a, b spot) int { return cmp.Compare(a.y, b.y) })
	if len(spots) == 0 {
		return
	}
	pitch := min((bottom-top)/float64(max(len(spots)-1, 1)), 56)
	start := top + ((bottom-top)-pitch*float64(len(spots)-1))/2
	for i, s := range spots {
		y := start + pitch*float64(i)
		c.leader(s.x, s.y, valuesLeft-8, y, c.W)
		drawValue(c, u, s, y)
	}
}

// drawValue writes role and value on the shoulder of a leader line.
func drawValue(c *canvas, u status.Units, s spot, y float64) {
	p := s.probe
	c.text("tiny", "start", valuesLeft, y-4, s.name)
	if !status.HasValue(p.Reading) {
		word := status.FlawWord(p.Reading.Flaw)
		if word == "" {
			word = "no reading"
		}
		c.rect("abnormal", "url(#hatch-abnormal)", valuesLeft, y+4, c.W-valuesLeft, 6)
		c.text("value strong", "start", valuesLeft, y+23, word)
		return
	}
	lines := valueLines(u, p.Reading.Value)
	c.text("value v", "start", valuesLeft, y+15, lines[0])
	if lines[1] != "" {
		c.text("value second v", "start", valuesLeft, y+29, lines[1])
	}
	if p.Reading.Quality == controller.Suspect {
		c.text("tiny strong", "end", c.W, y-4, "suspect")
	}
}

// valueLines is a value in one or two units, the second empty when only one is
// wanted.
func valueLines(u status.Units, t physic.Temperature) [2]string {
	if u != status.Both {
		return [2]string{u.Temperature(t)}
	}
	return [2]string{status.Celsius.Temperature(t), status.Fahrenheit.Temperature(t)}
}
