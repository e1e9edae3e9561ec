package sensors

import (
	"encoding/binary"
	"encoding/hex"
	"strings"
	"testing"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

func frame(t testing.TB, s string) (pad [9]byte) {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil || len(b) != 9 {
		t.Fatalf("frame %q: %v", s, err)
	}
	return [9]byte(b)
}

// sealed gives eight bytes their CRC.
func sealed(b ...byte) (pad [9]byte) {
	copy(pad[:], b)
	pad[8] = onewire.CalcCRC(pad[:8])
	return pad
}

// Frames captured from real probes, as printed in public w1_slave samples with
// the temperature that the kernel gave for them (its text is code × 62.5,
// truncated, in milli-degrees); the CRCs were computed anew. The synthetic ones
// are computed from the data sheet's format and CRC.
var goodFrames = []struct {
	frame string
	milli int // m°C, truncated
}{
	{"03 01 4b 46 7f ff 0c 10 30", 16187},
	{"21 01 4b 46 7f ff 0c 10 1e", 18062},
	{"49 01 4b 46 7f ff 0c 10 d5", 20562},
	{"74 01 4b 46 7f ff 0c 10 55", 23250},
	{"99 01 4b 46 7f ff 0c 10 5a", 25562},
	{"a1 01 4b 46 7f ff 0c 10 8c", 26062},
	{"bf 00 55 00 7f ff 0c 10 61", 11937}, // other alarm bytes
	{"90 01 4b 46 7f ff 10 10 92", 25000}, // as the kernel's driver prints it
	{"d0 01 4b 46 7f ff 0c 10 7a", 29000}, // synthetic from here on
	{"d8 01 4b 46 7f ff 0c 10 50", 29500},
	{"d0 02 4b 46 7f ff 0c 10 3d", 45000},
	{"80 03 4b 46 7f ff 0c 10 1d", 56000},
	{"c0 fe 4b 46 7f ff 0c 10 28", -20000},
	{"df fe 4b 46 7f ff 0c 10 86", -18062},
}

func TestJudgeTakesGoodFrames(t *testing.T) {
	for _, g := range goodFrames {
		code, bits, flaw := Judge(frame(t, g.frame), DS18B20)
		if flaw != controller.NoFlaw || bits != 12 {
			t.Errorf("%s: flaw %d, %d bits", g.frame, flaw, bits)
		}
		if milli := int(code) * 1000 / 16; milli != g.milli {
			t.Errorf("%s: %d m°C, want %d", g.frame, milli, g.milli)
		}
	}
}

// Two frames that are copied from page to page with the word YES beside them,
// although their CRCs are wrong (the true ones are b8 and 57, computed).
func TestJudgeRefusesFamousFramesWithBadCRC(t *testing.T) {
	for _, f := range []struct {
		frame string
		crc   byte
	}{
		{"6a 01 4b 46 7f ff 0c 10 3a", 0xB8},
		{"61 01 4b 46 7f ff 0c 10 e7", 0x57},
	} {
		pad := frame(t, f.frame)
		if _, _, flaw := Judge(pad, DS18B20); flaw != controller.BadCRC {
			t.Errorf("%s: flaw %d, want a bad CRC", f.frame, flaw)
		}
		pad[8] = f.crc
		if _, _, flaw := Judge(pad, DS18B20); flaw != controller.NoFlaw {
			t.Errorf("%s with CRC %02x: flaw %d", f.frame, f.crc, flaw)
		}
	}
}

// Data sheet DS18B20, table 1 (temperature and data relationship).
func TestJudgeGivesTheDataSheetsTable(t *testing.T) {
	for _, row := range []struct {
		sixteenths int16
		raw        uint16
	}{
		{125 * 16, 0x07D0},
		{25*16 + 1, 0x0191},
		{10*16 + 2, 0x00A2},
		{8, 0x0008},
		{0, 0x0000},
		{-8, 0xFFF8},
		{-10*16 - 2, 0xFF5E},
		{-25*16 - 1, 0xFE6F},
		{-55 * 16, 0xFC90},
	} {
		pad := sealed(byte(row.raw), byte(row.raw>>8), 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10)
		for _, family := range []byte{DS18B20, DS1822, DS1825, DS28EA00} {
			code, _, flaw := Judge(pad, family)
			if flaw != controller.NoFlaw || code != row.sixteenths {
				t.Errorf("family %02x, %04x: code %d flaw %d, want %d", family, row.raw, code, flaw, row.sixteenths)
			}
		}
	}
	// +85 °C of the same table is what a probe says that has not converted.
	pad := frame(t, "50 05 4B 46 7F FF 0C 10 1C")
	if _, _, flaw := Judge(pad, DS18B20); flaw != controller.PowerOnValue {
		t.Errorf("power-on scratchpad: flaw %d", flaw)
	}
}

// The lookup agrees with the check values of Maxim's application note 27 (the
// ROM code printed there, of which only eight bytes matter here).
func TestCRC(t *testing.T) {
	pad := [9]byte{0x02, 0x1C, 0xB8, 0x01, 0x00, 0x00, 0x00, 0xA2}
	if got := crcPad(&pad); got != 0 {
		t.Errorf("CRC over the code and its CRC is %02x, want 0", got)
	}
	if got := onewire.CalcCRC([]byte("123456789")); got != 0xA1 {
		t.Errorf("CRC of 123456789 is %02x, want a1 (check value of CRC-8/MAXIM)", got)
	}
}

func TestJudgeNamesFlaws(t *testing.T) {
	for _, c := range []struct {
		what   string
		pad    [9]byte
		family byte
		want   controller.Flaw
	}{
		{"bus shorted to ground", [9]byte{}, DS18B20, controller.Shorted},
		{"bus shorted, half-degree type", [9]byte{}, DS18S20, controller.Shorted},
		{"nobody there", [9]byte{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, DS18B20, controller.Absent},
		{"conversion starved", sealed(0xFF, 0x07, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10), DS18B20, controller.LowPower},
		{"conversion starved at 9 bits", sealed(0xF8, 0x07, 0x4B, 0x46, 0x1F, 0xFF, 0x0C, 0x10), DS18B20, controller.LowPower},
		{"one step above 125 °C", sealed(0xD1, 0x07, 0x4B, 0x46, 0x7F, 0xFF, 0x0F, 0x10), DS18B20, controller.OutOfRange},
		{"one step below −55 °C", sealed(0x8F, 0xFC, 0x4B, 0x46, 0x7F, 0xFF, 0x01, 0x10), DS18B20, controller.OutOfRange},
		{"byte 5", sealed(0x90, 0x01, 0x4B, 0x46, 0x7F, 0xFE, 0x10, 0x10), DS18B20, controller.Malformed},
		{"byte 7", sealed(0x90, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x10, 0x11), DS18B20, controller.Malformed},
		{"configuration bit 7", sealed(0x90, 0x01, 0x4B, 0x46, 0xFF, 0xFF, 0x10, 0x10), DS18B20, controller.Malformed},
		{"configuration bit 0", sealed(0x90, 0x01, 0x4B, 0x46, 0x7E, 0xFF, 0x10, 0x10), DS18B20, controller.Malformed},
		{"cousin that measures in other units", sealed(0x90, 0x01, 0x00, 0x00, 0xF0, 0xFF, 0x10, 0x10), DS1825, controller.Malformed},
		{"family without temperature", sealed(0x90, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x10, 0x10), 0x26, controller.Malformed},
		{"half-degree type, power-on", sealed(0xAA, 0x00, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x10), DS18S20, controller.PowerOnValue},
		{"half-degree type, layout of the other", frame(t, "90 01 4b 46 7f ff 10 10 92"), DS18S20, controller.Malformed},
		{"half-degree type, sign byte", sealed(0x32, 0x01, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x10), DS18S20, controller.Malformed},
		{"half-degree type, counter past its end", sealed(0x32, 0x00, 0x4B, 0x46, 0xFF, 0xFF, 0x11, 0x10), DS18S20, controller.Malformed},
		{"half-degree type, counts per degree", sealed(0x32, 0x00, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x00), DS18S20, controller.Malformed},
		{"half-degree type, too hot", sealed(0xFB, 0x00, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x10), DS18S20, controller.OutOfRange},
		{"half-degree type, too hot by its counter", sealed(0xFA, 0x00, 0x4B, 0x46, 0xFF, 0xFF, 0x01, 0x10), DS18S20, controller.OutOfRange},
		{"half-degree type, too cold", sealed(0x91, 0xFF, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x10), DS18S20, controller.OutOfRange},
	} {
		if code, _, flaw := Judge(c.pad, c.family); flaw != c.want || code != 0 {
			t.Errorf("%s: flaw %d code %d, want flaw %d", c.what, flaw, code, c.want)
		}
	}
}

// An exact 85 °C with another byte 6 is a real one on a genuine probe; whether
// it is believed is the tracker's question.
func TestJudgeLets85WithoutTheMarkPass(t *testing.T) {
	code, _, flaw := Judge(sealed(0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x10, 0x10), DS18B20)
	if code != codePowerOn || flaw != controller.NoFlaw {
		t.Errorf("code %d flaw %d", code, flaw)
	}
}

// Data sheet DS18B20, page 6: 11 bits leave bit 0 undefined, 10 bits 1–0, 9
// bits 2–0.
func TestJudgeMasksUndefinedBits(t *testing.T) {
	for _, c := range []struct {
		config byte
		bits   uint8
		want   int16
	}{
		{0x7F, 12, 0x197}, {0x5F, 11, 0x196}, {0x3F, 10, 0x194}, {0x1F, 9, 0x190},
	} {
		code, bits, flaw := Judge(sealed(0x97, 0x01, 0x4B, 0x46, c.config, 0xFF, 0x0C, 0x10), DS18B20)
		if code != c.want || bits != c.bits || flaw != controller.NoFlaw {
			t.Errorf("config %02x: code %#x, %d bits, flaw %d", c.config, code, bits, flaw)
		}
	}
	// Address pins of a DS1825 do not change the resolution.
	if _, bits, flaw := Judge(sealed(0x97, 0x01, 0x4B, 0x46, 0x75, 0xFF, 0x0C, 0x10), DS1825); bits != 12 || flaw != controller.NoFlaw {
		t.Errorf("DS1825 with pins 5: %d bits, flaw %d", bits, flaw)
	}
}

// Data sheet DS18S20, table 1 in half degrees, with the counter at 12 of 16,
// where the equation gives the table's own value for whole degrees.
func TestJudgeHalfDegreeType(t *testing.T) {
	for _, row := range []struct {
		raw    uint16
		remain byte
		want   int16 // 1/16 °C
	}{
		{0x0032, 12, 25 * 16},
		{0x0001, 4, 8},          // +0.5: TEMP_READ 0, 0 − 0.25 + 12/16
		{0x0000, 12, 0},         // 0
		{0xFFFF, 4, -8},         // −0.5: TEMP_READ −1, −1 − 0.25 + 12/16
		{0xFFCE, 12, -25 * 16},  // −25
		{0xFF92, 12, -55 * 16},  // −55
		{0x0032, 1, 25*16 + 11}, // 25 − 0.25 + 15/16
		{0x0033, 16, 25*16 - 4}, // the half-degree bit is cut off
		{0x00FA, 12, 125 * 16},  // +125
		{0x00AA, 11, 85*16 + 1}, // 85.0625: not the power-on value
	} {
		pad := sealed(byte(row.raw), byte(row.raw>>8), 0x4B, 0x46, 0xFF, 0xFF, row.remain, 0x10)
		code, bits, flaw := Judge(pad, DS18S20)
		if code != row.want || bits != 12 || flaw != controller.NoFlaw {
			t.Errorf("%04x remain %d: code %d, %d bits, flaw %d; want %d", row.raw, row.remain, code, bits, flaw, row.want)
		}
	}
}

// Every single flipped bit of a good frame is noticed: the CRC finds all single
// errors in so few bits.
func TestJudgeFindsEverySingleBitError(t *testing.T) {
	for _, g := range goodFrames {
		for bit := range 72 {
			pad := frame(t, g.frame)
			pad[bit/8] ^= 1 << (bit % 8)
			if _, _, flaw := Judge(pad, DS18B20); flaw != controller.BadCRC {
				t.Errorf("%s with bit %d flipped: flaw %d", g.frame, bit, flaw)
			}
		}
	}
}

// What is remembered of the last good frame changes no judgement: every code and
// resolution after every other kind of frame, whole and with any bit flipped.
func TestJudgementDoesNotDependOnTheFrameBefore(t *testing.T) {
	for _, family := range []byte{DS18B20, DS1822, DS1825, DS28EA00, DS18S20} {
		var b border
		quick := 0
		same := func(pad [9]byte) {
			code, sure := b.code(binary.LittleEndian.Uint64(pad[:8]), pad[8])
			c, n, f := b.judge(&pad, family)
			if sure && (c != code || f != controller.NoFlaw || n != b.bits) {
				t.Fatalf("family %02x, % x: %d by its border, alone %d, %d bits, flaw %d", family, pad, code, c, n, f)
			}
			if sure {
				quick++
			}
		}
		for code := range 1 << 16 {
			config := byte(0x1F | code>>3&3<<5) // another resolution now and then
			if family == DS18S20 {
				config = 0xFF
			}
			pad := sealed(byte(code), byte(code>>8), 0x4B, 0x46, config, 0xFF, byte(code>>5)&0x1F, 0x10)
			same(pad)
			if code%97 == 0 {
				for bit := range 72 {
					flipped := pad
					flipped[bit/8] ^= 1 << (bit % 8)
					same(flipped)
					same(sealed(flipped[:8]...))
				}
				same([9]byte{})
			}
		}
		// One code in thirty is a temperature under the power-on value, and seven
		// in eight have the resolution of the one before.
		if quick < 1500 && family != DS18S20 || quick > 0 && family == DS18S20 {
			t.Errorf("family %02x: the border judged %d frames", family, quick)
		}
	}
}

// FuzzJudge holds for any bytes and family: a code only without a flaw, in
// range, and with the undefined bits masked.
func FuzzJudge(f *testing.F) {
	for _, g := range goodFrames {
		pad := frame(f, g.frame)
		f.Add(pad[:], DS18B20)
	}
	f.Add(make([]byte, 9), DS18B20)
	f.Add([]byte{0xAA, 0, 0x4B, 0x46, 0xFF, 0xFF, 0x0C, 0x10, 0x87}, DS18S20)
	f.Add([]byte{0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10, 0x1C}, DS1825)
	f.Fuzz(func(t *testing.T, b []byte, family byte) {
		var pad [9]byte
		copy(pad[:], b)
		for _, p := range [][9]byte{pad, sealed(pad[:8]...)} {
			code, bits, flaw := Judge(p, family)
			if flaw != controller.NoFlaw {
				if code != 0 {
					t.Fatalf("% x: code %d with flaw %d", p, code, flaw)
				}
				continue
			}
			if code < -880 || code > 2000 || bits < 9 || bits > 12 {
				t.Fatalf("% x: code %d, %d bits", p, code, bits)
			}
			if family != DS18S20 && code&(1<<(12-bits)-1) != 0 {
				t.Fatalf("% x: undefined bits in %d at %d bits", p, code, bits)
			}
			if !onewire.CheckCRC(p[:]) || p == [9]byte{} || !Known(family) {
				t.Fatalf("% x of family %02x passed", p, family)
			}
		}
	})
}

func BenchmarkJudge(b *testing.B) {
	pad := frame(b, "90 01 4b 46 7f ff 10 10 92")
	for b.Loop() {
		Judge(pad, DS18B20)
	}
}
