package sim

import (
	"fmt"
	"math"

	"soakwarden/sim/physics"
)

// Steady returns what a tub comes to when the drive stays as it is and the
// water is kept at its level, with the litres it evaporates in a day.
func Steady(spec TubSpec, d Drive) (Truth, float64, error) {
	t, err := NewTub(spec, Start{Water: min(max(d.Room, 1), 90), Room: d.Room})
	if err != nil {
		return Truth{}, 0, err
	}
	t.drive = d
	if err := t.equilibrium(false); err != nil {
		return Truth{}, 0, err
	}
	return t.Truth(), t.vapourPerDay(), nil
}

// equilibrium moves the nodes to where no heat is left over, by Newton's
// method, the water at the spec's depth; pinned keeps the water's temperature
// where it is. The accounts begin anew.
func (t *Tub) equilibrium(pinned bool) error {
	for round := range 400 {
		t.mass = t.spec.Depth * t.geo.base * physics.WaterDensity(t.Water())
		t.swing = state{}
		t.assemble(&t.t, t.drive.Room)
		n := &t.net
		var a [nodes]state
		var rest state
		for i := range rest {
			rest[i] = n.fixed[i] + float64(n.room[i]*t.drive.Room)
			for j := range rest {
				rest[i] += float64(n.at[i][j] * t.t[j])
				a[i][j] = -n.at[i][j]
			}
			// A node that nothing holds (the lid of an open tub has the room) stays
			// solvable; a nanowatt a kelvin shifts nothing.
			a[i][i] += 1e-9
		}
		rest[pad] += float64(t.drive.Pad * t.spec.PadPower)
		rest[lower] += float64(sunLower * t.drive.Sun)
		rest[upper] += float64((1 - sunLower) * t.drive.Sun)
		if pinned {
			for _, i := range [2]int{lower, upper} {
				a[i] = state{}
				a[i][i], rest[i] = 1, 0
			}
		}
		invert(&a)
		far := 0.0
		for i := range rest {
			move := 0.0
			for j := range rest {
				move += float64(a[i][j] * rest[j])
			}
			far = max(far, math.Abs(move))
			// Bounded, because films far away say little here, and halved after a
			// while, in case the search goes to and fro over a bend.
			move = min(max(move, -15), 15)
			if round > 100 {
				move /= 2
			}
			t.t[i] += move
		}
		if far < 1e-9 {
			t.cap = t.capacities()
			t.before, t.lin, t.stale = t.t, t.t, true
			t.account.StoredAtStart, t.account.WaterAtStart = t.stored(), t.mass
			return nil
		}
		if !(far < 1e6) {
			break
		}
	}
	return fmt.Errorf("tub: no steady state was found for %+v", t.spec)
}

// vapourPerDay returns the litres of water that evaporate in a day as things
// are; the network must be assembled.
func (t *Tub) vapourPerDay() float64 {
	v := &t.net.vapour
	rate := v.fixed + float64(v.room*t.drive.Room)
	for i := range t.t {
		rate += float64(v.at[i] * t.t[i])
	}
	return rate * 86400
}

// HoldPower returns the pad's mean power, W, that keeps the volume mean of the
// water at celsius under d, and the tub's state with it (Truth.Floor is then the
// mean; Peak has the floor of a pad that cycles). A power over the pad's own
// says that the pad is too weak; under zero, that the room is too warm.
func HoldPower(spec TubSpec, celsius float64, d Drive) (watts float64, litresADay float64, err error) {
	t, err := NewTub(spec, Start{Water: celsius, Room: d.Room})
	if err != nil {
		return 0, 0, err
	}
	t.spec.PadPower = 1 // the drive's Pad is in watts from here
	water := func(w float64) (float64, error) {
		t.drive = d
		t.drive.Pad = w
		if err := t.equilibrium(false); err != nil {
			return 0, err
		}
		return t.Water() - celsius, nil
	}
	// Regula falsi in the secant form: the curve is almost straight.
	x0, x1 := 0.0, 20.0
	y0, err := water(x0)
	if err != nil {
		return 0, 0, err
	}
	for range 60 {
		y1, err := water(x1)
		if err != nil {
			return 0, 0, err
		}
		if math.Abs(y1) < 1e-8 || y1 == y0 {
			return x1, t.vapourPerDay(), nil
		}
		x0, y0, x1 = x1, y1, x1-float64(y1*(x1-x0))/(y1-y0)
	}
	return 0, 0, fmt.Errorf("tub: no power was found that holds %g °C in a room of %g °C", celsius, d.Room)
}

// Lag is how heat gets from the pad into the water while it is kept at one
// temperature.
type Lag struct {
	Coast     float64 // s: the mean time from pad to water, pad and floor together
	Share     float64 // of the pad's power that gets into the water
	FloorRise float64 // K, contact surface over the water at full power, settled
	SkinRise  float64 // K, the same under the animal; FloorRise without one
	PadOver   float64 // K, pad over the water
}

// Lags returns the lag of a tub at celsius under d, the pad at full power.
func Lags(spec TubSpec, celsius float64, d Drive) (Lag, error) {
	t, err := NewTub(spec, Start{Water: celsius, Room: d.Room})
	if err != nil {
		return Lag{}, err
	}
	if t.spec.PadPower == 0 {
		return Lag{}, nil
	}
	t.drive = d
	t.drive.Pad = 0
	if err := t.equilibrium(true); err != nil {
		return Lag{}, err
	}
	off := t.t
	t.drive.Pad = 1
	if err := t.equilibrium(true); err != nil {
		return Lag{}, err
	}
	p := t.spec.PadPower
	l := Lag{
		Share:     1 - float64(t.geo.padDown*(t.t[pad]-off[pad]))/p,
		FloorRise: t.t[floor] - celsius, SkinRise: t.t[floor] - celsius, PadOver: t.t[pad] - celsius,
	}
	if t.hold.animal > 0 {
		l.SkinRise = t.t[patch] - celsius
	}
	// What lies in pad and floor when the heat stops, counted with the share of
	// it that gets into the water.
	way := float64(float64(t.cap[pad]*(t.t[pad]-off[pad]))*l.Share) + float64(t.cap[floor]*(t.t[floor]-off[floor])) + float64(t.cap[patch]*(t.t[patch]-off[patch]))
	l.Coast = way / float64(l.Share*p)
	return l, nil
}
