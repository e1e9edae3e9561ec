package sensors

import (
	"encoding/binary"
	"fmt"
	"time"

	"periph.io/x/conn/v3/onewire"
)

// ROM and function commands of the data sheets.
const (
	cmdSkipROM         = 0xCC
	cmdMatchROM        = 0x55
	cmdConvert         = 0x44
	cmdReadScratchpad  = 0xBE
	cmdWriteScratchpad = 0x4E
)

// OneWire reads probes through any bus of periph. It never writes EEPROM.
//
// The commands are its own ten bytes, kept between cycles, because periph's
// helpers make new ones for each call.
type OneWire struct {
	bus     onewire.Bus
	convert []byte
	command [13]byte
	bits    uint8 // the finest resolution seen, zero before anything was read
	seen    uint8 // the finest resolution in this cycle
	config  byte  // the last configuration byte whose CRC was right
}

// NewOneWire makes a source of a periph bus. The caller serialises: only one
// goroutine may use the bus.
func NewOneWire(bus onewire.Bus) *OneWire {
	return &OneWire{
		bus:     bus,
		convert: []byte{cmdSkipROM, cmdConvert},
		config:  0x7F,
	}
}

// String is the name of the bus.
func (o *OneWire) String() string { return o.bus.String() }

// Start starts a conversion in all probes at once, with the strong pull-up that
// probes without a supply need, and asks for the time that the finest
// resolution takes: 750 ms at 12 bits, half for each bit less (data sheet
// DS18B20, table 2). Before anything was read it assumes 12 bits.
func (o *OneWire) Start() (Conversion, error) {
	if o.seen != 0 {
		o.bits, o.seen = o.seen, 0
	}
	if err := o.bus.Tx(o.convert, nil, onewire.StrongPullup); err != nil {
		return Conversion{}, err
	}
	return Conversion{Wait: ConversionTime(o.bits)}, nil
}

// Read reads the scratchpad of one probe.
//
//go:noinline
func (o *OneWire) Read(a onewire.Address, pad *[9]byte) error {
	if err := o.bus.Tx(o.address(a, cmdReadScratchpad), pad[:], onewire.WeakPullup); err != nil {
		return err
	}
	// A probe that lost its power falls back to what its EEPROM says, so the
	// resolution is looked at in every cycle, until one is as fine as can be.
	// What cannot be understood counts as the finest, which waits longest.
	if o.seen == finestBits {
		return nil
	}
	bits := uint8(finestBits)
	if Family(a) != DS18S20 {
		if pad[4] != o.config && pad[4]&0x90 == 0x10 && crcPad(pad) == pad[8] {
			o.config = pad[4]
		}
		if pad[4] == o.config {
			bits = 9 + pad[4]>>5&3
		}
	}
	o.seen = max(o.seen, bits)
	return nil
}

// Search lists every device of the bus.
func (o *OneWire) Search() ([]onewire.Address, error) { return o.bus.Search(false) }

// SetResolution makes a probe convert with 9 to 12 bits until it loses its
// power. It leaves the EEPROM and the alarm bytes alone, and reads back.
func (o *OneWire) SetResolution(a onewire.Address, bits uint8) error {
	if bits < 9 || bits > finestBits {
		return fmt.Errorf("resolution of %d bits does not exist; choose 9 to 12", bits)
	}
	if Family(a) == DS18S20 {
		return fmt.Errorf("probe %s: a DS18S20 has one resolution only", FormatROM(a))
	}
	var pad [9]byte
	if err := o.Read(a, &pad); err != nil {
		return err
	}
	if crcPad(&pad) != pad[8] || pad == [9]byte{} {
		return fmt.Errorf("probe %s: scratchpad cannot be read", FormatROM(a))
	}
	want := pad[4]&^0x60 | (bits-9)<<5
	if want == pad[4] {
		return nil
	}
	command := append(o.address(a, cmdWriteScratchpad), pad[2], pad[3], want)
	if err := o.bus.Tx(command, nil, onewire.WeakPullup); err != nil {
		return err
	}
	if err := o.Read(a, &pad); err != nil {
		return err
	}
	if pad[4] != want {
		return fmt.Errorf("probe %s did not take the resolution; some clones cannot", FormatROM(a))
	}
	return nil
}

// address is the command of match ROM, the address and the function.
func (o *OneWire) address(a onewire.Address, function byte) []byte {
	c := &o.command
	c[0], c[9] = cmdMatchROM, function
	binary.LittleEndian.PutUint64(c[1:9], uint64(a))
	return c[:10]
}

// ConversionTime is the longest that a conversion of so many bits takes; for
// anything but 9 to 12 it is that of 12 (data sheet DS18B20, table 2).
func ConversionTime(bits uint8) time.Duration {
	const finest = 750 * time.Millisecond
	if bits < 9 || bits > finestBits {
		return finest
	}
	return finest >> (finestBits - bits)
}

var _ Source = &OneWire{}
