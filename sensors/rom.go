package sensors

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"

	"periph.io/x/conn/v3/onewire"
)

// ParseROM reads the ROM code of a probe as the kernel and this program write
// it: two hexadecimal digits of family, a hyphen, twelve of serial number, as
// in 28-0316a2795cff. The CRC is computed. A family that Judge does not know is
// an error.
func ParseROM(s string) (onewire.Address, error) {
	a, err := ParseAddress(s)
	if err == nil && !Known(Family(a)) {
		return 0, fmt.Errorf("ROM code %q: family %02x is no thermometer that this program reads (10, 22, 28, 3b, 42)", s, Family(a))
	}
	return a, err
}

// ParseAddress is ParseROM for a device of any family.
func ParseAddress(s string) (onewire.Address, error) {
	const want = "write it as in 28-0316a2795cff: family, hyphen, twelve hexadecimal digits"
	if len(s) != 15 || s[2] != '-' {
		return 0, fmt.Errorf("ROM code %q is malformed; %s", s, want)
	}
	digits, err := hex.DecodeString(s[:2] + s[3:])
	if err != nil {
		return 0, fmt.Errorf("ROM code %q has a character that is no hexadecimal digit; %s", s, want)
	}
	var rom [8]byte
	rom[0] = digits[0]
	for i := range 6 {
		rom[1+i] = digits[6-i]
	}
	rom[7] = onewire.CalcCRC(rom[:7])
	return onewire.Address(binary.LittleEndian.Uint64(rom[:])), nil
}

// FormatROM writes an address the way ParseROM reads it.
func FormatROM(a onewire.Address) string {
	return fmt.Sprintf("%02x-%012x", byte(a), uint64(a)>>8&0xFFFF_FFFF_FFFF)
}

// Family is the family code of an address.
func Family(a onewire.Address) byte { return byte(a) }

// FamilyName is the type that a family code stands for, or "unknown".
func FamilyName(family byte) string {
	switch family {
	case DS18S20:
		return "DS18S20"
	case DS1822:
		return "DS1822"
	case DS18B20:
		return "DS18B20"
	case DS1825:
		return "DS1825"
	case DS28EA00:
		return "DS28EA00"
	}
	return "unknown"
}
