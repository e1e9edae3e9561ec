package sizing

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

// tubs is how many random tubs the long simulations run: few by default,
// SOAKWARDEN_TUBS=200 for all.
func tubs(t *testing.T) int {
	text := os.Getenv("SOAKWARDEN_TUBS")
	if text == "" {
		return 8
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// randomStation draws a tub that somebody might have.
func randomStation(r *rand.Rand) *config.Station {
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	celsius := func(c float64) physic.Temperature {
		return physic.ZeroCelsius + physic.Temperature(c*float64(physic.Celsius))
	}
	t := config.Tub{
		Length: between(0.25, 0.8), Width: between(0.2, 0.5), Depth: between(0.02, 0.12),
		Wall: 0.0025, Material: "polypropylene", Insulation: []float64{0, 0.01, 0.03}[r.IntN(3)],
		Lid: r.IntN(4) > 0, Holes: 24, HoleSize: 0.006, PadInsulation: between(0.005, 0.04),
	}
	t.Height = t.Depth + between(0.05, 0.2)
	t.PadPower = t.Volume() * 1000 * between(1.5, 5)
	t.PadArea = between(0.3, 0.9) * t.Length * t.Width
	st := &config.Station{
		Name: "random", Kind: controller.Tub, Tub: t, Species: config.Species{Name: "python", Upper: celsius(34)},
		SetPoint: celsius(between(27, 31)), Differential: 277777778, RampPerHour: 2 * controller.Kelvin, FloorBound: celsius(35),
		RoomColdest: celsius(between(12, 22)),
	}
	st.RoomWarmest = st.RoomColdest + physic.Temperature(between(1, 6)*float64(physic.Celsius))
	st.Cutoff = st.SetPoint + physic.Temperature(between(1.2, 2.5)*float64(physic.Celsius))
	st.TooCold = st.SetPoint - physic.Temperature(between(1, 3)*float64(physic.Celsius))
	return st
}

// plant is the model run for days by a plain thermostat on the true water, with
// what evaporates poured back: nothing of it is shared with the search for
// steady states that Size uses.
type plant struct {
	*sim.Tub
	on  bool
	wet float64 // L poured back
}

func newPlant(t *testing.T, spec sim.TubSpec, water, room float64) *plant {
	t.Helper()
	tub, err := sim.NewTub(spec, sim.Start{Water: water, Room: room})
	if err != nil {
		t.Fatal(err)
	}
	return &plant{Tub: tub}
}

func (p *plant) fill() {
	if gone := p.Truth().Evaporated - p.wet; gone > 0 {
		p.Pour(gone, p.Water())
		p.wet += gone
	}
}

// hold runs the thermostat and returns the mean power and the mean water over
// the whole cycles of the later half.
func (p *plant) hold(hours int, setPoint, room, watts float64) (power, water float64) {
	var joules, sum, count float64
	counting := false
	for s := range hours * 3600 {
		was := p.on
		if w := p.Water(); w > setPoint+0.05 {
			p.on = false
		} else if w < setPoint-0.05 {
			p.on = true
		}
		if p.on && !was && s >= hours*1800 {
			if counting {
				power, water = joules/count, sum/count
			}
			counting = true
		}
		drive := sim.Drive{Room: room}
		if p.on {
			drive.Pad = 1
		}
		p.Step(drive)
		if counting {
			joules += drive.Pad * watts
			sum += p.Water()
			count++
		}
		if s%1800 == 0 {
			p.fill()
		}
	}
	return power, water
}

// up runs with the pad on until the water has reached a temperature, down with
// the pad off; ok is false when it never does.
func (p *plant) up(target, room float64, hours int) (float64, bool) {
	return p.until(1, room, hours, func() bool { return p.Water() >= target })
}

func (p *plant) down(target, room float64, hours int) (float64, bool) {
	return p.until(0, room, hours, func() bool { return p.Water() <= target })
}

func (p *plant) until(pad, room float64, hours int, there func() bool) (float64, bool) {
	for s := range hours * 3600 {
		if there() {
			return float64(s), true
		}
		p.Step(sim.Drive{Pad: pad, Room: room})
		if s%1800 == 0 {
			p.fill()
		}
	}
	return 0, false
}

func TestSizeAgreesWithLongSimulations(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for n := range tubs(t) {
		st := randomStation(r)
		size, err := SizeOf(st)
		if err != nil {
			t.Fatal(err)
		}
		spec, watts := TubSpec(st.Tub), st.Tub.PadPower
		setPoint, coldest, warmest := st.SetPoint.Celsius(), st.RoomColdest.Celsius(), st.RoomWarmest.Celsius()
		near := func(what string, got *float64, want, relative, absolute float64) {
			t.Helper()
			if got == nil || math.Abs(*got-want) > max(relative*math.Abs(want), absolute) {
				t.Errorf("tub %d: %s is %v, a long simulation says %g\n%+v", n, what, deref(got), want, st.Tub)
			}
		}
		strong := *size.HoldPower < 0.95*watts

		// Warming up.
		p := newPlant(t, spec, coldest, coldest)
		if s, ok := p.up(setPoint, coldest, 24*9); ok {
			near("warm-up", size.WarmUp, s, 0.05, 60)
		} else if size.WarmUp != nil && *size.WarmUp < 9*86400 {
			t.Errorf("tub %d: warm-up %g s, and the simulation never got there", n, *size.WarmUp)
		}

		// Holding, and a power cut out of it. The thermostat's water is not on
		// average at the set point: that is corrected with the loss a kelvin.
		if strong {
			p = newPlant(t, spec, setPoint, coldest)
			power, water := p.hold(20, setPoint, coldest, watts)
			near("hold power", size.HoldPower, power*(setPoint-coldest)/(water-coldest), 0.02, 0.02)
			before := p.Truth().Evaporated
			p.hold(12, setPoint, coldest, watts)
			near("evaporation", size.Evaporation, 2*(p.Truth().Evaporated-before), 0.03, 0.002)
			// The cut comes at the worst moment: the pad has been off for a while.
			p.up(setPoint+0.05, coldest, 24)
			p.down(setPoint, coldest, 24)
			s, ok := p.down(st.TooCold.Celsius(), coldest, 24*7)
			if !ok {
				t.Errorf("tub %d: never too cold", n)
			}
			near("power cut", size.PowerCut, s, 0.05, 90)
		}

		// Stuck on: from 3 K below, the water ends where Size says.
		if *size.StuckOn < 90 {
			p = newPlant(t, spec, *size.StuckOn-3, warmest)
			p.up(200, warmest, 24*6)
			near("stuck on", size.StuckOn, p.Water(), 0, 0.06)
		}
		if *size.StuckOn > st.Cutoff.Celsius()+1 && strong {
			p = newPlant(t, spec, setPoint, warmest)
			p.hold(12, setPoint, warmest, watts)
			p.up(setPoint+0.05, warmest, 24)
			p.down(setPoint, warmest, 24)
			s, _ := p.up(st.Cutoff.Celsius(), warmest, 24*7)
			// Half a minute of the heat in pad and floor is a matter of the phase.
			near("stuck on to the cutoff", size.StuckOnCutoff, s, 0.05, 90)
		}
	}
}

func deref(p *float64) any {
	if p == nil {
		return "never"
	}
	return *p
}
