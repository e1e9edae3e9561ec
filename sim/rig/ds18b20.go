package rig

import (
	"errors"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/sim/num"
)

// The families that a Thermometer can be; the low byte of its address says so.
const (
	familyS20  = 0x10 // DS18S20: half degrees and a counter
	family1822 = 0x22
	familyB20  = 0x28
	family1825 = 0x3B // DS1825: four address pins in the configuration byte
	family28EA = 0x42
)

// ThermometerSpec is what a simulated probe is like. The zero value of
// everything but Address is a perfect 12-bit probe without lag.
//
// What real ones are like: time constant 7 to 20 s in stirred water, noise
// 0.027 to 0.039 K, offsets −0.04 to 1.10 K, slopes down to −0.03 K/K.
type ThermometerSpec struct {
	Address      onewire.Address
	TimeConstant time.Duration
	Offset       float64       // K, at 0 °C
	Slope        float64       // K of error for each K above 0 °C
	Noise        float64       // K, standard deviation of one conversion
	Local        float64       // K, standard deviation of the slow difference between here and the place's mean
	LocalTime    time.Duration // correlation time of Local
	Bits         uint8         // in its EEPROM; 0 is 12
	Pins         uint8         // address pins of a DS1825, 0 to 15
	Parasite     bool          // no supply of its own: converts only under strong pull-up
}

// Thermometer is one simulated probe of the DS18B20 family: what its place does
// to it, and the memory that the bus sees. Its memory is latched when a
// conversion starts; Feel is its physics and belongs to the bench's step.
type Thermometer struct {
	spec   ThermometerSpec
	noise  num.Noise
	felt   float64       // °C of the sensing element
	local  float64       // K
	step   time.Duration // negative before the first
	settle float64       // share of the way to its place in a step
	keep   float64       // of local in a step
	kick   float64       // K, new part of local in a step

	pad     [9]byte
	fixed   byte // CRC of the bytes that a conversion leaves alone
	eeprom  [3]byte
	readyAt time.Duration // end of the conversion, on the bus's clock

	matched, searching bool         // state of the bus protocol
	after              *Thermometer // who hangs next on the bus, the first after the last

	// Faults.
	vanished, frozen, powerOn, starved bool
	off, perDay                        float64
	driftFrom                          time.Duration
	plain                              bool    // none of those but an offset and scatter; 12 bits, own supply, no DS18S20
	spread                             float64 // K, standard deviation of one conversion with scatter
}

// NewThermometer makes a probe that has just been given power and has not
// converted yet. The same spec and seed give the same readings.
func NewThermometer(spec ThermometerSpec, seed uint64) (*Thermometer, error) {
	switch byte(spec.Address) {
	case familyS20, family1822, familyB20, family1825, family28EA:
	default:
		return nil, fmt.Errorf("address %#016x is of no thermometer family (10, 22, 28, 3b, 42 in its low byte)", uint64(spec.Address))
	}
	var rom [8]byte
	for i := range rom {
		rom[i] = byte(spec.Address >> (8 * i))
	}
	if !onewire.CheckCRC(rom[:]) {
		return nil, fmt.Errorf("address %#016x has a wrong CRC in its top byte", uint64(spec.Address))
	}
	if spec.Bits == 0 {
		spec.Bits = 12
	}
	if spec.Bits < 9 || spec.Bits > 12 || spec.Pins > 15 {
		return nil, errors.New("a thermometer has 9 to 12 bits and pins 0 to 15")
	}
	if spec.Noise < 0 || spec.Local < 0 || spec.TimeConstant < 0 || spec.LocalTime < 0 {
		return nil, errors.New("noise and times of a thermometer are not negative")
	}
	t := &Thermometer{spec: spec, noise: *num.NewNoise(seed, uint64(spec.Address)), step: -1, spread: spec.Noise}
	t.eeprom = [3]byte{0x4B, 0x46, (spec.Bits-9)<<5 | 0x1F}
	switch byte(spec.Address) {
	case family1825:
		t.eeprom[2] = t.eeprom[2]&^0x0F | spec.Pins
	case familyS20:
		t.eeprom[2] = 0xFF
	}
	t.LosesPower()
	return t, nil
}

// Address is the probe's ROM code.
func (t *Thermometer) Address() onewire.Address { return t.spec.Address }

// Feel lets the probe lie for a while at a place of that temperature in °C: the
// element follows with its time constant, and the place's own slow difference
// wanders (Ornstein–Uhlenbeck). The first call settles it there.
func (t *Thermometer) Feel(celsius float64, span time.Duration) {
	if span != t.step {
		t.pace(celsius, span)
	}
	t.follow(celsius)
	if t.spec.Local > 0 {
		t.wander(t.noise.Uint64())
	}
}

// follow moves the element by a step.
func (t *Thermometer) follow(celsius float64) { t.felt += float64(t.settle * (celsius - t.felt)) }

// wander moves the place's own difference by a step.
func (t *Thermometer) wander(random uint64) {
	t.local = float64(t.keep*t.local) + float64(t.kick*bell(random))
}

// pace makes ready for steps of another length.
func (t *Thermometer) pace(celsius float64, span time.Duration) {
	if t.step < 0 {
		t.felt = celsius
		t.local = float64(t.spec.Local * bell(t.noise.Uint64()))
	}
	t.step = span
	t.settle, t.keep, t.kick = 1, 0, t.spec.Local
	if t.spec.TimeConstant > 0 {
		t.settle = 1 - num.Exp(-span.Seconds()/t.spec.TimeConstant.Seconds())
	}
	if t.spec.LocalTime > 0 {
		t.keep = num.Exp(-span.Seconds() / t.spec.LocalTime.Seconds())
		t.kick = t.spec.Local * math.Sqrt(1-float64(t.keep*t.keep))
	}
}

// Celsius is the temperature of the sensing element, without its errors.
func (t *Thermometer) Celsius() float64 { return t.felt }

// Vanishes takes the probe off the bus, or puts it back with its power lost.
func (t *Thermometer) Vanishes(yes bool) {
	if t.vanished && !yes {
		t.LosesPower()
	}
	t.vanished = yes
	t.sort()
}

// sort says whether the probe is plain, after anything of that changed.
func (t *Thermometer) sort() {
	t.plain = byte(t.spec.Address) != familyS20 && t.pad[4]&0x60 == 0x60 && !t.spec.Parasite &&
		!t.vanished && !t.frozen && !t.powerOn && !t.starved && t.perDay == 0
}

// Freezes makes the probe repeat the last code that it converted.
func (t *Thermometer) Freezes(yes bool) {
	t.frozen = yes
	t.sort()
}

// GivesPowerOnValue makes it lose its power in every conversion.
func (t *Thermometer) GivesPowerOnValue(yes bool) {
	t.powerOn = yes
	t.sort()
}

// Starves makes its conversions fail for want of current.
func (t *Thermometer) Starves(yes bool) {
	t.starved = yes
	t.sort()
}

// ReadsOff adds so many kelvin to what it reads; 0 ends it.
func (t *Thermometer) ReadsOff(kelvin float64) { t.off = kelvin }

// Scatters adds noise of that standard deviation in kelvin; 0 ends it.
func (t *Thermometer) Scatters(kelvin float64) { t.spread = t.spec.Noise + kelvin }

// Drifts lets its error grow from the moment now, in kelvin a day; 0 ends it.
func (t *Thermometer) Drifts(kelvinADay float64, now time.Duration) {
	t.perDay, t.driftFrom = kelvinADay, now
	t.sort()
}

// LosesPower takes the supply away for a moment: the memory holds what the
// EEPROM says and the power-on value, and the alarm bytes are as stored.
func (t *Thermometer) LosesPower() {
	t.pad[2], t.pad[3], t.pad[4] = t.eeprom[0], t.eeprom[1], t.eeprom[2]
	t.pad[5], t.pad[7] = 0xFF, 0x10
	t.readyAt = 0
	t.sum()
	t.latchPowerOn()
}

func (t *Thermometer) latchPowerOn() {
	if byte(t.spec.Address) == familyS20 {
		t.latch(0xAA, 0x0C)
	} else {
		t.latch(0x550, 0x0C)
	}
}

// convertEach is convert of every probe of a bus; it says whether any is there.
func convertEach(probes []*Thermometer, now time.Duration, strong bool) (any bool) {
	for _, t := range probes {
		if !t.plain || now < t.readyAt {
			t.convert(now, strong)
			any = any || !t.vanished
			continue
		}
		// What nearly every conversion is, without a call.
		any = true
		t.readyAt = now + finest
		e := t.senses()
		if t.spread > 0 {
			e += float64(t.spread * bell(t.noise.Uint64()))
		}
		code := uint16(quantise(e))
		low, high := byte(code), byte(code>>8)
		t.pad[0], t.pad[1], t.pad[6] = low, high, 0x10-low&0x0F
		t.pad[8] = t.fixed ^ crcLow[low] ^ crcSecond[high]
	}
	return any
}

// convert latches the temperature at now. Frozen, it keeps what it has.
func (t *Thermometer) convert(now time.Duration, strong bool) {
	if t.vanished || now < t.readyAt {
		return
	}
	t.readyAt = now + t.conversion()
	switch {
	case t.powerOn:
		t.latchPowerOn()
		return
	case t.frozen:
		return
	case t.starved || t.spec.Parasite && !strong:
		t.latch(0x07FF, 0x0C)
		return
	}
	e := t.senses()
	if t.spread > 0 {
		e += float64(t.spread * bell(t.noise.Uint64()))
	}
	if t.perDay != 0 {
		e += float64(t.perDay * (float64(now-t.driftFrom) / float64(24*time.Hour)))
	}
	code := quantise(e)
	if byte(t.spec.Address) == familyS20 {
		half := (code + 4) >> 3
		t.latch(uint16(half), byte(half>>1*16+12-code))
		return
	}
	code &^= int16(1)<<(3-t.pad[4]>>5&3) - 1
	t.latch(uint16(code), 0x10-byte(code)&0x0F)
}

// senses is what the probe reads but for noise, drift and steps, °C.
func (t *Thermometer) senses() float64 {
	return t.felt + t.local + t.spec.Offset + t.off + float64(t.spec.Slope*t.felt)
}

// quantise is the nearest code of 1/16 °C that the probe can give. The sum is
// positive before it is cut, so that cutting rounds down.
func quantise(celsius float64) int16 {
	const coldest, hottest = -55 * 16, 125 * 16
	above := float64(celsius*16) + (0.5 - coldest)
	switch {
	case !(above > 0): // a NaN goes here too
		return coldest
	case above >= hottest-coldest:
		return hottest
	}
	return int16(int32(above)) + coldest
}

// finest is how long a conversion of 12 bits takes, and every one of a DS18S20.
const finest = 750 * time.Millisecond

func (t *Thermometer) conversion() time.Duration {
	if byte(t.spec.Address) == familyS20 {
		return finest
	}
	return finest >> (3 - t.pad[4]>>5&3)
}

// latch writes the bytes that a conversion changes, and the CRC.
func (t *Thermometer) latch(temperature uint16, remain byte) {
	low, high := byte(temperature), byte(temperature>>8)
	t.pad[0], t.pad[1], t.pad[6] = low, high, remain
	t.pad[8] = t.fixed ^ crcFirst[low] ^ crcSecond[high] ^ crcSeventh[remain]
}

// sum computes the CRC anew after the other bytes changed.
func (t *Thermometer) sum() {
	fixed := t.pad
	fixed[0], fixed[1], fixed[6] = 0, 0, 0
	t.fixed = crc8(fixed[:8])
	t.latch(uint16(t.pad[1])<<8|uint16(t.pad[0]), t.pad[6])
	t.sort()
}

// alarmed says whether it answers an alarm search: bits 11 to 4 of the
// temperature against the alarm bytes (data sheet DS18B20, alarm signalling).
func (t *Thermometer) alarmed() bool {
	whole := int8(t.pad[1]<<4 | t.pad[0]>>4)
	if byte(t.spec.Address) == familyS20 {
		whole = int8(t.pad[1]<<7 | t.pad[0]>>1)
	}
	return whole >= int8(t.pad[2]) || whole <= int8(t.pad[3])
}

// bell is a number of mean 0 and standard deviation 1 from 64 random bits: the
// sum of eight bytes, whose variance is 8·(256² − 1)/12. It ends at ±4.9.
func bell(u uint64) float64 {
	const byteSpread = 1 / 209.02153 // √43690
	even := u & 0x00FF00FF00FF00FF
	pairs := even + (u-even)>>8
	sum := pairs * 0x0001000100010001 >> 48
	return float64(int64(sum)-8*255/2) * byteSpread
}
