package controller

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// plant is the simplest tub that can tell a story: a pad with one lag, water
// with one temperature, a room. It is a test double and no model; what the
// water really does is the business of the tub's model.
type plant struct {
	water, room float64 // °C
	pad         float64 // 0…1, power that arrives
	gain, loss  float64 // K/s, 1/s
	coast       float64 // s
	sun         float64 // K/s
	guardOff    float64 // K
	wild        uint32

	padWelded, seriesWelded, padDead bool
	silent, odd, standing            [4]bool
	codes                            [4]int16
}

func newPlant(water float64) *plant {
	return &plant{water: water, room: 22, gain: 0.00059, loss: 0.00059 * 0.3 / 7.4, coast: 90, wild: 1}
}

// second lets one second pass under a command.
func (p *plant) second(c Command) {
	closed := (c.Pad || p.padWelded) && (c.Series || p.seriesWelded) && !p.padDead
	u := 0.0
	if closed {
		u = 1
	}
	p.pad += (u - p.pad) / p.coast
	p.water += float64(p.gain*p.pad) - float64(p.loss*(p.water-p.room)) + p.sun
}

// noise is a small, even scatter, the same in every run.
func (p *plant) noise() float64 {
	p.wild = p.wild*1664525 + 1013904223
	return float64(p.wild>>8)/(1<<24) - 0.5
}

// read fills in readings of control, guard, floor and room, as far as the
// station has them.
func (p *plant) read(in *Input, set *Settings) {
	for i := range in.Readings {
		v := p.water + float64(0.08*p.noise())
		switch set.Probes[i].Role {
		case RoleGuard:
			v += p.guardOff
		case RoleFloor:
			v += float64(3 * p.pad)
		case RoleRoom:
			v = p.room
		}
		code := int16(v*16 + 0.5)
		if p.standing[i] {
			code = p.codes[i]
		}
		p.codes[i] = code
		in.Readings[i] = Reading{
			Value: physic.ZeroCelsius + physic.Temperature(code)*physic.Celsius/16,
			At:    in.Now, Code: code, Quality: Good,
		}
		if p.silent[i] {
			in.Readings[i] = Reading{Quality: Bad, Flaw: Absent}
		}
		if p.odd[i] {
			in.Readings[i] = Reading{Quality: Bad, Flaw: PowerOnValue}
		}
	}
}

func at(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e6)*physic.MicroKelvin
}

// tubSettings are those of an invented tub of about 8 litres over a 20 W pad.
func tubSettings() Settings {
	return Settings{
		Kind: Tub, SetPoint: at(29.4), Differential: 280 * MilliKelvin, TooCold: at(26.6), Cutoff: at(31.6),
		FloorBound: at(35), RoomWarmest: at(27), RampPerHour: 2 * Kelvin,
		Probes: []ProbeSettings{
			{Role: RoleControl, Uncertainty: 500 * MilliKelvin, Calibrated: true},
			{Role: RoleGuard, Uncertainty: 500 * MilliKelvin, Calibrated: true},
		},
		HasPad: true, HasSeries: true,
		Limits: Limits{
			GainPerHour: 2124 * MilliKelvin, LossPerHour: 600 * MilliKelvin, Coast: 90 * time.Second,
			LongestOn: 8 * time.Hour, FloorRise: 3 * Kelvin, Flux: 180, Depth: 60 * physic.MilliMetre,
		},
	}
}

// bench is one station with its plant.
type bench struct {
	station *Station
	plant   *plant
	in      Input
	out     *Output
	now     time.Duration
	hear    func(*Event)
}

func newBench(set Settings, water float64) *bench {
	s, err := New(set)
	if err != nil {
		panic(err)
	}
	if err := s.Restore(nil); err != nil {
		panic(err)
	}
	b := &bench{station: s, plant: newPlant(water), out: &Output{}}
	b.in.Readings = make([]Reading, len(set.Probes))
	b.in.Health = Health{StoreProven: true, Permit: true}
	return b
}

// tick runs one second.
func (b *bench) tick(acts ...Act) *Output {
	b.now += time.Second
	b.plant.second(b.out.Command)
	b.in.Now = b.now
	b.in.Acts = acts
	b.plant.read(&b.in, &b.station.set)
	b.out = b.station.Step(&b.in)
	if b.hear != nil {
		for i := range b.out.Events {
			b.hear(&b.out.Events[i])
		}
	}
	return b.out
}

// run lets time pass.
func (b *bench) run(d time.Duration) {
	for range int(d / time.Second) {
		b.tick()
	}
}

// until runs until a condition holds, and says after how long; -1 when the
// limit came first.
func (b *bench) until(limit time.Duration, held func() bool) time.Duration {
	begin := b.now
	for b.now-begin < limit {
		b.tick()
		if held() {
			return b.now - begin
		}
	}
	return -1
}

func hands(k ActKind) Act { return Act{Kind: k, Place: Board, Number: 1} }
