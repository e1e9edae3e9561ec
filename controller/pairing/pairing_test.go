package pairing

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// room is a small bench whose pads warm whatever warms says.
type room struct {
	bench   Bench
	now     time.Duration
	tubs    []Station
	out     []Verdict
	warms   []int // the tub that pad i warms, −1 for none
	heats   func(i int) bool
	crossed bool
}

func newRoom(n int) *room {
	r := &room{tubs: make([]Station, n), out: make([]Verdict, n), warms: make([]int, n)}
	for i := range r.tubs {
		r.warms[i] = i
		r.tubs[i] = Station{Valid: true, Water: physic.ZeroCelsius + 20*physic.Kelvin, Gain: 3600 * physic.MilliKelvin}
	}
	r.heats = func(i int) bool { return r.out[i].Permit }
	return r
}

// run lets seconds pass; a permitted station heats when heats says so.
func (r *room) run(t *testing.T, seconds int, each func()) {
	t.Helper()
	for range seconds {
		r.now += time.Second
		for i := range r.tubs {
			r.tubs[i].Heating = r.heats(i)
			if r.tubs[i].Heating && r.warms[i] >= 0 {
				r.tubs[r.warms[i]].Water += physic.MilliKelvin
			}
		}
		r.bench.Step(r.now, r.tubs, r.out)
		permits := 0
		for i := range r.tubs {
			if r.out[i].Permit && !r.tubs[i].Proven {
				permits++
			}
			r.crossed = r.crossed || r.out[i].Crossed
		}
		if permits > 1 {
			t.Fatalf("%d unproven stations hold a permit", permits)
		}
		if each != nil {
			each()
		}
	}
}

func TestStationsTakeTheirFirstHeatOneAfterAnother(t *testing.T) {
	r := newRoom(3)
	first := make([]time.Duration, 3)
	r.run(t, 3*3600, func() {
		for i := range r.tubs {
			if r.tubs[i].Heating && first[i] == 0 {
				first[i] = r.now
			}
			// Half a kelvin of its own water proves a station here.
			if r.tubs[i].Water > physic.ZeroCelsius+20500*physic.MilliKelvin {
				r.tubs[i].Proven = true
			}
		}
	})
	for i := range r.tubs {
		if !r.tubs[i].Proven || first[i] == 0 {
			t.Errorf("station %d never had its turn", i)
		}
	}
	if first[1] < first[0]+pause || first[2] < first[1]+pause {
		t.Errorf("turns follow too closely: %v", first)
	}
	if r.crossed {
		t.Error("a crossing was seen in a bench without one")
	}
}

func TestCrossedPadsAreSeenAndStay(t *testing.T) {
	r := newRoom(2)
	r.warms[0], r.warms[1] = 1, 0
	r.run(t, 600, nil)
	if !r.out[0].Crossed || !r.out[1].Crossed {
		t.Fatal("the crossing was not seen within ten minutes of heat")
	}
	r.warms[0], r.warms[1] = 0, 1
	r.run(t, 3600, nil)
	if !r.out[0].Crossed || r.out[0].Permit {
		t.Error("a crossing went away by itself, or a crossed station may heat")
	}
	r.bench.Forget()
	r.run(t, 2, nil)
	if r.out[0].Crossed {
		t.Error("a crossing stays after it was forgotten")
	}
}

// The sun on a tub is no crossing while the pad on trial warms its own water.
func TestWaterThatWarmsByItselfIsNoCrossing(t *testing.T) {
	r := newRoom(2)
	r.run(t, 3000, func() { r.tubs[1].Water += physic.MilliKelvin / 2 })
	if r.crossed {
		t.Error("a crossing was seen although each pad warms its own tub")
	}
}

func TestProvenStationIsNeverHeldBack(t *testing.T) {
	r := newRoom(3)
	r.tubs[2].Proven = true
	r.run(t, 4000, func() {
		if !r.out[2].Permit {
			t.Fatal("the proven station lost its permit")
		}
	})
}

func TestDeadPadDoesNotBlockTheOthers(t *testing.T) {
	r := newRoom(2)
	r.warms[0] = -1
	had := false
	r.run(t, int((longestTurn+pause)/time.Second)+60, func() { had = had || r.out[1].Permit })
	if !had {
		t.Error("a pad that warms nothing blocks the next station for ever")
	}
}

func TestStationThatNeedsNoHeatPassesItsTurnOn(t *testing.T) {
	r := newRoom(2)
	r.heats = func(i int) bool { return i == 1 && r.out[i].Permit }
	had := false
	r.run(t, int(longestIdle/time.Second)+30, func() { had = had || r.out[1].Permit })
	if !had {
		t.Error("a station that asks for no heat keeps its turn")
	}
}

func TestProbeThatCannotBeBelievedProvesNothing(t *testing.T) {
	r := newRoom(2)
	r.warms[0], r.warms[1] = 1, 0
	r.tubs[0].Valid = false
	r.run(t, 900, nil)
	if r.out[0].Crossed {
		t.Error("a crossing was concluded from a probe that cannot be believed")
	}
}

func TestEveryoneProvenNeedsNoTurn(t *testing.T) {
	r := newRoom(2)
	r.tubs[0].Proven, r.tubs[1].Proven = true, true
	r.run(t, 10, nil)
	if r.bench.turn {
		t.Error("somebody holds a turn in a proven bench")
	}
}

// TestZeroValuePermitsNothing is the shape of the package: off is the zero value.
func TestZeroValuePermitsNothing(t *testing.T) {
	if (Verdict{}).Permit {
		t.Error("the zero verdict permits heat")
	}
}
