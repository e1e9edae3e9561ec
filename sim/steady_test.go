package sim

import (
	"math"
	"strings"
	"testing"

	"soakwarden/sim/num"
)

// A steady state is found for every tub that a configuration can describe, a pad
// of 2 kW under a puddle among them, and nothing is left over there: what the pad
// gives is what the room gets. No outside source: conservation.
func TestSteadyIsAlwaysFound(t *testing.T) {
	n := num.NewNoise(77, 1)
	for i := range 400 {
		spec := drawSpec(n)
		if i%3 == 0 {
			spec.PadPower = n.Between(80, 2000)
		}
		d := Drive{Pad: 1, Room: n.Between(-10, 45), LidOff: n.Below(3) == 0, Draught: float64(n.Below(2)) * n.Uniform(), Sun: float64(n.Below(2)) * 15, Stir: float64(n.Below(2))}
		tub := newTestTub(t, spec, max(d.Room, 1), d.Room)
		tub.drive = d
		if err := tub.equilibrium(false); err != nil {
			t.Fatalf("draw %d: %v", i, err)
		}
		lost := tub.net.lost.fixed + tub.net.lost.room*d.Room
		for j := range tub.t {
			lost += tub.net.lost.at[j] * tub.t[j]
		}
		near(t, "given off", lost/(spec.PadPower+d.Sun), 1, 1e-6)
		if _, err := Lags(spec, 29.4, d); err != nil {
			t.Fatalf("draw %d: %v", i, err)
		}
	}
}

// The lag of the network against a run: after the pad comes on, the water's rise
// is a straight line that meets the start one mean lag late.
func TestCoastAgainstARun(t *testing.T) {
	spec := TubSpec{Length: 0.5, Width: 0.4, Depth: 0.12, PadPower: 60, Lid: true, Humidity: 1}
	lag, err := Lags(spec, 25, Drive{Room: 25})
	if err != nil {
		t.Fatal(err)
	}
	tub, err := settled(spec, 25, Drive{Room: 25})
	if err != nil {
		t.Fatal(err)
	}
	gain := lag.Share * 60 / (tub.cap[lower] + tub.cap[upper])
	d := Drive{Pad: 1, Room: 25}
	early := tub.after(900, d)
	late := tub.after(300, d)
	slope := (late - early) / 300
	// The little that the water is warmer by then is lost through lid and walls.
	near(t, "slope over gain", slope/gain, 1, 0.06)
	near(t, "lag, s", 900-(early-25)/slope, lag.Coast, 0.15*lag.Coast)
	near(t, "floor over water, K", tub.t[floor]-tub.t[lower], lag.FloorRise, 0.1)
}

// The heat budget hangs together: times against one another and against the
// closed forms of a body that is lumped.
func TestSizeHangsTogether(t *testing.T) {
	q := SizeSpec{Tub: referenceSpec, SetPoint: 29.4, TooCold: 26.7, Cutoff: 31.7, RoomColdest: 20, RoomWarmest: 27, Fill: 26}
	r, err := Size(q)
	if err != nil {
		t.Fatal(err)
	}
	if !(r.HoldPower > 0 && r.HoldShare < 1 && r.StuckOn > 31.7 && r.StuckOnFloor > r.StuckOn && r.Floor > 29.4) {
		t.Errorf("%+v", r)
	}
	near(t, "flux", r.Flux, 250, 1e-9)
	near(t, "share", r.HoldShare, r.HoldPower/20, 1e-12)
	near(t, "what the water coasts", r.CoastRise, r.Gain*r.Coast, 1e-12)
	// Loss and gain at the set point agree with the power that holds it.
	near(t, "loss over gain", r.Loss/r.Gain, r.HoldShare, 0.12)
	// Newton's cooling between the two temperatures, with the loss at the set point.
	kelvins := 29.4 - 20.0
	tau := kelvins / r.Loss
	near(t, "power cut, s", r.PowerCut, tau*math.Log(kelvins/(26.7-20)), 0.15*r.PowerCut)

	q.Tub.PadPower = 2
	if r, err = Size(q); err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(r.WarmUp, 1) || !math.IsInf(r.StuckOnCutoff, 1) || r.HoldShare < 1 {
		t.Errorf("a pad of 2 W is strong enough: %+v", r)
	}
	q.Tub.PadPower = 0
	if r, err = Size(q); err != nil || !math.IsInf(r.HoldShare, 1) || r.Gain != 0 {
		t.Errorf("a tub without a pad: %+v, %v", r, err)
	}
	q.Tub.PadPower = 2000
	if r, err = Size(q); err != nil || r.StuckOn < 60 || r.StuckOnCutoff > 600 {
		t.Errorf("a pad of 2 kW: %+v, %v", r, err)
	}
}

func TestSizeSaysWhatIsWrong(t *testing.T) {
	good := SizeSpec{Tub: referenceSpec, SetPoint: 29.4, TooCold: 26.7, Cutoff: 31.7, RoomColdest: 20, RoomWarmest: 27}
	for want, spoil := range map[string]func(*SizeSpec){
		"set point is NaN":     func(s *SizeSpec) { s.SetPoint = math.NaN() },
		"too cold is 30":       func(s *SizeSpec) { s.TooCold = 30 },
		"cutoff is 20":         func(s *SizeSpec) { s.Cutoff = 20 },
		"warmest room is 10":   func(s *SizeSpec) { s.RoomWarmest = 10 },
		"coldest room is -300": func(s *SizeSpec) { s.RoomColdest = -300 },
		"length is -1":         func(s *SizeSpec) { s.Tub.Length = -1 },
	} {
		s := good
		spoil(&s)
		if _, err := Size(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}
