package rig

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/sim/num"
)

// celsiusOf reads a probe in 1/16 °C after a conversion of its own.
func celsiusOf(t testing.TB, line *OneWire, p *Thermometer) float64 {
	t.Helper()
	convertAll(t, line)
	pad := scratchpad(t, line, p.Address())
	if !onewire.CheckCRC(pad[:]) {
		t.Fatalf("% x has a bad CRC", pad)
	}
	if byte(p.Address()) == familyS20 {
		half := int16(uint16(pad[1])<<8 | uint16(pad[0]))
		return float64(half>>1) - 0.25 + float64(16-int(pad[6]))/16
	}
	return float64(int16(uint16(pad[1])<<8|uint16(pad[0]))) / 16
}

// A first-order lag reaches 1 − 1/e of a step in its time constant, in steps of
// any length; the number is exact to the code.
func TestLagIsFirstOrder(t *testing.T) {
	for _, step := range []time.Duration{time.Second, 100 * time.Millisecond, 4 * time.Second} {
		line := NewOneWire("n", 1)
		p := hang(t, line, ThermometerSpec{Address: testAddresses[0], TimeConstant: 12 * time.Second}, 20)
		for range 12 * time.Second / step {
			p.Feel(30, step)
		}
		if want := 30 - 10*math.Exp(-1); math.Abs(p.Celsius()-want) > 1e-9 {
			t.Errorf("steps of %v: %.6f, want %.6f", step, p.Celsius(), want)
		}
	}
}

func TestErrorsOfAProbe(t *testing.T) {
	line := NewOneWire("n", 1)
	p := hang(t, line, ThermometerSpec{Address: testAddresses[0], Offset: 0.5, Slope: -0.05}, 30)
	if got := celsiusOf(t, line, p); got != 29 {
		t.Errorf("offset and slope: %v", got)
	}
	p.ReadsOff(2)
	if got := celsiusOf(t, line, p); got != 31 {
		t.Errorf("reads off: %v", got)
	}
	p.ReadsOff(0)
	line.At(10 * 24 * time.Hour)
	p.Drifts(1, line.Now()-2*24*time.Hour)
	if got := celsiusOf(t, line, p); got != 31 {
		t.Errorf("drifts 1 K a day for two days: %v", got)
	}
	p.Drifts(0, 0)
	p.Freezes(true)
	p.Feel(40, 0)
	if got := celsiusOf(t, line, p); got != 31 {
		t.Errorf("frozen: %v", got)
	}
	p.Freezes(false)
	p.Starves(true)
	if got := celsiusOf(t, line, p); got != 127.9375 {
		t.Errorf("starved: %v", got)
	}
	p.GivesPowerOnValue(true)
	if got := celsiusOf(t, line, p); got != 85 {
		t.Errorf("power-on value: %v", got)
	}
	// Without strong pull-up a probe that has no supply starves too.
	weak := hang(t, line, ThermometerSpec{Address: testAddresses[1], Parasite: true}, 25)
	if err := line.Tx([]byte{0xCC, 0x44}, nil, onewire.WeakPullup); err != nil {
		t.Fatal(err)
	}
	line.Wait(time.Second)
	if pad := scratchpad(t, line, weak.Address()); pad[0] != 0xFF || pad[1] != 0x07 {
		t.Errorf("weak pull-up: % x", pad)
	}
	if got := celsiusOf(t, line, weak); got != 25 {
		t.Errorf("strong pull-up: %v", got)
	}
}

// The whole range of every family, in steps that no code shares, comes back
// within half a code, and the ends are held.
func TestQuantisation(t *testing.T) {
	for _, a := range testAddresses {
		line := NewOneWire("n", 1)
		p := hang(t, line, ThermometerSpec{Address: a}, 0)
		for c := -56.0; c < 127; c += 0.17 {
			p.Feel(c, 0)
			want := min(max(c, -55), 125)
			if got := celsiusOf(t, line, p); math.Abs(got-want) > 0.03126 {
				t.Fatalf("%x: %v reads as %v", uint64(a), c, got)
			}
		}
		p.Feel(math.NaN(), 0)
		if got := celsiusOf(t, line, p); got != -55 {
			t.Errorf("%x: NaN reads as %v", uint64(a), got)
		}
	}
}

// Noise and the slow local difference have the standard deviations asked for,
// and the difference is remembered for its time: e^−1 after it.
func TestNoiseHasItsSize(t *testing.T) {
	line := NewOneWire("n", 1)
	p := hang(t, line, ThermometerSpec{Address: testAddresses[0], Noise: 0.5}, 25)
	quiet := hang(t, line, ThermometerSpec{Address: testAddresses[1], Local: 0.5, LocalTime: 50 * time.Second}, 25)
	quiet.Scatters(0)
	const n = 40000
	var sum, squares, local, lagged float64
	kept := make([]float64, n)
	for i := range n {
		d := celsiusOf(t, line, p) - 25
		sum += d
		squares += d * d
		quiet.Feel(25, time.Second)
		kept[i] = quiet.local
		local += quiet.local * quiet.local
		if i >= 50 {
			lagged += quiet.local * kept[i-50]
		}
	}
	// A sample of n has its standard deviation within 1/√(2n) of it, 0.4 %; the
	// slow one has only n/100 independent values, 3.5 %.
	if sd := math.Sqrt(squares / n); math.Abs(sd-0.5) > 0.015 || math.Abs(sum/n) > 0.015 {
		t.Errorf("noise %.4f about %.4f", sd, sum/n)
	}
	if sd := math.Sqrt(local / n); math.Abs(sd-0.5) > 0.08 {
		t.Errorf("local difference %.4f", sd)
	}
	if kept := lagged / local; math.Abs(kept-math.Exp(-1)) > 0.15 {
		t.Errorf("correlation %.3f after its time", kept)
	}
	p.Scatters(2)
	sum, squares = 0, 0
	for range n {
		d := celsiusOf(t, line, p) - 25
		squares += d * d
	}
	if sd := math.Sqrt(squares / n); math.Abs(sd-2.5) > 0.06 {
		t.Errorf("scatters by %.4f", sd)
	}
}

func TestSameSeedSameReadings(t *testing.T) {
	run := func(seed uint64) (codes [100]float64) {
		line := NewOneWire("n", seed)
		p, err := NewThermometer(ThermometerSpec{Address: testAddresses[0], Noise: 0.3, Local: 0.1, LocalTime: time.Minute}, seed)
		if err != nil {
			t.Fatal(err)
		}
		line.Attach(p)
		for i := range codes {
			p.Feel(25, time.Second)
			codes[i] = celsiusOf(t, line, p)
		}
		return codes
	}
	if run(1) != run(1) {
		t.Error("one seed gave two runs")
	}
	if run(1) == run(2) {
		t.Error("two seeds gave one run")
	}
}

func TestNewThermometerRefuses(t *testing.T) {
	good := testAddresses[0]
	for name, s := range map[string]ThermometerSpec{
		"family":        {Address: addressOf(0x26, 1)},
		"CRC":           {Address: good ^ 1<<60},
		"too few bits":  {Address: good, Bits: 8},
		"too many bits": {Address: good, Bits: 13},
		"pins":          {Address: good, Pins: 16},
		"noise":         {Address: good, Noise: -1},
		"time":          {Address: good, TimeConstant: -1},
	} {
		if _, err := NewThermometer(s, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The short way of a plain probe gives the bytes of the long one, whatever befell
// the probe before, and is taken by nobody else.
func TestPlainConversionIsAConversion(t *testing.T) {
	for _, spec := range []ThermometerSpec{
		{Noise: 0.05, Local: 0.02, LocalTime: time.Minute, TimeConstant: 9 * time.Second, Offset: 0.3, Slope: -0.01},
		{Bits: 11, Noise: 0.05}, {Parasite: true, Noise: 0.05}, {},
	} {
		spec.Address = testAddresses[0]
		short, err := NewThermometer(spec, 7)
		if err != nil {
			t.Fatal(err)
		}
		long, err := NewThermometer(spec, 7)
		if err != nil {
			t.Fatal(err)
		}
		noise, plain := num.NewNoise(3, 3), 0
		for s := range 4000 {
			now := time.Duration(s) * time.Second
			if change, yes := noise.Below(12), noise.Below(2) == 0; s%20 == 0 {
				for _, p := range []*Thermometer{short, long} {
					switch change {
					case 0:
						p.Vanishes(yes)
					case 1:
						p.Freezes(yes)
					case 2:
						p.GivesPowerOnValue(yes)
					case 3:
						p.Starves(yes)
					case 4:
						p.ReadsOff(3)
					case 5:
						p.Scatters(0.4)
					case 6:
						p.Drifts(float64(change), now)
					case 7:
						p.LosesPower()
					default: // all is well again
						p.Vanishes(false)
						p.Freezes(false)
						p.GivesPowerOnValue(false)
						p.Starves(false)
						p.ReadsOff(0)
						p.Scatters(0)
						p.Drifts(0, now)
					}
				}
			}
			celsius := noise.Between(-60, 130)
			if short.plain {
				plain++
			}
			short.Feel(celsius, time.Second)
			long.Feel(celsius, time.Second)
			there := convertEach([]*Thermometer{short}, now, true)
			long.convert(now, true)
			if short.pad != long.pad || short.readyAt != long.readyAt || there == long.vanished {
				t.Fatalf("%+v after %d s: % x, the long way % x", spec, s, short.pad, long.pad)
			}
		}
		if want := spec.Bits == 0 && !spec.Parasite; want != (plain > 1000) || !want && plain > 0 || plain == 4000 {
			t.Errorf("%+v: plain in %d of 4000 s", spec, plain)
		}
	}
}
