package sim

import (
	"fmt"
	"math"

	"soakwarden/sim/physics"
)

// SizeSpec asks whether a pad suits a tub. Temperatures are °C.
type SizeSpec struct {
	Tub         TubSpec
	SetPoint    float64
	TooCold     float64
	Cutoff      float64
	Fill        float64 // of the water when it is poured in; 0 means that of the coldest room
	RoomColdest float64
	RoomWarmest float64
}

// SizeResult is the heat budget of a tub. A time that never comes is +Inf.
type SizeResult struct {
	WarmUp        float64 // s from Fill to the set point, pad on, coldest room
	HoldPower     float64 // W, mean, at the set point in the coldest room
	HoldShare     float64 // of the pad's power; over 1 the pad is too weak
	StuckOn       float64 // °C, water, the pad on for good in the warmest room
	StuckOnFloor  float64 // °C, contact surface, the same
	StuckOnCutoff float64 // s from the set point to the cutoff, the same
	PowerCut      float64 // s from the set point until too cold, no heat, coldest room
	Evaporation   float64 // L a day at the set point in the coldest room
	Floor         float64 // °C, hottest contact surface at the set point with the pad on (under the animal when there is one)
	FloorRise     float64 // K, open contact surface over the water, pad on
	Coast         float64 // s, mean time of heat from pad to water
	CoastRise     float64 // K, what the water still rises by after the pad goes off: Gain times Coast
	Gain          float64 // K/s of the water at full pad, no losses
	Loss          float64 // K/s of the water at the set point, no heat, coldest room
	Flux          float64 // W/m², pad over its area
}

// longestSize ends a search for a time, s.
const longestSize = 30 * 86400

// checked says what is wrong with the question, and gives it its defaults.
func (s SizeSpec) checked() (SizeSpec, error) {
	for _, b := range []struct {
		name     string
		v        float64
		low, top float64
	}{
		{"set point", s.SetPoint, 5, 60}, {"too cold", s.TooCold, 0, s.SetPoint}, {"cutoff", s.Cutoff, s.SetPoint, 95},
		{"fill", s.Fill, 0, 95}, {"coldest room", s.RoomColdest, -20, 50}, {"warmest room", s.RoomWarmest, s.RoomColdest, 55},
	} {
		// Written so that NaN fails it.
		if !(b.v >= b.low && b.v <= b.top) {
			return s, fmt.Errorf("size: %s is %g °C, write %g to %g °C", b.name, b.v, b.low, b.top)
		}
	}
	if s.Fill == 0 {
		s.Fill = max(s.RoomColdest, 1)
	}
	return s, nil
}

// Size works the heat budget of a tub out, from the same network that Step runs:
// steady states directly, times by stepping.
func Size(s SizeSpec) (SizeResult, error) {
	r, err := Answer(s)
	if err != nil {
		return r, err
	}
	cold, warm := Drive{Room: s.RoomColdest}, Drive{Room: s.RoomWarmest, Pad: 1}
	if r.HoldPower, r.Evaporation, err = HoldPower(s.Tub, s.SetPoint, cold); err != nil {
		return r, err
	}
	stuck, _, err := Steady(s.Tub, warm)
	if err != nil {
		return r, err
	}
	r.StuckOn, r.StuckOnFloor = stuck.Water, max(stuck.Floor, stuck.Contact)
	t, err := settled(s.Tub, s.SetPoint, cold)
	if err != nil {
		return r, err
	}
	r.HoldShare = math.Inf(1)
	if p := t.spec.PadPower; p > 0 {
		r.HoldShare = r.HoldPower / p
	}
	r.PowerCut = t.until(cold, longestSize, func(w float64) bool { return w <= s.TooCold })
	if r.StuckOnCutoff, err = StuckOnCutoff(s, longestSize); err != nil {
		return r, err
	}
	r.WarmUp, err = WarmUp(s, longestSize)
	return r, err
}

// StuckOnCutoff works out that part of the budget alone, +Inf when it takes longer
// than most, s.
func StuckOnCutoff(s SizeSpec, most int) (float64, error) {
	t, err := settled(s.Tub, s.SetPoint, Drive{Room: s.RoomWarmest})
	if err != nil {
		return 0, err
	}
	return t.until(Drive{Room: s.RoomWarmest, Pad: 1}, most, func(w float64) bool { return w >= s.Cutoff }), nil
}

// WarmUp works out that part of the budget alone, +Inf when it takes longer than
// most, s.
func WarmUp(s SizeSpec, most int) (float64, error) {
	s, err := s.checked()
	if err != nil {
		return 0, err
	}
	t, err := NewTub(s.Tub, Start{Water: s.Fill, Room: s.RoomColdest})
	if err != nil {
		return 0, err
	}
	full := Drive{Room: s.RoomColdest, Pad: 1}
	return t.until(full, most, func(w float64) bool { return w >= s.SetPoint }), nil
}

// Answer works out how the tub answers to its pad and to the lack of it, which is
// quickly had: Floor, FloorRise, Coast, CoastRise, Gain, Loss and Flux.
func Answer(s SizeSpec) (r SizeResult, err error) {
	if s, err = s.checked(); err != nil {
		return r, err
	}
	cold := Drive{Room: s.RoomColdest}
	lag, err := Lags(s.Tub, s.SetPoint, cold)
	if err != nil {
		return r, err
	}
	r.Coast, r.FloorRise = lag.Coast, lag.FloorRise
	r.Floor = s.SetPoint + max(lag.FloorRise, lag.SkinRise)
	t, err := settled(s.Tub, s.SetPoint, cold)
	if err != nil {
		return r, err
	}
	if p := t.spec.PadPower; p > 0 {
		r.Flux = p / t.geo.heated
		r.Gain = lag.Share * p / (t.cap[lower] + t.cap[upper] + t.cap[beast])
	}
	r.CoastRise = r.Gain * r.Coast
	r.Loss = (t.Water() - t.after(600, cold)) / 600
	return r, nil
}

// settled returns a tub whose water is at celsius and all else in balance with
// it, the pad off.
func settled(spec TubSpec, celsius float64, d Drive) (*Tub, error) {
	t, err := NewTub(spec, Start{Water: celsius, Room: d.Room})
	if err != nil {
		return nil, err
	}
	t.drive = d
	t.drive.Pad = 0
	if err := t.equilibrium(true); err != nil {
		return nil, err
	}
	return t, nil
}

// after returns the water after s seconds of d.
func (t *Tub) after(s int, d Drive) float64 {
	for range s {
		t.Step(d)
	}
	return t.Water()
}

// until returns the seconds of d until the water is there, +Inf for never or for
// more than most. The water is kept at its level. It gives up when the water has
// stood still.
func (t *Tub) until(d Drive, most int, there func(water float64) bool) float64 {
	if there(t.Water()) {
		return 0
	}
	stood := t.Water()
	for s := 1; s <= most; s++ {
		t.Step(d)
		if there(t.Water()) {
			return float64(s)
		}
		if s%7200 == 0 {
			if math.Abs(t.Water()-stood) < 1e-4 {
				break
			}
			stood = t.Water()
			t.topUp()
		}
	}
	return math.Inf(1)
}

// topUp replaces what evaporated by water of the same temperature.
func (t *Tub) topUp() {
	t.settle()
	lost := t.account.Evaporated - t.topped
	t.topped = t.account.Evaporated
	if lost > 0 {
		t.Pour(lost/physics.WaterDensity(t.Water())*1000, t.Water())
	}
}
