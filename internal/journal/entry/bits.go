package entry

import (
	"encoding/binary"
	"math/bits"
)

// Rice codes (R. F. Rice, "Some Practical Universal Noiseless Coding
// Techniques", JPL 79-22, 1979): the high part of a number in unary, its low k
// bits as they are. A number whose high part would be long escapes to 64 bits.
const (
	longestUnary = 24
	escapeBits   = longestUnary + 64
	largestK     = 40
)

func riceBits(u uint64, k int) int {
	if q := u >> k; q < longestUnary {
		return int(q) + 1 + k
	}
	return escapeBits
}

// bestRice finds a parameter from which neither neighbour is shorter, beginning
// at the mean, and the bits that it takes. Near the mean the length has one
// minimum in practice; what matters is that everybody finds the same.
func bestRice(us []uint64) (k, total int) {
	var sum uint64
	for _, u := range us {
		if s, carry := bits.Add64(sum, u, 0); carry == 0 {
			sum = s
		} else {
			sum = ^uint64(0)
		}
	}
	k = max(0, min(largestK, bits.Len64(sum/uint64(max(1, len(us))))-1))
	total = riceTotal(us, k)
	for k > 0 {
		less := riceTotal(us, k-1)
		if less > total {
			break
		}
		k, total = k-1, less
	}
	for k < largestK {
		more := riceTotal(us, k+1)
		if more >= total {
			break
		}
		k, total = k+1, more
	}
	return k, total
}

func riceTotal(us []uint64, k int) int {
	n := 0
	for _, u := range us {
		n += riceBits(u, k)
	}
	return n
}

type bitWriter struct {
	b    []byte
	acc  uint64
	have uint // bits in acc
}

func (w *bitWriter) bits(v uint64, n uint) {
	for n > 32 {
		n -= 32
		w.bits(v>>n&0xffffffff, 32)
	}
	w.acc = w.acc<<n | v&(1<<n-1)
	for w.have += n; w.have >= 8; {
		w.have -= 8
		w.b = append(w.b, byte(w.acc>>w.have))
	}
}

func (w *bitWriter) rice(u uint64, k int) {
	q := u >> k
	if q >= longestUnary {
		w.bits(1<<longestUnary-1, longestUnary)
		w.bits(u, 64)
		return
	}
	w.bits(1<<(q+1)-2, uint(q)+1)
	w.bits(u, uint(k))
}

// end fills the last byte with zeros.
func (w *bitWriter) end() []byte {
	if w.have > 0 {
		w.bits(0, 8-w.have)
	}
	return w.b
}

type bitReader struct {
	b    []byte
	bit  int
	over bool // it was read past the end
}

// window is the next 64 bits, with zeros after the end.
func (r *bitReader) window() uint64 {
	at, shift := r.bit>>3, uint(r.bit&7)
	if at+9 <= len(r.b) {
		return binary.BigEndian.Uint64(r.b[at:])<<shift | uint64(r.b[at+8])>>(8-shift)
	}
	var v uint64
	for i := range 9 {
		var b byte
		if at+i < len(r.b) {
			b = r.b[at+i]
		}
		if i < 8 {
			v = v<<8 | uint64(b)
		} else {
			v = v<<shift | uint64(b)>>(8-shift)
		}
	}
	return v
}

func (r *bitReader) skip(n int) {
	r.bit += n
	r.over = r.over || r.bit > 8*len(r.b)
}

func (r *bitReader) rice(k int) uint64 {
	w := r.window()
	q := bits.LeadingZeros64(^w)
	if q >= longestUnary {
		r.skip(longestUnary)
		u := r.window()
		r.skip(64)
		return u
	}
	r.skip(q + 1)
	if k == 0 {
		return uint64(q)
	}
	low := r.window() >> (64 - k)
	r.skip(k)
	return uint64(q)<<k | low
}

func (r *bitReader) end() int { return (r.bit + 7) / 8 }
