package kernel

import (
	"bytes"
	"fmt"
	"testing"
)

// FuzzParseW1Slave: whatever parses is the very text that the driver prints for
// these bytes, as far as the first line's bytes go.
func FuzzParseW1Slave(f *testing.F) {
	for _, seed := range []string{
		"90 01 4b 46 7f ff 10 10 92 : crc=92 YES\n90 01 4b 46 7f ff 10 10 92 t=25000\n",
		"6a 01 4b 46 7f ff 0c 10 3a : crc=3a YES\n6a 01 4b 46 7f ff 0c 10 3a t=22625\n",
		"00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n",
		"ff ff ff ff ff ff ff ff ff : crc=c9 NO\n",
		"", "\n", "90 01", " : crc=", "90 01 4b 46 7f ff 10 10 : crc=92 YES\n", "90-01-4b-46-7f-ff-10-10-92 : crc=92 YES\n",
		"9g 01 4b 46 7f ff 10 10 92 : crc=92 YES\n", "90 01 4b 46 7f ff 10 10 92 : crc=\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		pad, err := ParseW1Slave(text)
		if err != nil {
			if pad != [9]byte{} {
				t.Fatalf("%q: bytes % x beside %v", text, pad, err)
			}
			return
		}
		if want := fmt.Appendf(nil, "% x : crc=", pad); !bytes.HasPrefix(bytes.ToLower(text), want) {
			t.Fatalf("%q parsed as % x", text, pad)
		}
	})
}
