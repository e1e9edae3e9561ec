package sensors

import (
	"strings"
	"testing"

	"periph.io/x/conn/v3/onewire"
	"pgregory.net/rapid"
)

// The address 0x7a00000131825228 of a DS18B20 stands in periph's own
// documentation of onewire.Address: little-endian, family in the low byte, CRC
// in the top one.
func TestParseROMAgreesWithPeriphsExample(t *testing.T) {
	a, err := ParseROM("28-000001318252")
	if err != nil || a != 0x7a00000131825228 {
		t.Fatalf("%#x, %v", uint64(a), err)
	}
	if s := FormatROM(a); s != "28-000001318252" {
		t.Errorf("formatted as %s", s)
	}
}

func TestParseROMSaysWhatIsWrong(t *testing.T) {
	for rom, want := range map[string]string{
		"":                 "malformed",
		"28-0316a2795cf":   "malformed",
		"280316a2795cffab": "malformed",
		"28-0316a2795cfg":  "no hexadecimal digit",
		"26-0316a2795cff":  "no thermometer",
	} {
		if _, err := ParseROM(rom); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", rom, err, want)
		}
	}
}

func TestROMRoundTrip(t *testing.T) {
	families := []byte{DS18S20, DS1822, DS18B20, DS1825, DS28EA00}
	rapid.Check(t, func(t *rapid.T) {
		family := rapid.SampledFrom(families).Draw(t, "family")
		serial := rapid.Uint64Max(1<<48-1).Draw(t, "serial")
		text := FormatROM(onewire.Address(serial<<8 | uint64(family)))
		a, err := ParseROM(text)
		if err != nil || FormatROM(a) != text || Family(a) != family {
			t.Fatalf("%s → %#x, %v", text, uint64(a), err)
		}
		var rom [8]byte
		for i := range rom {
			rom[i] = byte(a >> (8 * i))
		}
		if !onewire.CheckCRC(rom[:]) {
			t.Fatalf("%s: CRC of % x", text, rom)
		}
		if FamilyName(family) == "unknown" || FamilyName(family^0xFF) != "unknown" {
			t.Fatalf("name of family %02x", family)
		}
	})
}
