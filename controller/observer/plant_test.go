package observer

import "math"

// The plant of these tests is a tub of six nodes (pad, floor over it, lower and
// upper water, air under the lid, wall) in a room. It shares nothing with the
// observer: the observer is told nominal numbers that are up to a quarter off.
// The spans are invented; the physics behind them is common practice.

// chance is a seeded generator of test draws.
type chance struct{ generator }

func (c *chance) between(a, b float64) float64 { return a + float64((b-a)*c.unit()) }

// logBetween draws so that equal ratios are equally likely, by bisection with
// square roots instead of exp and log.
func (c *chance) logBetween(a, b float64) float64 {
	u := c.unit()
	for range 40 {
		m := math.Sqrt(a * b)
		if u *= 2; u >= 1 {
			a, u = m, u-1
		} else {
			b = m
		}
	}
	return math.Sqrt(a * b)
}

// within says whether an event of so many a day falls into dt seconds.
func (c *chance) within(perDay, dt float64) bool { return c.unit() < perDay*dt/86400 }

// saturation in kPa by linear interpolation of steam table values (Cengel &
// Boles, table A-4; from memory).
func saturation(t float64) float64 {
	table := [...]float64{0.872, 1.228, 1.706, 2.339, 3.170, 4.247, 5.629, 7.385}
	x := clamp((t-5)/5, 0, 6.999)
	i := int(x)
	return table[i] + float64((table[i+1]-table[i])*(x-float64(i)))
}

// element is a simulated probe: first-order lag, offset, eddies, noise, code.
type element struct {
	tau, sigma, eddy, eddyTau, offset float64
	temperature, local                float64
	frozen                            bool
	code                              int16
}

func (e *element) step(c *chance, truth, dt, tau float64) {
	e.temperature += float64((truth - e.temperature) * dt / (tau + dt))
	// Three uniforms are noise enough for an eddy of minutes.
	kick := c.unit() + c.unit() + c.unit() - 1.5
	e.local += float64(-e.local*dt/e.eddyTau) + float64(float64(e.eddy*math.Sqrt(2*dt/e.eddyTau))*float64(2*kick))
	noise := float64(e.sigma * float64(2*(c.unit()+c.unit()+c.unit()-1.5)))
	if !e.frozen {
		e.code = int16(math.RoundToEven((e.temperature + e.local + e.offset + noise) * 16))
	}
}

// plant is one tub with its nuisances.
type plant struct {
	chance
	volume, depth, area, power, padArea, coast        float64
	cap                                               [5]float64 // J/K: pad, floor, half the water, air, wall
	padFloor, film, padRoom, mix, mixStill, wallWater float64    // W/K
	wallRoom, airLid, airOpen, lidLeak                float64
	lid                                               bool
	room, swing, phase                                float64
	t                                                 [6]float64 // pad, floor, lower, upper, air, wall
	probes                                            [3]element
	now                                               float64

	lidOff, draught, draughtK, stir, sun, sunW, blink, blinkAt, flicker float64 // s left, or size
	animal, mains                                                       float64
	calm                                                                bool // no nuisances

	welded, dead bool
	misplaced    bool  // the floor probe hangs in the water
	outside      Place // a probe that hangs in the air
	lidsOpened   int
	suns         int
}

const (
	nPad = iota
	nFloor
	nLower
	nUpper
	nAir
	nWall
	setPointC    = 29.4
	differential = 0.28
)

// newPlant draws a tub of the envelope.
func newPlant(seed uint64, quiet bool) *plant {
	for {
		p := drawPlant(seed, quiet)
		hold := p.loss(setPointC, p.room) / p.power
		if hold >= 0.1 && hold <= 0.8 && p.gain()*p.coast <= 0.35 {
			return p
		}
		seed = seed*6364136223846793005 + 1442695040888963407
	}
}

func drawPlant(seed uint64, quiet bool) *plant {
	p := &plant{chance: chance{generator(seed*2862933555777941757 + 3037000493)}, outside: None, animal: 1, mains: 1}
	for range 4 {
		p.unit()
	}
	p.volume = p.logBetween(3, 25)
	p.depth = p.logBetween(0.010, 0.150)
	p.area = p.volume / 1000 / p.depth
	p.power = p.logBetween(10, min(60, 3.5*p.volume))
	p.padArea = min(p.power/p.between(100, 500), 0.9*p.area)
	p.padArea = max(p.padArea, p.power/500)
	p.coast = p.logBetween(42, 300)
	// Nu = 0.15 Ra^⅓ over a warm plate in water (Incropera, eq. 9.31; from
	// memory) is about 267 ΔT^⅓ W/m²K, so ΔT = (q/267)^¾.
	rise := math.Sqrt(p.power / p.padArea / 267)
	p.film = p.power / p.padArea / (rise * math.Sqrt(rise)) * p.between(0.7, 1.3) * p.padArea
	p.padFloor = p.between(40, 120) * p.padArea
	p.padRoom = p.between(0.02, 0.08) * p.padFloor
	p.cap[1] = p.between(0.1, 0.3) * p.coast * p.film
	p.cap[0] = (p.coast - p.cap[1]/p.film) / (1/p.padFloor + 1/p.film)
	p.cap[2] = p.volume * 4180 / 2
	p.cap[3] = 300 + 2000*p.area
	side := 4 * math.Sqrt(p.area) * p.depth
	p.cap[4] = 4000 * (side + 0.3*p.area)
	p.wallWater = 100 * (side + 0.3*p.area)
	p.wallRoom = 8 * (side + 0.15*p.area)
	p.mix = p.logBetween(300, 3000) * p.area
	p.mixStill = p.between(20, 100) * p.area
	p.lid = p.unit() < 0.7
	p.lidLeak = p.between(0.05, 0.25)
	p.airLid, p.airOpen = 2.5*p.area, 25*p.area
	p.room = p.between(12, 28)
	p.swing = p.between(0.5, 3)
	p.phase = p.between(0, 86400)
	for i := range p.probes {
		p.probes[i] = element{
			tau: p.between(8, 30), sigma: p.between(0.02, 0.05), offset: p.between(-0.1, 0.1),
			eddy: p.between(0.01, 0.04), eddyTau: p.between(60, 400),
		}
		if quiet {
			p.probes[i].sigma, p.probes[i].eddy = 0.004, p.probes[i].eddy*0.3
		}
	}
	p.t = [6]float64{setPointC, setPointC, setPointC, setPointC, (setPointC + p.room) / 2, setPointC - 0.5}
	for i := range p.probes {
		p.probes[i].temperature = setPointC
	}
	return p
}

func (p *plant) gain() float64 { return p.power / (2 * p.cap[2]) }

// loss of the water at t in a room, W, at rest, lid as configured.
func (p *plant) loss(t, room float64) float64 {
	leak, air := p.surface()
	g := 1 / (1/(8*p.area) + 1/air)
	w := 1 / (1/p.wallWater + 1/p.wallRoom)
	return float64((g+w)*(t-room)) + 66*leak*p.area*(saturation(t)-0.5*saturation(room))
}

func (p *plant) surface() (leak, air float64) {
	if p.lid && p.lidOff <= 0 {
		return p.lidLeak, p.airLid
	}
	return 1, p.airOpen
}

// mean is the volume mean of the water.
func (p *plant) mean() float64 { return (p.t[nLower] + p.t[nUpper]) / 2 }

// nuisances begins and ends what disturbs.
func (p *plant) nuisances(dt float64) {
	for _, left := range []*float64{&p.lidOff, &p.draught, &p.stir, &p.sun, &p.flicker} {
		*left = max(0, *left-dt)
	}
	if p.calm {
		return
	}
	hour := math.Mod(p.now+p.phase, 86400) / 3600
	if p.within(6, dt) {
		p.lidOff = p.between(300, 1800)
		p.lidsOpened++
		if p.unit() < 0.5 {
			p.stir = p.between(20, 120)
		}
	}
	if p.within(2, dt) {
		p.draught, p.draughtK = p.between(600, 3600), p.between(1, 5)
	}
	if p.within(2, dt) && hour > 6 && hour < 18 { // about one a day
		p.sun, p.sunW = p.between(900, 3600), p.between(3, 15)
		p.suns++
		p.blink = 0
		if p.unit() < 0.5 {
			p.blink = p.between(400, 600)
		}
	}
	if p.blinkAt -= dt; p.blinkAt <= 0 {
		p.blinkAt = p.between(0.2, 1.8) * max(p.blink, 60)
		p.sunW = math.Copysign(p.sunW, p.unit()-0.5*min(1, p.blink))
	}
	if p.within(48, dt) { // the animal moves
		p.animal = p.between(0.6, 1.2)
		k := p.between(0, 0.7)
		m := p.mean()
		p.t[nLower] += float64(k * (m - p.t[nLower]))
		p.t[nUpper] += float64(k * (m - p.t[nUpper]))
	}
	if p.within(4, dt) {
		p.flicker = p.between(1, 30)
	}
	if p.within(144, dt) {
		p.mains = p.between(0.92, 1.06)
	}
}

// step moves the tub on by dt ≤ 2 s.
func (p *plant) step(dt float64, pad, series bool) {
	p.now += dt
	p.nuisances(dt)
	day := math.Mod(p.now+p.phase, 86400) / 86400
	room := p.room + float64(p.swing*(1-math.Abs(float64(4*day)-2))) // a triangle: cold at night
	filmUp := 1.0
	if p.draught > 0 {
		room -= p.draughtK
		filmUp = 1.5
	}
	leak, air := p.surface()
	film, mix := p.film*p.animal, p.mix
	if p.t[nUpper] > p.t[nLower] {
		mix = p.mixStill
	}
	if p.stir > 0 {
		film, mix = p.film*1.8, 20*p.mix
	}
	mix = min(mix, 0.2*p.cap[2]/dt)
	w := 0.0
	if ((pad || p.welded) && series) && !p.dead && p.flicker <= 0 {
		w = p.power * p.mains
	}
	t := &p.t
	pf := p.padFloor * (t[nPad] - t[nFloor])
	fw := film * (t[nFloor] - t[nLower])
	lu := mix * (t[nLower] - t[nUpper])
	ua := 8 * filmUp * p.area * (t[nUpper] - t[nAir])
	ev := 66 * filmUp * leak * p.area * (saturation(t[nUpper]) - 0.5*saturation(room))
	lw := p.wallWater / 2 * (t[nLower] - t[nWall])
	uw := p.wallWater / 2 * (t[nUpper] - t[nWall])
	ar := air * (t[nAir] - room)
	wr := p.wallRoom * (t[nWall] - room)
	sun := 0.0
	if p.sun > 0 && p.sunW > 0 {
		sun = p.sunW
	}
	t[nPad] += float64((w - pf - p.padRoom*(t[nPad]-room)) * dt / p.cap[0])
	t[nFloor] += float64((pf - fw) * dt / p.cap[1])
	t[nLower] += float64((fw - lu - lw + 0.3*sun) * dt / p.cap[2])
	t[nUpper] += float64((lu - ua - ev - uw + 0.7*sun) * dt / p.cap[2])
	t[nAir] += float64((ua - ar) * dt / p.cap[3])
	t[nWall] += float64((lw + uw - wr) * dt / p.cap[4])
	for i, truth := range [3]float64{t[nLower], t[nUpper], t[nFloor]} {
		tau := p.probes[i].tau
		if p.misplaced && Place(i) == Floor {
			truth = t[nLower]
		}
		if p.outside == Place(i) {
			truth, tau = t[nAir], 2*tau
		}
		p.probes[i].step(&p.chance, truth, dt, tau)
	}
}

// refill changes the water.
func (p *plant) refill(t float64) { p.t[nLower], p.t[nUpper] = t, t }

// pointer lets a value be stepped with.
func pointer(in Input) *Input { return &in }
