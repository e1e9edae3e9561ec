package page

import (
	"cmp"
	"slices"
	"strconv"

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
}

// drawTub draws the section: walls and floor cut and hatched, water, pad,
// probes where they are, leader lines to the values, the scale at the wall.
func drawTub(v *loop.StationView, u status.Units) *canvas {
	c := &canvas{W: drawingWidth, H: tubHeight, Label: labelOf(v, u)}
	water, known := governing(v)
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
	depth, word := v.Tub.Depth, " set"
	if v.Truth != nil {
		depth, word = v.Truth.Depth, ""
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
		x := tubRight - 18
		c.polygon("outline", "none", x-5, surface-9, x+5, surface-9, x, surface-1)
	}
	c.line("thin", tubLeft-wallThick-8, surface, tubLeft, surface)
	text := strconv.Itoa(int(depth*1000+0.5)) + " mm" + word
	if doubtful {
		text += " ?"
	}
	c.dimension(tubLeft+10, surface, tubFloor)
	c.text("tiny halo", "start", tubLeft+15, min((surface+tubFloor)/2+4, tubFloor-3), text)
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
	c.text("label", "middle", (tubLeft+tubRight)/2-6, top+40, word)
}

// drawAnimal draws a coil in phantom line, the line of ISO 128 for what is
// adjacent and not part of the thing drawn.
func drawAnimal(c *canvas, surface float64) {
	h := max(min((tubFloor-surface)*0.62, 34), 8)
	cx, base := (tubLeft+tubRight)/2+14, tubFloor-3
	for i, w := range [...]float64{64, 44, 24} {
		y := base - h*0.24*float64(i)
		c.path("phantom", "M"+num(cx-w/2)+" "+num(y-h*0.25)+
			"A"+num(w/2)+" "+num(h*0.25)+" 0 1 0 "+num(cx+w/2)+" "+num(y-h*0.25)+
			"A"+num(w/2)+" "+num(h*0.25)+" 0 0 0 "+num(cx-w/2+6)+" "+num(y-h*0.36))
	}
}

// tubSpots places the probes by their role: the control probe low in the
// water, the guard probe higher, the floor probe over the pad, the room probe
// outside.
func tubSpots(v *loop.StationView, surface float64) []spot {
	depth := tubFloor - surface
	var spots []spot
	for i := range v.Probes {
		p := &v.Probes[i]
		s := spot{probe: p}
		switch p.Role {
		case controller.RoleControl:
			s.x, s.y = tubLeft+62, tubFloor-depth*0.30
		case controller.RoleGuard:
			s.x, s.y = tubLeft+92, tubFloor-depth*0.62
		case controller.RoleFloor:
			s.x, s.y = tubLeft+78, tubFloor-1
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
		drawValue(c, u, s.probe, y)
	}
}

// drawValue writes role and value on the shoulder of a leader line.
func drawValue(c *canvas, u status.Units, p *loop.ProbeView, y float64) {
	c.text("tiny", "start", valuesLeft, y-4, status.RoleWord(p.Role))
	if !status.HasValue(p.Reading) {
		word := status.FlawWord(p.Reading.Flaw)
		if word == "" {
			word = "no reading"
		}
		c.rect("abnormal", "url(#hatch-abnormal)", valuesLeft, y+4, c.W-valuesLeft, 6)
		c.text("value strong", "start", valuesLeft, y+23, word)
		return
	}
	lines := valueLines(u, p)
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
func valueLines(u status.Units, p *loop.ProbeView) [2]string {
	if u != status.Both {
		return [2]string{u.Temperature(p.Reading.Value)}
	}
	return [2]string{
		status.Celsius.Temperature(p.Reading.Value),
		status.Fahrenheit.Temperature(p.Reading.Value),
	}
}
