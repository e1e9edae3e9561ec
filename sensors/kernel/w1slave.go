package kernel

import (
	"bytes"
	"encoding/hex"
	"errors"
)

// ParseW1Slave takes the nine raw bytes out of the text of a w1_slave file:
//
//	90 01 4b 46 7f ff 10 10 92 : crc=92 YES
//	90 01 4b 46 7f ff 10 10 92 t=25000
//
// Only the first line counts. Whether the kernel says YES is not looked at: the
// caller judges the bytes anew. After a bad CRC the second line repeats bytes
// of an earlier read.
func ParseW1Slave(text []byte) (pad [9]byte, err error) {
	line, _, complete := bytes.Cut(text, []byte("\n"))
	if !complete {
		return pad, errors.New("first line does not end")
	}
	digits, rest, found := bytes.Cut(line, []byte(" : crc="))
	if !found {
		return pad, errors.New("first line has no crc")
	}
	const each = len("90 ")
	if len(digits) != len(pad)*each-1 {
		return pad, errors.New("first line does not hold nine bytes")
	}
	for i := range pad {
		at := i * each
		if i > 0 && digits[at-1] != ' ' {
			return [9]byte{}, errors.New("bytes are not separated by single spaces")
		}
		if _, err := hex.Decode(pad[i:i+1], digits[at:at+2]); err != nil {
			return [9]byte{}, errors.New("a byte is not hexadecimal")
		}
	}
	if len(rest) < 2 {
		return [9]byte{}, errors.New("crc is cut off")
	}
	return pad, nil
}
