package sim

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"
)

// An amd64 processor without AVX gives the same bytes.
func TestSameBytesWithoutAVX(t *testing.T) {
	was := avx
	avx = false
	defer func() { avx = was }()
	sum := sha256.New()
	run(t, sum)
	if got := hex.EncodeToString(sum.Sum(nil)); got != sameBytes {
		t.Errorf("the run's bytes have the sum\n%s, want\n%s", got, sameBytes)
	}
}
