package sim

import (
	"math"

	"soakwarden/sim/physics"
)

// The nodes of a tub. Those from floor to lid carry films.
const (
	pad = iota
	floor
	patch // of the floor, under the animal
	lower // half of the water, with the floor beside the pad
	upper
	air  // over the water, with half of the dry wall
	wall // wetted
	lid
	beast
	nodes
)

type state [nodes]float64

// Films and films' stand-ins that have no published source: assumptions of the
// size that textbooks give for the kind (Incropera and DeWitt, Table 1.1).
const (
	wallFilm     = 150.0  // water to the wall, W/m²K: hardly matters beside the air outside
	mixing       = 40.0   // between the halves of the water at rest, W/m²K: small movements
	bodyFilm     = 100.0  // water to the animal, W/m²K
	bodyContact  = 60.0   // animal to the floor under it, W/m²K
	bodyGap      = 0.15   // share of the open floor's film that is left under the animal
	bodyHeat     = 3500.0 // J/kgK
	stillAir     = 0.5    // conduction and stray movement in an air film, W/m²K
	tableFilm    = 0.35   // between floor and table, and on, m²K/W
	turnover     = 5.0    // s that a hand needs to mix the halves
	openExchange = 0.01   // m/s of air over the whole surface, lid off
	dryMass      = 0.2    // kg/m²: below it the surface is wet in part only
	emissivity   = 0.95   // of water (Incropera and DeWitt, Table A.11: 0.96) and plastics
)

// geometry is what does not change in a tub.
type geometry struct {
	base, heated, beside float64 // floor, m²
	rim                  float64 // inner perimeter, m
	plate                float64 // resistance of wall material, m²K/W
	heavy                float64 // its heat capacity, J/m²K
	padUp, padDown       float64 // W/K, whole pad
	holes                float64 // open area of lid and rim, m²
	size                 float64 // length of films on horizontal faces, m: area over perimeter
	fixed                state   // heat capacities without water, J/K
}

func geometryOf(s TubSpec) geometry {
	m, _ := physics.MaterialByName(s.Material)
	rho, k, cp := m.At(25, 0)
	g := geometry{base: float64(s.Length * s.Width), heated: s.PadArea, rim: 2 * (s.Length + s.Width)}
	g.beside = g.base - g.heated
	g.plate = s.Wall / k
	g.heavy = s.Wall * rho * cp
	g.padUp = g.heated / (1/s.PadContact + g.plate)
	g.padDown = g.heated / s.PadBelow
	g.holes = float64(float64(s.Holes)*float64(math.Pi/4*float64(s.HoleSize*s.HoleSize))) + s.Rim
	g.size = g.base / g.rim
	wetted := g.rim * max(s.Depth, 0.01)
	g.fixed[pad] = s.PadCapacity * g.heated
	// One joule a kelvin for what never dries, so that an empty node is a node.
	g.fixed[lower] = 1 + float64(g.heavy*g.beside)
	g.fixed[upper] = 1
	g.fixed[air] = 1 + float64(1200*float64(g.base*(s.Height-s.Depth))) + float64(0.5*float64(g.heavy*float64(g.rim*max(0, s.Height-s.Depth))))
	g.fixed[wall] = g.heavy * wetted
	g.fixed[lid] = g.heavy * g.base
	return g
}

// covered returns the share of the heated floor that is the patch. Without an
// animal it is a small piece of open floor.
func (t *Tub) covered() float64 {
	if t.hold.animal == 0 {
		return 0.02
	}
	return min(max(t.hold.cover, 0.02), 0.9)
}

// capacities returns the heat capacity of every node, J/K.
func (t *Tub) capacities() state {
	c := t.geo.fixed
	whole := float64(t.geo.heavy * t.geo.heated)
	c[patch] = float64(whole * t.covered())
	c[floor] = whole - c[patch]
	half := float64(0.5 * physics.WaterHeatCapacity * t.mass)
	c[lower] += half
	c[upper] += half
	c[beast] = 1 + float64(bodyHeat*t.hold.animal)
	return c
}

// stored returns the heat in all nodes over 0 °C, J.
func (t *Tub) stored() float64 {
	sum := 0.0
	for i := range t.t {
		sum += float64(t.cap[i] * t.t[i])
	}
	return sum
}

// network is the tub made linear about a state: heat into node i is
// at[i]·T + room[i]·Troom + fixed[i], W; what is lost to the room and the
// vapour that leaves are rows of the same form.
type network struct {
	at     [nodes]state
	room   state
	fixed  state
	lost   row // W
	vapour row // kg/s
}

type row struct {
	at    state
	room  float64
	fixed float64
}

// between adds the flow q from node i to node j, with its slopes, about ti, tj.
func (n *network) between(i, j int, q, di, dj, ti, tj float64) {
	q, di, dj = float64(q), float64(di), float64(dj)
	n.at[i][i] -= di
	n.at[i][j] += dj
	n.at[j][i] += di
	n.at[j][j] -= dj
	rest := q - float64(di*ti) + float64(dj*tj)
	n.fixed[i] -= rest
	n.fixed[j] += rest
}

// toRoom adds the flow q from node i to the room.
func (n *network) toRoom(i int, q, di, dr, ti, tr float64) {
	q, di, dr = float64(q), float64(di), float64(dr)
	n.at[i][i] -= di
	n.room[i] += dr
	rest := q - float64(di*ti) + float64(dr*tr)
	n.fixed[i] -= rest
	n.lost.at[i] += di
	n.lost.room -= dr
	n.lost.fixed += rest
}

// conduct adds a constant conductance, W/K.
func (n *network) conduct(i, j int, g float64) {
	g = float64(g)
	n.at[i][i] -= g
	n.at[i][j] += g
	n.at[j][i] += g
	n.at[j][j] -= g
}

// conductRoom adds a constant conductance to the room, W/K.
func (n *network) conductRoom(i int, g float64) {
	g = float64(g)
	n.at[i][i] -= g
	n.room[i] += g
	n.lost.at[i] += g
	n.lost.room -= g
}

// film adds a film of an area between nodes i and j, the warm side i rising. The
// difference over it will swing by ± swing K about where it is: the straight line
// goes through the film's curve at Gauss's two points of that stretch, so that
// what it is too high and too low cancels. It returns how far the difference may
// move until the curve is off by too much (see straight), beside what else conducts
// from the same place, W/m²K.
func (n *network) film(f physics.Film, area float64, x *state, i, j int, swing, beside float64) float64 {
	d := x[i] - x[j]
	var q, s, bend float64
	if g := float64(math.Abs(swing) * 0.5773502691896258); g > 1e-3 {
		q1, s1, b1 := f.Curve(d - g)
		q2, s2, b2 := f.Curve(d + g)
		q, s = (q1+q2)/2, (q2-q1)/(2*g)
		bend = max(b1, b2, (s2-s1)/(2*g))
	} else {
		q, s, bend = f.Curve(d)
	}
	n.between(i, j, area*q, area*s, area*s, x[i], x[j])
	far := math.Sqrt(straight * (s + beside) / (math.Abs(bend) + 1))
	if d < 0 {
		// The curve bends where the difference turns.
		far = max(0.01, -d)
	}
	return far
}

// straight sets how far a film may move along its straight piece, K: what the
// piece is off by at the ends of that, in the temperature of the node; over the
// stretch it cancels. With it the model stays within 0.6 mK of the reference.
const straight = 5e-3

// filmRoom adds a film of an area between node i and the room.
func (n *network) filmRoom(f physics.Film, area float64, x *state, i int, room float64) {
	q, s := f.Flux(x[i] - room)
	n.toRoom(i, area*q, area*s, area*s, x[i], room)
}

// radiateRoom adds radiation between node i and the room.
func (n *network) radiateRoom(factor, area float64, x *state, i int, room float64) {
	q, a, b := physics.Radiation(x[i], room, factor)
	n.toRoom(i, area*q, area*a, area*b, x[i], room)
}

// assemble makes the network linear about the state x in a room.
func (t *Tub) assemble(x *state, room float64) {
	t.net = network{}
	n, g, d := &t.net, &t.geo, t.drive
	depth := max(0, t.mass/(g.base*physics.WaterDensity((x[lower]+x[upper])/2)))
	covered := t.covered()
	shut := t.spec.Lid && !d.LidOff
	breeze := d.Draught
	if shut {
		breeze = 0
	}

	n.conduct(pad, floor, g.padUp*(1-covered))
	n.conduct(pad, patch, g.padUp*covered)
	n.conductRoom(pad, g.padDown)
	t.assembleWater(x, depth, covered)

	// Over the water.
	face := physics.AirFilm(physics.PlateUp, physics.PlateDown, x[air], g.size, max(stillAir, physics.ForcedAir(breeze, t.spec.Length)))
	n.film(face, g.base, x, upper, air, 0, 0)
	outside := physics.ForcedAir(d.Draught, t.spec.Length)
	over := physics.AirFilm(physics.PlateUp, physics.PlateDown, room, g.size, max(stillAir, outside))
	n.filmRoom(over, g.base, x, lid, room)
	n.radiateRoom(emissivity, g.base, x, lid, room)
	if shut {
		under := physics.AirFilm(physics.PlateUp, physics.PlateDown, x[air], g.size, stillAir)
		n.film(under, g.base, x, air, lid, 0, 0)
		q, a, b := physics.Radiation(x[upper], x[lid], physics.ExchangeFactor(emissivity, emissivity))
		n.between(upper, lid, g.base*q, g.base*a, g.base*b, x[upper], x[lid])
	} else {
		n.radiateRoom(emissivity, g.base, x, upper, room)
	}

	// Around it.
	wetted := float64(g.rim * min(depth, t.spec.Height))
	dry := g.rim * max(0, t.spec.Height-depth)
	inner := wetted / (1/wallFilm + g.plate)
	n.conduct(lower, wall, 0.5*inner)
	n.conduct(upper, wall, 0.5*inner)
	if t.spec.Insulation > 0 {
		n.conductRoom(wall, wetted/(t.spec.Insulation+0.12))
	} else {
		around := physics.AirFilm(physics.VerticalLaminar, physics.VerticalLaminar, room, max(0.03, depth), max(stillAir, outside))
		n.filmRoom(around, wetted, x, wall, room)
		n.radiateRoom(emissivity, wetted, x, wall, room)
	}
	n.conductRoom(air, dry/(0.35+g.plate+t.spec.Insulation+0.12))
	n.conductRoom(lower, g.beside/(1/wallFilm+g.plate+t.spec.Insulation+tableFilm))
	t.assembleVapour(x, room, shut, breeze)
}

// assembleWater adds the films in the water and on the animal.
func (t *Tub) assembleWater(x *state, depth, covered float64) {
	n, g, d := &t.net, &t.geo, t.drive
	factor := d.Film
	if factor <= 0 {
		factor = 1
	}
	layer := max(depth, 0.002)
	k := physics.WaterConductivity(x[lower])
	stir := max(0, d.Stir)
	open := physics.WaterFilm(physics.PlateUpTurbulent, x[lower], float64(4*k)/layer+float64(400*stir))
	under := factor * covered * g.heated
	if t.hold.animal > 0 {
		n.conduct(patch, beast, bodyContact*float64(covered*g.heated))
		under *= bodyGap
		// Meeh's rule for the body's surface, 0.1·m^⅔ m² (from memory), most of it wet.
		skin := 0.06 * physics.TwoThirds(t.hold.animal)
		n.conduct(beast, lower, bodyFilm*skin)
	} else {
		n.conduct(beast, lower, 0.1)
	}
	halves := physics.WaterFilm(physics.LayerTurbulent, (x[lower]+x[upper])/2,
		float64(2*k)/layer+mixing+float64(stir*float64(0.5*4.18e6/turnover*layer)))
	for i := range t.reach {
		t.reach[i] = t.tight
	}
	up := g.padUp / g.heated
	t.reach[floor] = min(t.tight, n.film(open, float64(factor*g.heated)*(1-covered), x, floor, lower, t.swing[floor]-t.swing[lower], up))
	t.reach[patch] = min(t.tight, n.film(open, under, x, patch, lower, t.swing[patch]-t.swing[lower], up))
	both := min(t.tight, n.film(halves, g.base, x, lower, upper, t.swing[lower]-t.swing[upper], 0)/2)
	t.reach[lower], t.reach[upper] = both, both
}

// assembleVapour adds evaporation. The vapour under the lid is in balance at
// every moment: what the water gives up goes through the holes or condenses on the
// lid, and what condenses runs back. Solved for the vapour's pressure, that is
// three links between the pressures at water, lid and room.
func (t *Tub) assembleVapour(x *state, room float64, shut bool, breeze float64) {
	n, g := &t.net, &t.geo
	wet := min(1, t.mass/(dryMass*g.base))
	water, waterSlope := physics.Saturation(x[upper])
	outer, outerSlope := physics.Saturation(room)
	outer = float64(outer * t.spec.Humidity)
	outerSlope *= t.spec.Humidity
	latent := physics.LatentHeat(x[upper])
	rise := float64(g.base * wet * physics.Evaporation(breeze))

	// latentOut adds a flow of vapour from node i to the room.
	latentOut := func(i int, conductance, p, slope float64) {
		q, di, dr := float64(conductance*(p-outer)), float64(conductance*slope), float64(conductance*outerSlope)
		n.toRoom(i, q, di, dr, x[i], room)
		n.vapour.at[i] += di / latent
		n.vapour.room -= dr / latent
		n.vapour.fixed += (q - float64(di*x[i]) + float64(dr*room)) / latent
	}

	if !shut {
		latentOut(upper, rise, water, waterSlope)
		through := float64((openExchange + float64(0.1*breeze)) * g.base)
		n.conductRoom(air, 1200*through)
		return
	}
	// The vapour under the lid before any condenses; the exchange through the holes
	// goes with how much lighter that air is.
	dew, dewSlope := physics.Saturation(x[lid])
	lighter := max(1e-4, physics.Lighter(x[air], min(water, dew), room, outer))
	through := physics.OpeningExchange(g.holes, t.spec.HoleSize, lighter, t.drive.Draught)
	n.conductRoom(air, 1200*through)
	holes := float64(through*latent) * 1000 / float64(physics.VapourGas*(x[air]+physics.ZeroCelsius))
	under := (float64(rise*water) + float64(holes*outer)) / (rise + holes)
	if under <= dew {
		latentOut(upper, float64(rise*holes)/(rise+holes), water, waterSlope)
		return
	}
	drops := float64(g.base * physics.Evaporation(0))
	sum := rise + holes + drops
	c := float64(rise*drops) / sum
	n.between(upper, lid, c*(water-dew), c*waterSlope, c*dewSlope, x[upper], x[lid])
	latentOut(upper, float64(rise*holes)/sum, water, waterSlope)
	latentOut(lid, float64(drops*holes)/sum, dew, dewSlope)
}
