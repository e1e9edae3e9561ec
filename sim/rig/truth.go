package rig

import (
	"soakwarden/controller"
	"soakwarden/sim"
	"soakwarden/sim/num"
)

// What the world says of itself, to judges and to people.

// Room is the air of the room, °C.
func (b *Bench) Room() float64 { return b.room }

// Heats says whether current really flowed into station i in the last step.
func (b *Bench) Heats(i int) bool { return b.stations[i].heat }

// FanRuns says whether air moves in the chamber of station i.
func (b *Bench) FanRuns(i int) bool { return b.fanRuns(b.stations[i]) }

// Truth is what the model knows of the tub of station i; the zero Truth for a
// chamber.
func (b *Bench) Truth(i int) sim.Truth {
	if b.stations[i].tub == nil {
		return sim.Truth{}
	}
	return b.stations[i].tub.Truth()
}

// Bath is the water of station i: its depth in m, and what the sun gave it and
// what went to the room since the start, in J. All zero for a chamber.
func (b *Bench) Bath(i int) (depth, sun, lost float64) {
	if t := b.stations[i].tub; t != nil {
		return t.Bath()
	}
	return 0, 0, 0
}

// Litres is the volume of the water of station i; 0 for a chamber.
func (b *Bench) Litres(i int) float64 {
	if t := b.stations[i].tub; t != nil {
		return t.Volume()
	}
	return 0
}

// Water is the volume mean of the water of station i, °C; the room for a chamber.
func (b *Bench) Water(i int) float64 {
	if t := b.stations[i].tub; t != nil {
		return t.Water()
	}
	return b.room
}

// Floor is the contact surface over the pad of station i, °C.
func (b *Bench) Floor(i int) float64 {
	if t := b.stations[i].tub; t != nil {
		return t.At(sim.Place{Kind: sim.OnFloor})
	}
	return b.room
}

// Observe is this second's truth of the tub of station i for a judge.
func (b *Bench) Observe(i int, agreeing bool) sim.Observation {
	return b.stations[i].tub.Observe(agreeing)
}

// Sunny says whether the sun heated the water of station i in the last step.
func (b *Bench) Sunny(i int) bool {
	s := b.stations[i]
	return s.sun > 0 || s.around.drive.Sun > 0
}

// LidOff says whether the lid of station i was off in the last step.
func (b *Bench) LidOff(i int) bool {
	s := b.stations[i]
	return s.lids > 0 || s.lidOpen || s.around.drive.LidOff
}

// Chamber is what the model knows of the chamber of station i; the zero truth
// for a tub. Its pieces are valid until the next call.
func (b *Bench) Chamber(i int) sim.ChamberTruth {
	if b.stations[i].chamber == nil {
		return sim.ChamberTruth{}
	}
	return b.stations[i].chamber.Truth()
}

// Intended is the true temperature where probe k of station i belongs.
func (b *Bench) Intended(i, k int) float64 {
	s := b.stations[i]
	p := &s.wiring.Probes[k]
	switch {
	case p.Role == controller.RoleRoom:
		return b.room
	case s.tub == nil:
		return s.chamber.At(p.Inner)
	}
	return s.tub.At(p.Place)
}

// NuisanceChange says whether somebody changes the water of station i now as
// part of the nuisances, and how far from the set point the new water is in K.
func (b *Bench) NuisanceChange(i int) (kelvin float64, yes bool) {
	a := &b.stations[i].around
	return a.change, a.changes
}

// NuisanceChanges says whether NuisanceChange says yes of any station.
func (b *Bench) NuisanceChanges() bool {
	for _, s := range b.stations {
		if s.around.changes {
			return true
		}
	}
	return false
}

// Noise is a generator of its own stream for the caller, fixed by the seed.
func (b *Bench) Noise(stream uint64) *num.Noise {
	return num.NewNoise(b.wiring.Seed, 1<<32+stream)
}

// What people do to it.

// OpenLid is a person's hand on the lid of station i.
func (b *Bench) OpenLid(i int, open bool) {
	s := b.stations[i]
	s.lidOpen, s.moved = open, true
}

// ChangeWater pours the water of station i away and fills it to its first depth
// with water of that temperature in °C.
func (b *Bench) ChangeWater(i int, celsius float64) {
	if t := b.stations[i].tub; t != nil {
		t.ChangeWater(celsius, b.wiring.Stations[i].Tub.Depth)
	}
}

// PutAnimal puts an animal of that mass in kg into station i.
func (b *Bench) PutAnimal(i int, kg, celsius float64) {
	if t := b.stations[i].tub; t != nil {
		t.PutAnimal(kg, animalCover, celsius)
	}
}

// animalCover is the share of the heated floor that an animal lies on.
const animalCover = 0.3

// TakeAnimal takes the animal out of station i.
func (b *Bench) TakeAnimal(i int) {
	if t := b.stations[i].tub; t != nil {
		t.TakeAnimal()
	}
}
