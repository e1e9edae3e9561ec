package sim

import "soakwarden/sim/physics"

// settle books the water that left since the last refresh: vapour from the upper
// half, the leak from the lower, and the halves made even again. Temperatures
// change only by what moves between the halves.
func (t *Tub) settle() {
	gone := t.film + t.leak
	if gone == 0 {
		return
	}
	t.stale = true
	if gone > t.mass {
		// More cannot leave than is there; the rest of the vapour's heat came from
		// the last film, which is booked as left in the water.
		share := t.mass / gone
		t.film = float64(t.film * share)
		t.leak = float64(t.leak * share)
		gone = t.mass
	}
	const cp = physics.WaterHeatCapacity
	low, high := t.t[lower], t.t[upper]
	half := float64(t.mass / 2)
	upperLeft, lowerLeft := half-t.film, half-t.leak
	evened := float64((t.mass - gone) / 2)
	t.account.WithWaterOut += float64(cp * (float64(t.film*high) + float64(t.leak*low)))
	t.account.Evaporated += t.film
	t.account.WaterOut += t.leak
	t.leaked += t.leak
	t.shift(upperLeft, lowerLeft, evened)
	t.mass -= gone
	t.film, t.leak = 0, 0
}

// shift makes the halves even after they hold up and down kg at their old
// temperatures.
func (t *Tub) shift(up, down, each float64) {
	const cp = physics.WaterHeatCapacity
	low, high := t.t[lower], t.t[upper]
	moved := each - up // from the lower half to the upper, when positive
	carried := low
	if moved < 0 {
		carried = high
	}
	heatUp := float64((t.geo.fixed[upper]+float64(cp*up))*high) + float64(cp*float64(moved*carried))
	heatDown := float64((t.geo.fixed[lower]+float64(cp*down))*low) - float64(cp*float64(moved*carried))
	t.cap[upper] = t.geo.fixed[upper] + float64(cp*each)
	t.cap[lower] = t.geo.fixed[lower] + float64(cp*each)
	t.before[upper] += heatUp/t.cap[upper] - t.t[upper]
	t.before[lower] += heatDown/t.cap[lower] - t.t[lower]
	t.t[upper] = heatUp / t.cap[upper]
	t.t[lower] = heatDown / t.cap[lower]
}

// Drain lets water out until depth m is left, and returns the litres that went.
func (t *Tub) Drain(depth float64) float64 {
	t.settle()
	keep := float64(max(0, depth) * t.geo.base * physics.WaterDensity(t.Water()))
	if !(keep < t.mass) {
		return 0
	}
	return t.takeOut(t.mass - keep)
}

// takeOut removes kg of water, half from each half, and returns the litres.
func (t *Tub) takeOut(kg float64) float64 {
	const cp = physics.WaterHeatCapacity
	mean := t.Water()
	litres := 1000 * kg / physics.WaterDensity(mean)
	each := float64((t.mass - kg) / 2)
	t.account.WithWaterOut += float64(cp * float64(kg*mean))
	t.account.WaterOut += kg
	t.shift(each, each, each)
	t.mass -= kg
	t.stale = true
	return litres
}

// Pour adds litres of water at celsius; it goes half into each half. What does
// not fit runs over the rim.
func (t *Tub) Pour(litres, celsius float64) {
	t.settle()
	if !(litres > 0) {
		return
	}
	const cp = physics.WaterHeatCapacity
	kg := float64(litres / 1000 * physics.WaterDensity(celsius))
	t.account.WithWaterIn += float64(cp * float64(kg*celsius))
	t.account.WaterIn += kg
	t.mass += kg
	for _, i := range [2]int{lower, upper} {
		more := float64(0.5 * float64(cp*kg))
		t.t[i] = (float64(t.cap[i]*t.t[i]) + float64(more*celsius)) / (t.cap[i] + more)
		t.cap[i] += more
	}
	t.before = t.t
	t.stale = true
	if full := float64(t.spec.Height * t.geo.base * physics.WaterDensity(t.Water())); t.mass > full {
		t.over += t.mass - full
		t.takeOut(t.mass - full)
	}
}

// ChangeWater lets all water out and pours in new water at celsius to depth m.
func (t *Tub) ChangeWater(celsius, depth float64) {
	t.Drain(0)
	t.Pour(1000*max(0, depth)*t.geo.base, celsius)
}

// PutAnimal puts an animal of kg at celsius into the tub, on the share cover
// of the heated floor. One that is there already is taken out first.
func (t *Tub) PutAnimal(kg, cover, celsius float64) {
	t.TakeAnimal()
	if !(kg > 0) {
		return
	}
	t.hold = holdings{animal: kg, cover: cover}
	more := float64(bodyHeat * kg)
	t.account.WithWaterIn += float64(more * celsius)
	t.t[beast] = (float64(t.cap[beast]*t.t[beast]) + float64(more*celsius)) / (t.cap[beast] + more)
	t.cap[beast] += more
	t.cover()
}

// TakeAnimal takes the animal out.
func (t *Tub) TakeAnimal() {
	t.settle()
	if t.hold.animal == 0 {
		return
	}
	less := float64(bodyHeat * t.hold.animal)
	t.account.WithWaterOut += float64(less * t.t[beast])
	t.cap[beast] -= less
	t.hold = holdings{}
	t.cover()
}

// MoveAnimal lets the animal lie on the share cover of the heated floor.
func (t *Tub) MoveAnimal(cover float64) {
	t.settle()
	if t.hold.animal == 0 || !(cover >= 0 && cover <= 0.9) {
		return
	}
	t.hold.cover = cover
	t.cover()
}

// cover moves the border between open floor and patch; what changes sides takes
// its heat along.
func (t *Tub) cover() {
	next := t.capacities()
	if grown := next[patch] - t.cap[patch]; grown > 0 {
		t.t[patch] = (float64(t.cap[patch]*t.t[patch]) + float64(grown*t.t[floor])) / next[patch]
	} else {
		t.t[floor] = (float64(t.cap[floor]*t.t[floor]) - float64(grown*t.t[patch])) / next[floor]
	}
	t.cap[floor], t.cap[patch] = next[floor], next[patch]
	t.before = t.t
	t.stale = true
}
