package page

import (
	"math"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// The section through a cabinet, in drawing units.
const (
	cabLeft   = 128.0
	cabRight  = 242.0
	cabTop    = 40.0
	cabFloor  = 208.0
	cabHeight = 256.0
	cabWall   = 10.0
)

// drawChamber draws the cabinet: insulated walls cut, heater, fan, the pieces
// with their core probes, the air probe free.
func drawChamber(v *loop.StationView, u status.Units) *canvas {
	c := &canvas{W: drawingWidth, H: cabHeight, Label: labelOf(v, u)}
	water, known := shown(v)
	scaleOf(v, 28, 222).draw(c, v, u, water, known)
	l, r, w := cabLeft, cabRight, cabWall
	c.Strokes = append(c.Strokes, stroke{
		Kind: "path", Class: "cut even", Fill: "url(#hatch-insulation)",
		D: polyline([]float64{l - w, cabTop - w, r + w, cabTop - w, r + w, cabFloor + w, l - w, cabFloor + w}) + "Z" +
			polyline([]float64{l, cabTop, r, cabTop, r, cabFloor, l, cabFloor}) + "Z",
	})
	drawHeater(c, v)
	drawFan(c, (l+r)/2, cabTop+15)
	spots := drawPieces(c, v)
	drawSpots(c, u, spots, 22, cabHeight-44)
	c.line("void", 0, 0, c.W, c.H)
	return c
}

// drawHeater draws a zigzag over the floor, thick while heat is on.
func drawHeater(c *canvas, v *loop.StationView) {
	class, word := "outline", "heater, heat off"
	if v.HeatOn {
		class, word = "thick", "heater, HEAT ON"
	}
	var xy []float64
	for i := 0; i <= 16; i++ {
		xy = append(xy, cabLeft+9+float64(i)*6, cabFloor-5-7*float64(i%2))
	}
	c.path(class, polyline(xy))
	c.leader(cabLeft+21, cabFloor-8, cabLeft+8, cabFloor+cabWall+14, cabLeft+40)
	c.text("label v", "middle", (cabLeft+cabRight)/2, cabFloor+cabWall+27, word)
}

func drawFan(c *canvas, x, y float64) {
	c.circle("outline", "none", x, y, 10)
	for i := range 3 {
		a := float64(i) * 2 * math.Pi / 3
		c.line("outline", x, y, x+9*math.Cos(a), y+9*math.Sin(a))
	}
	c.circle("dot", "", x, y, 2)
}

// drawPieces draws one piece for each core or surface probe, a branch, a slate
// and a hide by turns, and returns where the probes are.
func drawPieces(c *canvas, v *loop.StationView) []spot {
	shelf := cabFloor - 34
	c.line("outline", cabLeft, shelf, cabRight, shelf)
	const room = 3 // pieces that fit side by side
	var spots []spot
	piece, free := 0, 0
	for i := range v.Probes {
		p := &v.Probes[i]
		s := spot{probe: p, name: probeName(v, i)}
		switch p.Role {
		case controller.RoleCore, controller.RoleSurface:
			x := cabLeft + 20 + float64(piece%room)*36
			y := shelf - 50*float64(piece/room)
			if piece%room == 0 && piece > 0 {
				c.line("outline", cabLeft, y, cabRight, y)
			}
			s.x, s.y = drawPiece(c, piece%room, x, y, p.Role)
			piece++
		case controller.RoleRoom:
			s.x, s.y = cabRight+cabWall+8, cabTop-22
		default:
			s.x, s.y = cabRight-14-float64(free)*12, cabTop+30
			free++
		}
		spots = append(spots, s)
	}
	return spots
}

// drawPiece draws one piece standing at x on y and returns the place of its
// probe: the middle for a core, the upper side for a surface.
func drawPiece(c *canvas, shape int, x, y float64, role controller.Role) (px, py float64) {
	const end = "url(#hatch-wood)"
	var h float64
	switch shape {
	case 0: // branch, cut across
		h = 28
		c.circle("cut", end, x, y-h/2, h/2)
	case 1: // slate on edge
		h = 36
		c.rect("cut", "url(#hatch-cut)", x-5, y-h, 10, h)
	default: // hide, an upturned bowl
		h = 26
		c.path("cut", "M"+num(x-15)+" "+num(y)+"A15 26 0 0 1 "+num(x+15)+" "+num(y)+"H"+num(x+8)+"A8 18 0 0 0 "+num(x-8)+" "+num(y)+"Z")
		if role == controller.RoleCore {
			return x, y - h + 4
		}
	}
	if role == controller.RoleSurface {
		return x, y - h
	}
	return x, y - h/2
}
