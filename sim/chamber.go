package sim

import (
	"fmt"
	"math"

	"soakwarden/sim/physics"
)

// The nodes of a chamber without its pieces.
const (
	chamberAir = iota
	chamberCoil
	chamberWall // inner half
	chamberSkin // outer half, towards the insulation
	mains
)

// Chamber is a cabinet or freezer with its load. Use NewChamber. It is not for
// use by several goroutines.
type Chamber struct {
	spec   ChamberSpec
	t      [mains]float64
	cap    [mains]float64
	bodies []*body
	truth  ChamberTruth

	leak, wall, outer float64 // W/K: air to room; between the halves of the wall; to the room
	face              float64 // m² of wall
	cooling           bool    // a freezer's compressor runs
	fan               bool
	known             bool                  // the matrix is for fan and lifts of now
	inv               [mains][mains]float64 // of the main nodes' A, pieces eliminated
	link              [mains][mains]float64 // conductances among the main nodes, W/K
	room              float64
}

// WithDefaults returns the spec with every zero field that has a default filled.
func (s ChamberSpec) WithDefaults() ChamberSpec {
	set := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	if s.Wall == "" {
		s.Wall = "particleboard"
	}
	set(&s.WallThick, 0.016)
	set(&s.Insulation, 0.5)
	set(&s.Leak, 0.3)
	set(&s.Hold, -20)
	set(&s.Coil, 800)
	set(&s.CoilFilm, max(1, magnitude(s.Power)/15))
	set(&s.FilmFan, 20)
	set(&s.FilmStill, 6)
	pieces := make([]PieceSpec, len(s.Pieces))
	for i, p := range s.Pieces {
		pieces[i] = p.WithDefaults()
	}
	s.Pieces = pieces
	return s
}

// Check says what is wrong with the spec, after WithDefaults, and what to
// write instead.
func (s ChamberSpec) Check() error {
	s = s.WithDefaults()
	for _, b := range []struct {
		name     string
		v        float64
		low, top float64
		unit     string
	}{
		{"length", s.Length, 0.1, 10, "m"},
		{"width", s.Width, 0.1, 10, "m"},
		{"height", s.Height, 0.1, 10, "m"},
		{"wall thickness", s.WallThick, 0.0005, 0.2, "m"},
		{"insulation", s.Insulation, 0.05, 20, "m²K/W"},
		{"leak", s.Leak, 0, 50, "air changes an hour"},
		{"power", s.Power, -5000, 10000, "W"},
		{"hold", s.Hold, -60, 10, "°C"},
		{"coil", s.Coil, 10, 1e6, "J/K"},
		{"coil film", s.CoilFilm, 0.1, 1e5, "W/K"},
		{"film with fan", s.FilmFan, 1, 500, "W/m²K"},
		{"film without fan", s.FilmStill, 1, 500, "W/m²K"},
	} {
		// Written so that NaN fails it.
		if !(b.v >= b.low && b.v <= b.top) {
			return fmt.Errorf("chamber: %s is %g %s, write %g to %g %s", b.name, b.v, b.unit, b.low, b.top, b.unit)
		}
	}
	if _, ok := physics.MaterialByName(s.Wall); !ok {
		return fmt.Errorf("chamber: no material is named %q, write one of %s", s.Wall, physics.MaterialNames())
	}
	for i, p := range s.Pieces {
		if err := p.Check(); err != nil {
			return fmt.Errorf("chamber, piece %d: %w", i+1, err)
		}
		if s.Power < 0 {
			if err := p.freezable(); err != nil {
				return fmt.Errorf("chamber, piece %d: %w", i+1, err)
			}
		}
	}
	return nil
}

// NewChamber returns a chamber with everything at the room's temperature, or
// what is wrong with the spec.
func NewChamber(spec ChamberSpec, room float64) (*Chamber, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if !(room > -40 && room < 60) {
		return nil, fmt.Errorf("chamber: room is %g °C, write −40 to 60", room)
	}
	c := &Chamber{spec: spec.WithDefaults(), room: room}
	s := &c.spec
	m, _ := physics.MaterialByName(s.Wall)
	rho, k, cp := m.At(25, 0.1)
	volume := s.Length * s.Width * s.Height
	c.face = 2 * (float64(s.Length*s.Width) + float64(s.Length*s.Height) + float64(s.Width*s.Height))
	c.leak = 1200 * volume * s.Leak / 3600
	c.wall = c.face / (s.WallThick / 2 / k)
	c.outer = c.face / (s.WallThick/4/k + s.Insulation)
	half := rho * cp * c.face * s.WallThick / 2
	c.cap = [mains]float64{1200 * volume, s.Coil, half, half}
	for i := range c.t {
		c.t[i] = room
	}
	for _, p := range s.Pieces {
		b := newBody(p, room)
		b.properties(s.FilmStill)
		c.bodies = append(c.bodies, b)
	}
	c.truth.Pieces = make([]PieceTruth, len(c.bodies))
	return c, nil
}

// film returns what the air has on pieces and walls, W/m²K.
func (c *Chamber) film(fan bool) float64 {
	if fan {
		return c.spec.FilmFan
	}
	return c.spec.FilmStill
}

// chamberAlpha is γh/2 of TR-BDF2 for a step of one second.
const chamberAlpha = 0.5 * (2 - math.Sqrt2)

// prepare works out what the step to come needs: factors of the pieces and the
// inverse of the main nodes with the pieces eliminated.
func (c *Chamber) prepare(fan bool) {
	film := c.film(fan)
	for _, b := range c.bodies {
		if b.ready(1, film) {
			c.known = false
		}
	}
	if c.known && fan == c.fan {
		return
	}
	c.known, c.fan = true, fan
	coil := c.spec.CoilFilm
	if !fan {
		coil *= 0.4
	}
	g := &c.link
	*g = [mains][mains]float64{}
	g[chamberAir][chamberCoil] = coil
	g[chamberAir][chamberWall] = c.face / (1/film + c.face/(2*c.wall))
	g[chamberWall][chamberSkin] = c.wall
	for i := range g {
		for j := range i {
			g[i][j] = g[j][i]
		}
	}
	a := &c.inv
	*a = [mains][mains]float64{}
	for i := range a {
		a[i][i] = c.cap[i]
		for j := range a {
			if i != j {
				a[i][i] += float64(chamberAlpha * g[i][j])
				a[i][j] = -float64(chamberAlpha * g[i][j])
			}
		}
	}
	a[chamberAir][chamberAir] += float64(chamberAlpha * c.leak)
	a[chamberSkin][chamberSkin] += float64(chamberAlpha * c.outer)
	for _, b := range c.bodies {
		// The piece takes what it conducts times (air − its surface); what a kelvin
		// of air lifts the surface by, it takes less.
		a[chamberAir][chamberAir] += float64(chamberAlpha * (b.conducts - float64(b.size*b.step.lift)))
	}
	for k := range a {
		p := 1 / a[k][k]
		a[k][k] = 1
		for j := range a[k] {
			a[k][j] *= p
		}
		for i := range a {
			if i == k {
				continue
			}
			f := a[i][k]
			a[i][k] = 0
			for j := range a[i] {
				a[i][j] -= float64(f * a[k][j])
			}
		}
	}
}

// flow returns the heat into each main node from the others, the room, the
// pieces and the coil, W.
func (c *Chamber) flow(watts, room float64) (q [mains]float64) {
	for i := range q {
		for j := range i {
			w := float64(c.link[i][j] * (c.t[j] - c.t[i]))
			q[i] += w
			q[j] -= w
		}
	}
	q[chamberAir] += float64(c.leak * (room - c.t[chamberAir]))
	q[chamberSkin] += float64(c.outer * (room - c.t[chamberSkin]))
	q[chamberCoil] += watts
	for _, b := range c.bodies {
		q[chamberAir] += b.gives() - float64(b.conducts*c.t[chamberAir])
	}
	return q
}

// Step runs the chamber for one second under d.
func (c *Chamber) Step(d ChamberDrive) {
	const w1, w2 = (1 + math.Sqrt2) / 2, (math.Sqrt2 - 1) / 2
	c.prepare(d.Fan)
	watts := c.watts(d)
	q := c.flow(watts, d.Room)
	var r, mid, next [mains]float64
	for i := range r {
		r[i] = float64(c.cap[i]*c.t[i]) + float64(chamberAlpha*q[i])
	}
	c.stage(&r, &mid, watts, d.Room, func(b *body) float64 { return b.first(c.t[chamberAir]) })
	for i := range r {
		r[i] = float64(c.cap[i] * (float64(w1*mid[i]) - float64(w2*c.t[i])))
	}
	c.stage(&r, &next, watts, d.Room, func(b *body) float64 { return b.second(mid[chamberAir]) })

	// The mean over the step, as the stages weigh it, for what crossed the walls.
	const early, late = math.Sqrt2 / 4, 1 - math.Sqrt2/2
	mean := func(i int) float64 { return float64(early*(c.t[i]+mid[i])) + float64(late*next[i]) }
	c.truth.Lost += float64(c.leak*(mean(chamberAir)-d.Room)) + float64(c.outer*(mean(chamberSkin)-d.Room))
	c.truth.Heat += watts
	c.truth.Watts = watts
	for i := range next {
		c.truth.Stored += float64(c.cap[i] * (next[i] - c.t[i]))
	}
	c.t = next
	for _, b := range c.bodies {
		b.finish(next[chamberAir])
	}
	c.room = d.Room
}

// stage solves one stage: r + α·(what does not depend on the main nodes) on
// the right, the pieces eliminated.
func (c *Chamber) stage(r, out *[mains]float64, watts, room float64, piece func(*body) float64) {
	r[chamberCoil] += float64(chamberAlpha * watts)
	r[chamberAir] += float64(chamberAlpha * float64(c.leak*room))
	r[chamberSkin] += float64(chamberAlpha * float64(c.outer*room))
	for _, b := range c.bodies {
		r[chamberAir] += float64(chamberAlpha * piece(b))
	}
	for i := range out {
		out[i] = 0
		for j := range r {
			out[i] += float64(c.inv[i][j] * r[j])
		}
	}
}

// watts returns what flows. A freezer's own thermostat decides beside the drive.
func (c *Chamber) watts(d ChamberDrive) float64 {
	share := min(max(d.Heat, 0), 1)
	if c.spec.Power >= 0 {
		return c.spec.Power * share
	}
	switch {
	case c.t[chamberAir] > c.spec.Hold+1:
		c.cooling = true
	case c.t[chamberAir] < c.spec.Hold-1:
		c.cooling = false
	}
	if !c.cooling {
		return 0
	}
	return c.spec.Power * share
}

// Truth returns everything that the model knows. Its Pieces are valid until
// the next call.
func (c *Chamber) Truth() ChamberTruth {
	tr := &c.truth
	tr.Air, tr.Coil, tr.Wall, tr.Room = c.t[chamberAir], c.t[chamberCoil], c.t[chamberWall], c.room
	for i, b := range c.bodies {
		tr.Pieces[i] = PieceTruth{Core: b.core(), Surface: b.surfaceIn(tr.Air), Mean: b.average()}
	}
	out := *tr
	for _, b := range c.bodies {
		out.Stored += b.gained()
	}
	return out
}

// At returns the true temperature at a place, °C. A piece that is not there
// is the air.
func (c *Chamber) At(p ChamberPlace) float64 {
	inside := c.t[chamberAir]
	switch p.Kind {
	case ChamberAir:
		return inside
	case ChamberWall:
		return c.t[chamberWall]
	case ChamberCoil:
		return c.t[chamberCoil]
	case InPiece, OnPiece, PieceCore:
		if p.Piece < 0 || p.Piece >= len(c.bodies) {
			return inside
		}
		b := c.bodies[p.Piece]
		switch p.Kind {
		case PieceCore:
			return b.core()
		case OnPiece:
			return b.surfaceIn(inside)
		}
		return b.depthAt(p.Depth, inside)
	}
	return c.room
}
