package rig

import "periph.io/x/conn/v3/onewire"

// The line byte by byte, as a bridge chip drives it.

// Reset pulls the line low and says whether somebody answers. A shorted line
// looks as if somebody did.
func (b *OneWire) Reset() bool {
	for _, t := range b.devices {
		t.matched, t.searching = false, false
	}
	b.state, b.count, b.buffer = lineROM, 0, b.buffer[:0]
	return b.shorted || b.present()
}

// Shorted says whether the line is held at ground, for adapters that measure it.
func (b *OneWire) Shorted() bool { return b.shorted }

// Write sends a byte. A strong pull-up follows it when strong is set.
func (b *OneWire) Write(c byte, strong bool) {
	if b.shorted {
		return
	}
	c = b.garble(c)
	switch b.state {
	case lineROM:
		b.romCommand(c)
	case lineMatch:
		if b.buffer = append(b.buffer, c); len(b.buffer) == 8 {
			b.match()
		}
	case lineFunction:
		b.function(c, strong)
	case lineWritePad:
		b.writePad(c)
	}
}

func (b *OneWire) romCommand(c byte) {
	switch c {
	case 0x55:
		b.state = lineMatch
	case 0xCC:
		b.each(func(t *Thermometer) { t.matched = true })
		b.state = lineFunction
	case 0x33:
		b.each(func(t *Thermometer) { t.matched = true })
		b.state = lineReadROM
	case 0xF0, 0xEC:
		b.each(func(t *Thermometer) { t.searching = c == 0xF0 || t.alarmed() })
		b.state = lineSearch
	default:
		b.state = lineIdle
	}
}

// each calls do for every probe that is there.
func (b *OneWire) each(do func(*Thermometer)) {
	for _, t := range b.devices {
		if !t.vanished {
			do(t)
		}
	}
}

func (b *OneWire) match() {
	var a onewire.Address
	for i, c := range b.buffer {
		a |= onewire.Address(c) << (8 * i)
	}
	b.each(func(t *Thermometer) { t.matched = t.spec.Address == a })
	b.state, b.buffer = lineFunction, b.buffer[:0]
}

func (b *OneWire) function(c byte, strong bool) {
	b.state, b.count = lineIdle, 0
	switch c {
	case 0x44:
		b.matched(func(t *Thermometer) { t.convert(b.clock, strong) })
		b.state = lineConvert
	case 0xBE:
		b.state = lineReadPad
	case 0x4E:
		b.state = lineWritePad
	case 0x48:
		b.matched(func(t *Thermometer) { copy(t.eeprom[:], t.pad[2:5]) })
	case 0xB8:
		b.matched(func(t *Thermometer) {
			copy(t.pad[2:5], t.eeprom[:])
			t.sum()
		})
	case 0xB4:
		b.state = lineReadPower
	}
}

// matched calls do for every addressed probe that is not converting.
func (b *OneWire) matched(do func(*Thermometer)) {
	b.each(func(t *Thermometer) {
		if t.matched && b.clock >= t.readyAt {
			do(t)
		}
	})
}

// writePad takes the alarm bytes and the configuration, of which only the
// resolution can be changed; a DS18S20 has no configuration.
func (b *OneWire) writePad(c byte) {
	place := 2 + b.count
	b.count++
	if place == 4 {
		b.state = lineIdle
	}
	b.matched(func(t *Thermometer) {
		switch {
		case place < 4:
			t.pad[place] = c
		case byte(t.spec.Address) != familyS20:
			t.pad[4] = t.pad[4]&^0x60 | c&0x60
		}
		t.sum()
	})
}

// Read receives a byte: the wired AND of what every addressed probe sends. One
// that still converts holds the line low.
func (b *OneWire) Read() byte {
	if b.shorted {
		return 0
	}
	c := byte(0xFF)
	b.each(func(t *Thermometer) {
		if t.matched {
			c &= b.sends(t)
		}
	})
	b.count++
	return b.garble(c)
}

func (b *OneWire) sends(t *Thermometer) byte {
	switch b.state {
	case lineReadROM:
		if b.count < 8 {
			return byte(t.spec.Address >> (8 * b.count))
		}
	case lineReadPad, lineConvert:
		if b.clock < t.readyAt {
			return 0
		}
		if b.state == lineReadPad && b.count < 9 {
			return t.pad[b.count]
		}
	case lineReadPower:
		if t.spec.Parasite {
			return 0
		}
	}
	return 0xFF
}

// SearchTriplet implements onewire.BusSearcher: every probe still in the search
// sends a bit of its address and the complement; those that differ from the
// direction taken leave. With nobody left neither bit is seen.
func (b *OneWire) SearchTriplet(direction byte) (onewire.TripletResult, error) {
	if b.hung {
		return onewire.TripletResult{}, errStuck
	}
	if b.shorted {
		if b.reportsShort {
			return onewire.TripletResult{}, errShorted
		}
		return onewire.TripletResult{GotZero: true, GotOne: true, Taken: direction & 1}, nil
	}
	var result onewire.TripletResult
	if b.state == lineSearch && b.count < 64 {
		b.each(func(t *Thermometer) {
			if t.searching {
				one := t.spec.Address>>b.count&1 == 1
				result.GotOne = result.GotOne || one
				result.GotZero = result.GotZero || !one
			}
		})
	}
	result.GotZero = result.GotZero != b.flip()
	result.GotOne = result.GotOne != b.flip()
	switch {
	case result.GotZero && result.GotOne:
		result.Taken = direction & 1
	case result.GotZero:
		result.Taken = 0
	default:
		result.Taken = 1
	}
	taken := result.Taken == 1
	b.each(func(t *Thermometer) {
		t.searching = t.searching && t.spec.Address>>b.count&1 == 1 == taken
	})
	b.count++
	return result, nil
}
