package rig

// crc8 is the CRC of Maxim's application note 27 bit by bit, as its shift
// register does it: x⁸+x⁵+x⁴+1, lowest bit first, zero at the start. The judge
// of the readings uses a table of another origin, so that the two check each
// other.
func crc8(bytes []byte) (crc byte) {
	for _, b := range bytes {
		for range 8 {
			out := (crc ^ b) & 1
			crc >>= 1
			if out != 0 {
				crc ^= 0x8C
			}
			b >>= 1
		}
	}
	return crc
}

// What a byte at the first, second and seventh place of a scratchpad adds to
// its CRC; a conversion changes no other.
var crcFirst, crcSecond, crcSeventh = crcAt(0), crcAt(1), crcAt(6)

// crcLow is crcFirst with crcSeventh of what a plain probe writes there, which
// goes with the first byte.
var crcLow = func() (table [256]byte) {
	for b := range table {
		table[b] = crcFirst[b] ^ crcSeventh[0x10-b&0x0F]
	}
	return table
}()

func crcAt(place int) (table [256]byte) {
	for b := range table {
		var pad [8]byte
		pad[place] = byte(b)
		table[b] = crc8(pad[:])
	}
	return table
}
