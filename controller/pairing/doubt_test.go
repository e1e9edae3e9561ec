package pairing

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// pair is two proven tubs: what drives the water of each in a second, and the
// flags that their stations would raise.
type pair struct {
	turns
	crossed bool                                       // each pad warms the other's probe
	sun     func(now time.Duration) physic.Temperature // on the first tub, in a second
	off     bool                                       // the second asks for no heat
	heat    time.Duration                              // of the second
}

// The tubs warm 3.6 K in an hour of heat, 1 mK a second, and lose 1.8.
func newPair() *pair {
	p := &pair{turns: turns{tubs: make([]Station, 2), out: make([]Verdict, 2)}}
	for i := range p.tubs {
		p.tubs[i] = Station{Proven: true, Valid: true, Water: start, Gain: 3600 * mK}
	}
	p.tubs[0].Unasked, p.tubs[1].Misses = true, true
	return p
}

func (p *pair) run(seconds int) {
	for range seconds {
		p.tubs[1].Heating = p.out[1].Permit && !p.off
		for i := range p.tubs {
			p.tubs[i].Water -= mK / 2
		}
		if p.tubs[1].Heating {
			p.heat += time.Second
			if p.crossed {
				p.tubs[0].Water += mK
			} else {
				p.tubs[1].Water += mK
			}
		}
		if p.sun != nil {
			p.tubs[0].Water += p.sun(p.now)
		}
		p.step(1)
	}
}

func TestProbesPutBackCrossedAreFoundWhileBothTubsAreProven(t *testing.T) {
	p := newPair()
	p.crossed = true
	for p.now < time.Hour && !p.out[0].Crossed {
		p.run(1)
	}
	if !p.out[0].Crossed || !p.out[1].Crossed {
		t.Fatal("the crossing was not found within an hour")
	}
	// Twice six codes of 62.5 mK (DS18B20 data sheet) at 1 mK a second.
	if want := 2 * 375 * time.Second; p.heat < want || p.heat > want+5*time.Second {
		t.Errorf("asked with %v of heat, want %v", p.heat, want)
	}
}

// The pad whose tub misses heat is latched off; the other is asked whether it
// warms the latched tub's water, and found crossed or not by the answer.
func TestALatchedPadIsNotAskedButTheOther(t *testing.T) {
	for _, crossed := range []bool{true, false} {
		p := newPair()
		p.tubs[1].Latched = true
		var heat time.Duration
		for p.now < time.Hour && !p.out[0].Crossed {
			p.step(1)
			heats := p.out[0].Permit
			p.tubs[0].Heating = heats
			for i := range p.tubs {
				p.tubs[i].Water -= mK / 2
			}
			if heats {
				heat += time.Second
			}
			if heats && crossed {
				p.tubs[1].Water += mK
			} else if heats {
				p.tubs[0].Water += mK
			}
			if p.out[1].Permit && p.bench.doubt.phase != asksNothing {
				t.Fatal("the latched pad has a permit")
			}
			if !crossed && p.now > 40*time.Minute {
				break
			}
		}
		if p.out[0].Crossed != crossed || p.out[1].Crossed != crossed {
			t.Errorf("crossed %v: seen %v and %v after %v", crossed, p.out[0].Crossed, p.out[1].Crossed, p.now)
		}
		if most := 2*375*time.Second + 5*time.Second; crossed && heat > most {
			t.Errorf("a tub that reads another's water was heated for %v before it was found", heat)
		}
	}
}

func TestSunAndALidDoNotCross(t *testing.T) {
	for name, sun := range map[string]func(time.Duration) physic.Temperature{
		"steady": func(time.Duration) physic.Temperature { return 2 * mK },
		"ends": func(now time.Duration) physic.Temperature {
			if now > 12*time.Minute {
				return 0
			}
			return 2 * mK
		},
		"comes with the first heat only": func(now time.Duration) physic.Temperature {
			if now > 15*time.Minute && now < 27*time.Minute {
				return 2 * mK
			}
			return 0
		},
	} {
		p := newPair()
		p.sun = sun
		for range 2 * 3600 {
			p.run(1)
			if p.out[0].Crossed || p.out[1].Crossed {
				t.Fatalf("%s: a crossing was seen after %v", name, p.now)
			}
		}
	}
}

func TestADoubtTakesHeatAndGivesBackThePermit(t *testing.T) {
	p := newPair()
	p.run(2)
	if p.out[0].Permit || p.out[1].Permit {
		t.Fatal("the pads of a doubt may heat while it settles")
	}
	p.tubs[0].Unasked, p.tubs[1].Misses = false, false
	p.run(40 * 60)
	if !p.out[0].Permit || !p.out[1].Permit {
		t.Error("a doubt that was answered still holds a permit")
	}
	// A doubt over, the same pair is left alone for half an hour.
	p.tubs[0].Unasked, p.tubs[1].Misses = true, true
	quiet := p.bench.doubt.quiet
	p.run(int((quiet-p.now)/time.Second) - 1)
	if !p.out[1].Permit {
		t.Error("the same question was asked again at once")
	}
	p.run(2)
	if p.out[1].Permit {
		t.Error("the same question was never asked again")
	}
}

func TestADoubtEnds(t *testing.T) {
	for name, do := range map[string]func(*pair){
		"when the rising water cannot be believed":  func(p *pair) { p.tubs[0].Valid = false },
		"when the heated water cannot be believed":  func(p *pair) { p.tubs[1].Valid = false },
		"when the rising tub is to be proven anew":  func(p *pair) { p.tubs[0].Proven = false },
		"when the heated tub is to be proven anew":  func(p *pair) { p.tubs[1].Proven = false },
		"when the pad in doubt asks for no heat":    func(p *pair) { p.off = true; p.run(36 * 60) },
		"when a person says that the wiring is new": func(p *pair) { p.bench.Forget() },
	} {
		p := newPair()
		p.crossed = true
		p.run(60)
		if p.bench.doubt.phase == asksNothing {
			t.Fatalf("%s: no doubt began", name)
		}
		p.tubs[0].Unasked, p.tubs[1].Misses = false, false
		do(p)
		p.run(2)
		if p.bench.doubt.phase != asksNothing || p.out[0].Crossed {
			t.Errorf("%s: it goes on", name)
		}
	}
}

func TestNoDoubtWithoutBothSigns(t *testing.T) {
	for name, do := range map[string]func(*pair){
		"no tub rises":         func(p *pair) { p.tubs[0].Unasked = false },
		"no tub misses heat":   func(p *pair) { p.tubs[1].Misses = false },
		"the rising one heats": func(p *pair) { p.tubs[0].Heating = true },
		"one tub has both":     func(p *pair) { p.tubs[0].Misses, p.tubs[1].Misses = true, false },
		"a turn is under way": func(p *pair) {
			p.tubs = append(p.tubs, Station{Valid: true, Water: start, Gain: 3600 * mK})
			p.out = append(p.out, Verdict{})
		},
	} {
		p := newPair()
		do(p)
		for range 600 {
			heating := p.tubs[0].Heating
			p.run(1)
			p.tubs[0].Heating = heating
		}
		if p.bench.doubt.phase != asksNothing {
			t.Errorf("%s: a doubt began", name)
		}
	}
}

func TestATurnWaitsForTheDoubt(t *testing.T) {
	p := newPair()
	p.tubs = append(p.tubs, Station{Proven: true, Valid: true, Water: start, Gain: 3600 * mK})
	p.out = append(p.out, Verdict{})
	p.run(60)
	p.tubs[2].Proven = false
	p.run(60)
	if p.out[2].Permit {
		t.Error("an unproven tub heats while a doubt is asked")
	}
}
