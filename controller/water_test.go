package controller

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/observer"
)

// A reading counts when it is good, within what a probe can measure, not from
// the future and not older than the one before; for five seconds after its
// conversion it is young.
func TestReadingsAtTheirBounds(t *testing.T) {
	const now, start = time.Hour, 50 * time.Minute
	last := measured{at(29), now - 3*time.Second}
	for _, c := range []struct {
		name             string
		r                Reading
		good, fresh, odd bool
		value            physic.Temperature
	}{
		{"just now", Reading{Value: at(30), Quality: Good, At: now}, true, true, false, at(30)},
		{"of the same moment", Reading{Value: at(31), Quality: Good, At: last.At}, true, false, false, at(29)},
		{"older than the last", Reading{Value: at(30), Quality: Good, At: last.At - 1}, false, false, false, at(29)},
		{"from the future", Reading{Value: at(30), Quality: Good, At: now + 1}, false, false, false, at(29)},
		{"−55 °C", Reading{Value: at(-55), Quality: Good, At: now}, true, true, false, at(-55)},
		{"colder", Reading{Value: at(-55) - 1, Quality: Good, At: now}, false, false, true, at(29)},
		{"125 °C", Reading{Value: at(125), Quality: Good, At: now}, true, true, false, at(125)},
		{"hotter", Reading{Value: at(125) + 1, Quality: Good, At: now}, false, false, true, at(29)},
		{"suspect", Reading{Value: at(30), Quality: Suspect, At: now}, false, false, true, at(29)},
		{"none", Reading{}, false, false, false, at(29)},
	} {
		p := judged(sense{last: last, known: true}, c.r, now, start)
		if p.good() != c.good || p.told.Fresh != c.fresh || p.odd != c.odd || p.last.Value != c.value {
			t.Errorf("%s: %+v", c.name, p)
		}
		if want := now - p.last.At; p.age != want {
			t.Errorf("%s: %s old, want %s", c.name, p.age, want)
		}
	}
	for flaw, odd := range map[Flaw]bool{Absent: false, BadCRC: false, Malformed: false, Stale: false, Shorted: true, PowerOnValue: true, LowPower: true, OutOfRange: true} {
		if p := judged(sense{}, Reading{Quality: Bad, Flaw: flaw}, now, start); p.odd != odd || p.age != 10*time.Minute || p.known {
			t.Errorf("%s: %+v", flaw, p)
		}
	}
	for age, good := range map[time.Duration]bool{5 * time.Second: true, 5*time.Second + 1: false} {
		if p := judged(sense{}, Reading{Value: at(29), Quality: Good, At: now - age}, now, start); p.good() != good || !p.known {
			t.Errorf("%s old: good %v", age, p.good())
		}
	}
	for age, recent := range map[time.Duration]bool{time.Minute: true, time.Minute + 1: false} {
		p := sense{known: true, age: age}
		if p.recent() != recent || p.believable() != recent {
			t.Errorf("%s old: counts %v", age, p.recent())
		}
		if p.doubt = true; p.believable() {
			t.Error("a doubted probe is believed")
		}
	}
	if (&sense{}).recent() {
		t.Error("a probe that never answered counts")
	}
}

// A probe that says nothing keeps none of the others from being heard. Nothing
// waits for that of the room.
func TestOneSilentProbeAmongOthers(t *testing.T) {
	for silent, ready := range map[int]bool{0: false, 1: false, 2: false, 3: true} {
		r := newReady(t, withFloor(), at(29.4))
		r.now += time.Second
		r.in.Now = r.now
		for i := range r.in.Readings {
			r.in.Readings[i] = Reading{Value: at(29.5), At: r.now, Quality: Good}
		}
		r.in.Readings[silent] = Reading{}
		r.s.now = r.now
		if r.s.sense(&r.in); r.s.ready != ready {
			t.Errorf("without probe %d: ready %v", silent, r.s.ready)
		}
		for i, p := range r.s.probes {
			if heard := p.last.Value == at(29.5); heard != (i != silent) || p.good() != heard {
				t.Errorf("without probe %d: probe %d heard %v, good %v", silent, i, heard, p.good())
			}
		}
	}
}

// judged is a probe after one reading.
func judged(p sense, r Reading, now, start time.Duration) sense {
	p.told = new(observer.Reading)
	if !p.known {
		p.last.At = never
	}
	s := Station{probes: []*sense{&p}, clock: clock{now: now, start: start}, begin: true}
	s.sense(&Input{Readings: []Reading{r}})
	if s.ready != p.good() {
		panic("a probe is good and not ready, or the reverse")
	}
	return p
}

// mixed is a station whose two probes read so, each believed or doubted.
func mixed(t *testing.T, control, guard float64, doubted ...int) *Station {
	s := newReady(t, tubSettings(), at(29.4)).s
	for i, v := range []float64{control, guard} {
		p := s.probes[i]
		p.last, p.told.Value, p.known, p.told.Valid, p.age = measured{Value: at(v)}, v, true, true, 0
	}
	for _, i := range doubted {
		s.probes[i].doubt, s.doubts = true, true
	}
	s.mix()
	return s
}

// What the in-water probes say together; a doubted one counts on the hot side
// alone.
func TestWaterIsTheProbesTogether(t *testing.T) {
	for _, c := range []struct {
		name             string
		control, guard   float64
		doubted          []int
		count, hot, cold int
		hottest, coldest float64
		mean             float64
	}{
		{"control hotter", 30, 29, nil, 2, 0, 1, 30, 29, 29.5},
		{"guard hotter", 29, 30, nil, 2, 1, 0, 30, 29, 29.5},
		{"equal", 29, 29, nil, 2, 0, 0, 29, 29, 29},
		{"the cooler doubted", 30, 29, []int{1}, 1, 0, 0, 30, 30, 30},
		{"the hotter doubted", 30, 29, []int{0}, 1, 0, 1, 30, 29, 29},
		{"both doubted", 30, 29, []int{0, 1}, 0, 0, -1, 30, -273.15, 0},
		{"equal, the control doubted", 29, 29, []int{0}, 1, 1, 1, 29, 29, 29},
	} {
		w := mixed(t, c.control, c.guard, c.doubted...).water
		if w.count != c.count || w.hot != c.hot || w.cold != c.cold || w.hottest != at(c.hottest) || w.coldest != at(c.coldest) || math.Abs(w.mean-c.mean) > 1e-9 {
			t.Errorf("%s: %+v", c.name, w)
		}
	}
	s := mixed(t, 29, 30)
	s.probes[1].age = time.Minute + 1
	if s.mix(); s.water.count != 1 || s.water.hottest != at(29) {
		t.Errorf("a reading that is too old counts: %+v", s.water)
	}
	s.probes[1].doubt, s.doubts = true, true
	if s.mix(); s.water.hottest != at(29) {
		t.Errorf("a doubted reading that is too old counts: %+v", s.water)
	}
}

// The mean that proofs look at follows the water with 30 s; without a believed
// probe the time of blindness runs.
func TestSmoothMeanAndBlindness(t *testing.T) {
	r := newReady(t, tubSettings(), at(29))
	r.s.water.slow = 29
	r.set(0, at(30))
	r.set(1, at(30))
	r.step()
	if got, want := r.s.water.slow, 29+1.0/30; math.Abs(got-want) > 1e-9 {
		t.Errorf("after a second %v, want %v", got, want)
	}
	r.step()
	if got, want := r.s.water.slow, 29+1.0/30+(1-1.0/30)/30; math.Abs(got-want) > 1e-9 {
		t.Errorf("after two seconds %v, want %v", got, want)
	}
	r.now += 59 * time.Second
	if r.step(); r.s.water.slow != 30 {
		t.Errorf("after a minute %v, want 30", r.s.water.slow)
	}
	r.in.Readings = nil
	r.steps(60)
	if r.s.blind != 0 {
		t.Errorf("blind for %s while the last reading still counts", r.s.blind)
	}
	r.steps(60)
	if r.s.blind != 60*time.Second || r.s.water.smooths {
		t.Errorf("blind for %s", r.s.blind)
	}
	r.now += 99 * time.Second // nobody looked: five seconds of it count
	if r.step(); r.s.blind != 65*time.Second {
		t.Errorf("blind for %s", r.s.blind)
	}
}

// Heat begins when every required probe has answered and the in-water probes
// agreed for three seconds within 0.6 K or the sum of their uncertainties.
func TestProbesAgreeAtAStart(t *testing.T) {
	for _, c := range []struct {
		name        string
		uncertainty Difference
		apart       Difference
		begins      int // second
	}{
		{"0.6 K apart, well calibrated", 100 * MilliKelvin, 600 * MilliKelvin, 4},
		{"a hair more", 100 * MilliKelvin, 600*MilliKelvin + 1, 0},
		{"as far the other way", 100 * MilliKelvin, -600 * MilliKelvin, 4},
		{"a hair more the other way", 100 * MilliKelvin, -600*MilliKelvin - 1, 0},
		{"1 K apart, each known to half of it", 500 * MilliKelvin, 1000 * MilliKelvin, 4},
		{"a hair more than that", 500 * MilliKelvin, 1000*MilliKelvin + 1, 0},
	} {
		set := tubSettings()
		set.Probes = append([]ProbeSettings(nil), set.Probes...)
		set.Probes[0].Uncertainty, set.Probes[1].Uncertainty = c.uncertainty, c.uncertainty
		r := unproven(t, set)
		s := r.s
		r.set(0, Above(at(29), c.apart))
		r.set(1, at(29))
		began := 0
		for n := 1; n <= 200 && began == 0; n++ {
			if r.step(); s.begin {
				began = n
			}
			if c.begins == 0 && s.present.has(ProbesDiffer) != (n >= 121) {
				t.Errorf("%s: told of it %v, %d s after the start", c.name, s.present.has(ProbesDiffer), n)
				break
			}
		}
		if began != c.begins {
			t.Errorf("%s: begins in second %d, want %d", c.name, began, c.begins)
		}
	}
}

// Lines move back once their cause acts, so that a reading on a line does not
// chatter.
func TestLinesMoveBack(t *testing.T) {
	for _, c := range []struct {
		cause Cause
		line  physic.Temperature // where it begins
		back  physic.Temperature // where it still is
		probe int
		cold  bool
	}{
		{OverCutoff, at(31.6), at(31.3), 0, false},
		{OverBand, at(30) + 1, at(29.8) + 1, 0, false},
		{FloorTooHot, at(34), at(33.5), 2, false},
		{TooCold, at(26.6) - 1, at(26.7) - 1, 0, true},
	} {
		for _, acting := range []bool{false, true} {
			for _, latched := range []bool{false, true} {
				if latched && c.cold {
					continue
				}
				r := newReady(t, withFloor(), at(29.4))
				line := c.line
				if acting || latched {
					line = c.back
				}
				step := physic.Temperature(1)
				if c.cold {
					step = -1
				}
				for _, v := range []physic.Temperature{line, line - step} {
					r.s.acting, r.s.latched, r.s.present = 0, 0, 0
					if acting {
						r.s.acting = 1 << c.cause
					}
					if latched {
						r.s.latched = 1 << c.cause
					}
					r.s.command = Command{}
					for i := range r.s.probes {
						r.s.probes[i].last.Value = at(29.4)
					}
					r.s.probes[c.probe].last.Value = v
					if c.probe == 0 {
						r.s.probes[1].last.Value = v
					}
					r.s.mix()
					if r.s.lookAtWater(); r.s.present.has(c.cause) != (v == line) {
						t.Errorf("%s, acting %v, latched %v: there at %s: %v", c.cause, acting, latched, v, r.s.present.has(c.cause))
					}
				}
			}
		}
	}
}

// Our heat drove the water over the band when what the pad still held explains
// it: the water stood within gain times coast of the line when heat last flowed.
func TestWhoseHeatWentOverTheBand(t *testing.T) {
	line := at(30)
	left := 2.124 / 3600 * 90 // K
	for _, c := range []struct {
		name       string
		warm       bool
		mean, last float64
		verdict    observer.Verdict
		ours       bool
	}{
		{"all that was left", true, 30 + 1e-9, 30 - left + 1e-9, observer.Quiet, true},
		{"further than that", true, 30 + 1e-9, 30 - left - 1e-9, observer.Quiet, false},
		{"one probe alone over it", true, 30 - 1e-9, 30, observer.Quiet, false},
		{"long after our heat", false, 30 + 1e-9, 30, observer.Quiet, false},
		{"proven to come unasked", false, 20, 20, observer.ProvenUnasked, true},
	} {
		s := newReady(t, tubSettings(), at(29.4)).s
		s.run.warm, s.water.mean, s.run.last, s.look.verdict = c.warm, c.mean, c.last, c.verdict
		if s.oursTooWarm(line) != c.ours {
			t.Errorf("%s: ours %v", c.name, !c.ours)
		}
	}
}

// What the observer finds becomes a cause: unasked rise while a relay of ours
// was closed within a quarter of an hour, heat from outside later; no rise,
// latched where a floor probe that feels the pad says so.
func TestFindingsBecomeCauses(t *testing.T) {
	const quarter = 15 * time.Minute
	found := func(set func(*Station)) *Station {
		s := newReady(t, withFloor(), at(29.4)).s
		s.present, s.off, s.grave = 0, 0, 0
		s.run.open, s.look.verdict, s.look.facts = 0, observer.Quiet, observer.Findings{Jumped: observer.None, Frozen: observer.None}
		set(s)
		s.lookAtHeat()
		return s
	}
	for _, c := range []struct {
		name            string
		set             func(*Station)
		there, condemns causes
	}{
		{"nothing", func(*Station) {}, 0, 0},
		{"unasked", func(s *Station) { s.look.facts.Unasked = true }, 1 << UnaskedRise, 0},
		{"unasked, all open for less", func(s *Station) { s.look.facts.Unasked, s.run.open = true, quarter-1 }, 1 << UnaskedRise, 0},
		{"unasked, all open for long", func(s *Station) { s.look.facts.Unasked, s.run.open = true, quarter }, 1 << HeatFromOutside, 0},
		{"all open for long", func(s *Station) { s.run.open = quarter }, 0, 0},
		{"outside", func(s *Station) { s.look.verdict = observer.OutsideHeat }, 1 << HeatFromOutside, 0},
		{"proven", func(s *Station) { s.look.verdict = observer.ProvenUnasked }, 1 << UnaskedRise, 1 << UnaskedRise},
		{"no rise", func(s *Station) { s.look.facts.NoRise = true }, 1 << NoRise, 0},
		{"no rise, proven", func(s *Station) { s.look.facts.NoRise, s.look.verdict = true, observer.ProvenNoRise }, 1 << NoRise, 1 << NoRise},
		{"no rise, proven by a floor that feels nothing", func(s *Station) {
			s.look.facts.NoRise, s.look.facts.FloorBlind, s.look.verdict = true, true, observer.ProvenNoRise
		}, 1 << NoRise, 0},
		{"no rise, proven without a floor", func(s *Station) {
			s.look.facts.NoRise, s.look.verdict, s.place[observer.Floor] = true, observer.ProvenNoRise, -1
		}, 1 << NoRise, 0},
		{"the pairing's proof failed", func(s *Station) { s.proofs[ProofPairing].Failed = true }, 1 << NoRise, 0},
		{"it failed and the tubs are crossed", func(s *Station) { s.proofs[ProofPairing].Failed, s.crossed = true, true }, 0, 0},
		{"a watch that warmed", func(s *Station) { s.trial.warms = 1 }, 1 << HeatFromOutside, 0},
		{"two of them", func(s *Station) { s.trial.warms = 2 }, 1<<HeatFromOutside | 1<<BothWelded, 0},
	} {
		if s := found(c.set); s.present != c.there || s.grave != c.condemns {
			t.Errorf("%s: %b, condemned %b", c.name, s.present, s.grave)
		}
	}
	// With two believed probes the water is not in doubt when it does not rise.
	if s := found(func(s *Station) { s.look.facts.NoRise = true }); !s.waterFits {
		t.Error("two probes, no rise, and the water is in doubt")
	}
	if s := found(func(s *Station) { s.look.facts.NoRise, s.water.count = true, 1 }); s.waterFits {
		t.Error("one probe, no rise, and the water is not in doubt")
	}
	stage := StageAnswer
	if s := found(func(s *Station) { s.look.facts.NoRise, s.water.count, s.waterFits, s.stage = true, 1, false, stage }); s.stage != stage {
		t.Error("a proof of the water that is under way is begun anew")
	}
}

// floor is a station whose floor probe stands so far over the water, everything
// open for so long.
func overWater(t *testing.T, rise float64, open time.Duration, set func(*Station)) *Station {
	s := newReady(t, withFloor(), at(29)).s
	s.run.open, s.widened = open, 0
	s.probes[2].last.Value = at(29) + physic.Temperature(rise*1e9)
	if set != nil {
		set(s)
	}
	return s
}

// A pad is on although every relay is open: the floor stands half of its nominal
// rise and a kelvin over the water, a quarter of an hour and three coasts after
// they opened.
func TestFloorThatHeatsAtItsBounds(t *testing.T) {
	const long = 15*time.Minute + 270*time.Second
	for _, c := range []struct {
		name string
		rise float64
		open time.Duration
		set  func(*Station)
		hot  bool
	}{
		{"half of 3 K and a hair", 1.500000001, long, nil, true},
		{"half of it", 1.5, long, nil, false},
		{"a second less", 1.6, long - time.Second, nil, false},
		{"a kelvin, of a small rise", 1, long, func(s *Station) { s.set.Limits.FloorRise = Kelvin }, false},
		{"a hair more, of a small rise", 1.000000001, long, func(s *Station) { s.set.Limits.FloorRise = Kelvin }, true},
		{"hands", 2, long, func(s *Station) { s.attended = true }, false},
		{"tests are wide", 2, long, func(s *Station) { s.widened = 1 }, false},
		{"the water may be gone", 2, long, func(s *Station) { s.gone = NoWater }, false},
		{"no believed probe in the water", 2, long, func(s *Station) { s.water.count = 0 }, false},
		{"the floor is doubted", 2, long, func(s *Station) { s.probes[2].doubt = true }, false},
		{"no floor probe", 2, long, func(s *Station) { s.place[observer.Floor] = -1 }, false},
	} {
		if s := overWater(t, c.rise, c.open, c.set); s.floorHeats() != c.hot {
			t.Errorf("%s: heats %v", c.name, !c.hot)
		}
	}
}

// Water 1.2 K over the set point that climbs by more than a tenth of a kelvin an
// hour with every relay open for a quarter of an hour.
func TestWaterThatClimbsUnheatedAtItsBounds(t *testing.T) {
	climbing := newBenchThatClimbs(t)
	for _, c := range []struct {
		name string
		set  func(*Station)
		hot  bool
	}{
		{"all of it", func(*Station) {}, true},
		{"a hair under 1.2 K", func(s *Station) { s.water.hottest = at(30.6) - 1 }, false},
		{"open for less", func(s *Station) { s.run.open = 15*time.Minute - 1 }, false},
		{"hands", func(s *Station) { s.attended = true }, false},
		{"tests are wide", func(s *Station) { s.widened = 1 }, false},
		{"no believed probe", func(s *Station) { s.water.count = 0 }, false},
		{"it does not climb", func(s *Station) {
			still, err := s.newObserver()
			if err != nil {
				t.Fatal(err)
			}
			s.obs = still
		}, false},
	} {
		s := *climbing
		s.water.hottest, s.water.count, s.run.open, s.attended, s.widened = at(30.6), 2, 15*time.Minute, false, 0
		s.present = 0
		c.set(&s)
		if s.lookAtHeat(); s.present.has(BothWelded) != c.hot {
			t.Errorf("%s: climbs %v", c.name, !c.hot)
		}
	}
}

// newBenchThatClimbs is a station that has seen its water climb by 1.2 K/h with
// everything off for half an hour.
func newBenchThatClimbs(t *testing.T) *Station {
	r := newReady(t, tubSettings(), at(29.4))
	r.in.Health.Permit = false
	for k := range 1800 {
		v := 29.4 + 1.2*float64(k)/3600
		r.set(0, at(v))
		r.set(1, at(v))
		r.step()
	}
	if d := r.s.obs.Drift(); d < 0.5/3600 {
		t.Fatalf("the observer sees a drift of %v K/s", d)
	}
	return r.s
}
