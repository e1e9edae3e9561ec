package sensors

import (
	"encoding/binary"

	"soakwarden/controller"
)

// The families whose scratchpad this package can judge.
const (
	DS18S20  byte = 0x10
	DS1822   byte = 0x22
	DS18B20  byte = 0x28
	DS1825   byte = 0x3B
	DS28EA00 byte = 0x42
)

// Codes that the data sheets and the kernel's w1_therm.rst single out, in
// 1/16 °C, and the ends of the measuring range (data sheet DS18B20, table 1).
const (
	codePowerOn  int16 = 0x0550 // +85 °C before the first conversion
	codeLowPower int16 = 0x07FF // +127.94 °C: the conversion starved
	codeColdest  int16 = -55 * 16
	codeHottest  int16 = 125 * 16
)

// Known says whether Judge understands the scratchpads of a family.
func Known(family byte) bool {
	switch family {
	case DS18S20, DS1822, DS18B20, DS1825, DS28EA00:
		return true
	}
	return false
}

// Judge says what the nine raw bytes of a scratchpad mean: the code in 1/16 °C
// with the bits masked that the resolution leaves undefined, the resolution in
// bits (9 to 12), and what is wrong with them. With any flaw the code is zero
// and means nothing.
//
// The CRC alone is not enough: nine zero bytes pass it, and they are what a bus
// shorted to ground gives. So the bytes that the data sheets fix are looked at
// too. One exact 85 °C is refused although water could have it: no station may.
func Judge(pad [9]byte, family byte) (code int16, bits uint8, flaw controller.Flaw) {
	return judge(&pad, family)
}

// border is what stood around the temperature when a scratchpad was last found
// good: the bytes that a conversion leaves alone, and what they add to the CRC.
// They hardly ever change, and while they do not only the temperature is left to
// judge. The zero value has seen nothing.
type border struct {
	fixed     uint64 // bytes 2 to 5 and 7, where they stand
	crc       byte   // what they add
	bits      uint8  // 0 before a good one was seen
	undefined int16  // bits of the code that the resolution leaves so
}

// aside is where the bytes of a border stand in the first eight, read as a
// little-endian number: all but the temperature and its remainder.
const aside = 0xFF00_FFFF_FFFF_0000

// code judges a scratchpad, its first eight bytes as a number, whose bytes beside
// the temperature are those of the border. What it is sure of is what Judge says:
// every value that is singled out lies higher.
func (b *border) code(word uint64, sum byte) (code int16, sure bool) {
	code = int16(word) &^ b.undefined
	return code, b.bits != 0 && word&aside == b.fixed && code >= codeColdest && code < codePowerOn &&
		b.crc^crcAt[0][byte(word)]^crcAt[1][byte(word>>8)]^crcAt[6][byte(word>>48)] == sum
}

// judge says what Judge says, and remembers the border of a good frame. The
// DS18S20 has none: its remainder is a part of the temperature, and its bytes
// must be in order themselves.
func (b *border) judge(pad *[9]byte, family byte) (code int16, bits uint8, flaw controller.Flaw) {
	code, bits, flaw = judge(pad, family)
	if flaw == controller.NoFlaw && family != DS18S20 {
		b.fixed = binary.LittleEndian.Uint64(pad[:8]) & aside
		b.crc = pad[8] ^ crcAt[0][pad[0]] ^ crcAt[1][pad[1]] ^ crcAt[6][pad[6]]
		b.bits, b.undefined = bits, int16(1)<<(12-bits)-1
	}
	return code, bits, flaw
}

func judge(pad *[9]byte, family byte) (code int16, bits uint8, flaw controller.Flaw) {
	if crcPad(pad) != pad[8] {
		// Nobody pulled the line down in 72 slots: nobody is there.
		if *pad == [9]byte{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF} {
			return 0, 0, controller.Absent
		}
		return 0, 0, controller.BadCRC
	}
	if binary.LittleEndian.Uint64(pad[:8]) == 0 { // and so is the CRC
		return 0, 0, controller.Shorted
	}
	switch family {
	case DS18B20, DS1822, DS28EA00:
		if pad[4]&0x9F != 0x1F {
			return 0, 0, controller.Malformed
		}
	case DS1825:
		// The low nibble is the address that its pins are strapped to. Bit 7 is
		// set in its cousins of the same family that measure in other units.
		if pad[4]&0x90 != 0x10 {
			return 0, 0, controller.Malformed
		}
	case DS18S20:
		return judgeS20(pad)
	default:
		return 0, 0, controller.Malformed
	}
	if pad[5] != 0xFF || pad[7] != 0x10 {
		return 0, 0, controller.Malformed
	}
	bits = 9 + pad[4]>>5&3
	undefined := int16(1)<<(12-bits) - 1
	raw := int16(uint16(pad[1])<<8 | uint16(pad[0]))
	code = raw &^ undefined
	switch {
	case code == codePowerOn && pad[6] == 0x0C:
		return 0, bits, controller.PowerOnValue
	case code == codeLowPower&^undefined:
		return 0, bits, controller.LowPower
	case code < codeColdest || code > codeHottest:
		return 0, bits, controller.OutOfRange
	}
	return code, bits, controller.NoFlaw
}

// judgeS20 judges the DS18S20: half degrees in the first two bytes, and the
// rest from the counters in bytes 6 and 7,
//
//	T = TEMP_READ − 0.25 + (COUNT_PER_C − COUNT_REMAIN)/COUNT_PER_C
//
// where TEMP_READ has its half-degree bit cut off and COUNT_PER_C is fixed at
// 16 (data sheet DS18S20, equation 1).
func judgeS20(pad *[9]byte) (code int16, bits uint8, flaw controller.Flaw) {
	if pad[4] != 0xFF || pad[5] != 0xFF || pad[7] != 0x10 || pad[6] > 0x10 ||
		pad[1] != 0x00 && pad[1] != 0xFF {
		return 0, 0, controller.Malformed
	}
	half := int16(uint16(pad[1])<<8 | uint16(pad[0]))
	switch {
	case half == codePowerOn/8 && pad[6] == 0x0C:
		return 0, 12, controller.PowerOnValue
	case half < codeColdest/8 || half > codeHottest/8:
		return 0, 12, controller.OutOfRange
	}
	code = half>>1*16 + 12 - int16(pad[6])
	if code < codeColdest || code > codeHottest {
		return 0, 12, controller.OutOfRange
	}
	return code, 12, controller.NoFlaw
}
