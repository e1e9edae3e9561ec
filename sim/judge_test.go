package sim

import "testing"

// The figures as the command's description has them: maximum from the start,
// minimum from ready, overshoot from the first touch of set point − 0.3 K, ready
// after ten minutes in band with the probes agreeing.
func TestJudge(t *testing.T) {
	j := NewJudge(29.4, 0.3)
	if r := j.Judgement(); r.HeatOnRatio != 0 || r.Ready {
		t.Errorf("a judge that saw nothing says %+v", r)
	}
	second := 0
	run := func(n int, water float64, agreeing bool, watts float64) {
		for range n {
			second++
			j.Second(Observation{Water: water, Floor: water + 1, Watts: watts, Lost: float64(second) * 1e-5, Agreeing: agreeing})
		}
	}
	run(10, 31, true, 0)     // poured in too warm: a maximum and no overshoot yet
	run(1000, 28, true, 20)  // cold: no minimum yet
	run(700, 29.3, false, 0) // in band, but the probes do not agree
	run(599, 29.3, true, 0)
	if j.Judgement().Ready {
		t.Error("ready after 599 s in band")
	}
	run(1, 29.3, true, 0)
	run(50, 29.9, true, 20)
	run(50, 29.0, true, 0)
	r := j.Judgement()
	near(t, "maximum", r.WaterMax, 31, 0)
	near(t, "maximum at", float64(r.WaterMaxAt), 1, 0)
	near(t, "minimum", r.WaterMin, 29.0, 0)
	near(t, "ready at", float64(r.ReadyAt), 2310, 0)
	near(t, "floor", r.FloorMax, 32, 0)
	near(t, "heat on", r.HeatOnRatio, 1050.0/2410, 1e-12)
	near(t, "energy, Wh", r.EnergyWh, 1050*20/3600.0, 1e-9)
	near(t, "lost, L", r.WaterLost, 0.0241, 1e-9)
	near(t, "over by", r.OverBy, 1.6, 1e-9)
	if !r.Touched || !r.Ready {
		t.Errorf("%+v", r)
	}
	// The water was over set point − 0.3 K at the first second, so that is a touch.
	near(t, "overshoot", r.Overshoot, 1.6, 1e-9)

	cold := NewJudge(29.4, 0.3)
	for range 100 {
		cold.Second(Observation{Water: 27})
	}
	if r := cold.Judgement(); r.Touched || r.Overshoot != 0 || r.OverBy > -2 || r.WaterMin != 27 {
		t.Errorf("a tub that never warmed: %+v", r)
	}
	cold.Move(26)
	cold.Second(Observation{Water: 27})
	near(t, "overshoot over a lowered set point", cold.Judgement().Overshoot, 1, 1e-9)
}

func TestObservationOfATub(t *testing.T) {
	tub := newTestTub(t, TubSpec{Length: 0.4, Width: 0.3, Depth: 0.06, PadPower: 25, Lid: true, Animal: 2}, 30, 18)
	for range 600 {
		tub.Step(Drive{Pad: 0.5, Room: 18})
	}
	o, truth := tub.Observe(true), tub.Truth()
	if o.Water != truth.Water || o.Floor != max(truth.Floor, truth.Contact) || o.Watts != 12.5 || !o.Agreeing {
		t.Errorf("observation %+v of %+v", o, truth)
	}
	near(t, "lost", o.Lost, truth.Evaporated+truth.Leaked, 1e-15)
}
