package ds248x_test

import (
	"errors"

	"periph.io/x/conn/v3/physic"

	"soakwarden/sim/rig"
)

// bridge is a DS2482-100 on a simulated I²C bus with a simulated 1-Wire line
// behind it: the commands of its data sheet, without timing.
type bridge struct {
	line    *rig.OneWire
	address uint16
	status  byte
	data    byte
	config  byte
	pointer byte
	resets  int
	fails   int  // so many transactions to come fail
	busy    bool // the line never becomes idle
	strong  bool // pull-up after the next byte
}

var errNack = errors.New("no acknowledge")

func (b *bridge) String() string                  { return "simulated I2C" }
func (b *bridge) SetSpeed(physic.Frequency) error { return nil }

func (b *bridge) Tx(address uint16, w, r []byte) error {
	if address != b.address {
		return errNack
	}
	if b.fails > 0 {
		b.fails--
		return errNack
	}
	if len(w) > 0 {
		if err := b.command(w); err != nil {
			return err
		}
	}
	for i := range r {
		switch b.pointer {
		case 0xE1:
			r[i] = b.data
		case 0xC3:
			r[i] = b.config
		default:
			r[i] = b.status
			if b.busy {
				r[i] |= 1
			}
		}
	}
	return nil
}

func (b *bridge) command(w []byte) error {
	b.pointer = 0xF0
	switch w[0] {
	case 0xF0:
		b.resets++
		b.status, b.config, b.strong = 0x18, 0, false
	case 0xE1:
		if w[1] != 0xF0 && w[1] != 0xE1 && w[1] != 0xC3 {
			return errNack // no such register in this type
		}
		b.pointer = w[1]
	case 0xD2:
		b.config, b.pointer = w[1]&0x0F, 0xC3
		b.strong = w[1]&4 != 0
		b.status &^= 0x10
	case 0xB4:
		b.status = 0x08
		if b.line.Reset() {
			b.status |= 2
		}
		if b.line.Shorted() {
			b.status |= 4
		}
	case 0xA5:
		b.line.Write(w[1], b.strong)
		b.strong = false
	case 0x96:
		b.data = b.line.Read()
	case 0x78:
		t, err := b.line.SearchTriplet(w[1] >> 7)
		if err != nil {
			return err
		}
		b.status = t.Taken << 7
		if !t.GotOne {
			b.status |= 0x40
		}
		if !t.GotZero {
			b.status |= 0x20
		}
	default:
		return errNack
	}
	return nil
}
