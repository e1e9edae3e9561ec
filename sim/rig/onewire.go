package rig

import (
	"encoding/binary"
	"fmt"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/sim/num"
)

// OneWire is a simulated 1-Wire bus. It is periph's onewire.BusSearcher, so
// that periph's own drivers run on it, and does what the line does: every
// device that is addressed drives it, and a zero wins.
//
// Its clock moves only by Wait and At. It is not for use by several goroutines.
type OneWire struct {
	name    string
	devices []*Thermometer
	next    *Thermometer // whom a cycle that asks in order addresses next
	twins   bool         // two have the same address
	plain   bool         // somebody hangs here, none of them twins, and the line is without faults
	clock   time.Duration
	noise   *num.Noise

	shorted, hung bool
	reportsShort  bool
	flipBelow     uint64 // a bit is flipped when a draw is below this

	state  lineState
	count  int    // bytes or bits of the state that have passed
	buffer []byte // of the command being written
}

// lineState is what the next byte on the line means.
type lineState uint8

const (
	lineIdle      lineState = iota // nobody listens until the next reset
	lineROM                        // a ROM command follows
	lineMatch                      // eight bytes of address follow
	lineSearch                     // triplets follow
	lineReadROM                    // addresses are read
	lineFunction                   // a function command follows
	lineReadPad                    // the scratchpad is read
	lineWritePad                   // alarm bytes and configuration follow
	lineConvert                    // read slots say whether it is done
	lineReadPower                  // read slots say who has a supply
)

// NewOneWire makes an empty bus. The seed is that of its bit errors.
func NewOneWire(name string, seed uint64) *OneWire {
	return &OneWire{name: name, noise: num.NewNoise(seed, 0x1B05), buffer: make([]byte, 0, 8)}
}

// Attach hangs a probe on the bus. Two of one address answer as one: a zero of
// either wins.
func (b *OneWire) Attach(t *Thermometer) {
	for _, other := range b.devices {
		b.twins = b.twins || other.spec.Address == t.spec.Address
	}
	if b.devices = append(b.devices, t); len(b.devices) > 1 {
		b.devices[len(b.devices)-2].after = t
	}
	t.after = b.devices[0]
	b.next = t.after
	b.sort()
}

// sort says whether the line is plain, after anything of that changed.
func (b *OneWire) sort() {
	b.plain = len(b.devices) > 0 && !b.twins && !b.shorted && !b.hung && b.flipBelow == 0
}

// Wait lets time pass on the bus: its conversions go on.
func (b *OneWire) Wait(span time.Duration) { b.clock += span }

// At moves the bus's clock to a moment, unless it is past it already.
func (b *OneWire) At(now time.Duration) { b.clock = max(b.clock, now) }

// Now is the bus's clock.
func (b *OneWire) Now() time.Duration { return b.clock }

// ShortsToGround makes the line read as zeros.
func (b *OneWire) ShortsToGround(yes bool) {
	b.shorted = yes
	b.sort()
}

// ReportsShort gives the bus an adapter that measures the line before it uses
// it, and says so when it is shorted.
func (b *OneWire) ReportsShort(yes bool) { b.reportsShort = yes }

// Hangs makes the adapter miss every deadline. No time passes meanwhile: the
// error comes at once and has a Timeout method.
func (b *OneWire) Hangs(yes bool) {
	b.hung = yes
	b.sort()
}

// FlipsBits makes each bit on the line wrong with the probability rate, 0 to 1.
func (b *OneWire) FlipsBits(rate float64) error {
	if !(rate >= 0 && rate <= 1) {
		return fmt.Errorf("bit error rate %g is not between 0 and 1", rate)
	}
	b.flipBelow = uint64(rate * (1 << 53))
	b.sort()
	return nil
}

// LosesPower takes the supply of every probe away for a moment.
func (b *OneWire) LosesPower() {
	for _, t := range b.devices {
		t.LosesPower()
	}
}

// String implements onewire.Bus.
func (b *OneWire) String() string { return "simulated bus " + b.name }

// lineError is an error of the line, by behaviour.
type lineError struct {
	text                  string
	empty, shorted, stuck bool
}

func (e *lineError) Error() string   { return e.text }
func (e *lineError) NoDevices() bool { return e.empty }
func (e *lineError) IsShorted() bool { return e.shorted }
func (e *lineError) BusError() bool  { return !e.stuck }
func (e *lineError) Timeout() bool   { return e.stuck }

var (
	errEmpty   = &lineError{text: "nobody answers the reset", empty: true}
	errShorted = &lineError{text: "data line is shorted to ground", shorted: true}
	errStuck   = &lineError{text: "adapter does not answer", stuck: true}
)

// Tx implements onewire.Bus: a reset, the bytes written, the bytes read.
//
// The two transactions that every cycle consists of are done in one piece when
// no bit error can fall into them; everything else goes byte by byte.
func (b *OneWire) Tx(w, r []byte, power onewire.Pullup) error {
	if b.plain {
		if len(w) == 10 && len(r) == 9 && w[0] == 0x55 && w[9] == 0xBE {
			t := b.next
			if t.spec.Address != onewire.Address(binary.LittleEndian.Uint64(w[1:])) {
				if t = b.find(w[1:9]); t == nil {
					return b.transact(w, r, power)
				}
			}
			if !t.vanished && b.clock >= t.readyAt {
				*(*[9]byte)(r) = t.pad
				b.next, b.state = t.after, lineIdle
				return nil
			}
		} else if len(w) == 2 && len(r) == 0 && w[0] == 0xCC && w[1] == 0x44 {
			if !convertEach(b.devices, b.clock, bool(power)) {
				return errEmpty
			}
			b.state = lineIdle
			return nil
		}
	}
	return b.transact(w, r, power)
}

// transact is a transaction byte by byte.
func (b *OneWire) transact(w, r []byte, power onewire.Pullup) error {
	if b.hung || b.shorted {
		return b.faulty(r)
	}
	if !b.Reset() {
		return errEmpty
	}
	for i, c := range w {
		b.Write(c, bool(power) && i == len(w)-1 && len(r) == 0)
	}
	for i := range r {
		r[i] = b.Read()
	}
	return nil
}

// faulty is a transaction on a line that is hung or shorted.
func (b *OneWire) faulty(r []byte) error {
	switch {
	case b.hung:
		return errStuck
	case b.reportsShort:
		return errShorted
	}
	clear(r)
	return nil
}

// find finds the probe of an address, or nil.
func (b *OneWire) find(rom []byte) *Thermometer {
	a := onewire.Address(binary.LittleEndian.Uint64(rom))
	for _, t := range b.devices {
		if t.spec.Address == a {
			return t
		}
	}
	return nil
}

func (b *OneWire) present() bool {
	for _, t := range b.devices {
		if !t.vanished {
			return true
		}
	}
	return false
}

// Search implements onewire.Bus with periph's own search.
func (b *OneWire) Search(alarmOnly bool) ([]onewire.Address, error) {
	return onewire.Search(b, alarmOnly)
}

// flip says whether the next bit on the line arrives wrong.
func (b *OneWire) flip() bool { return b.flipBelow != 0 && b.noise.Uint64()>>11 < b.flipBelow }

// garble gives a byte its bit errors.
func (b *OneWire) garble(c byte) byte {
	if b.flipBelow == 0 {
		return c
	}
	for bit := range 8 {
		if b.flip() {
			c ^= 1 << bit
		}
	}
	return c
}

var _ onewire.BusSearcher = &OneWire{}
