package entry

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"time"
)

// codec walks over fields in order. The same walk writes and reads, so that
// the two directions cannot disagree about what comes next.
type codec struct {
	b       []byte
	off     int
	reading bool
	err     error
}

var errShort = errors.New("it ends too early")

func (c *codec) fail(err error) {
	if c.err == nil {
		c.err = err
	}
}

// at says which value in the input was wrong, where.
func (c *codec) failf(format string, args ...any) {
	c.fail(fmt.Errorf("at byte %d: %s", c.off, fmt.Sprintf(format, args...)))
}

func (c *codec) uint(p *uint64) {
	if !c.reading {
		c.b = binary.AppendUvarint(c.b, *p)
		return
	}
	if c.err != nil {
		return
	}
	v, n := binary.Uvarint(c.b[c.off:])
	if n <= 0 {
		c.fail(errShort)
		return
	}
	c.off += n
	*p = v
}

func zigzag(v int64) uint64   { return uint64(v)<<1 ^ uint64(v>>63) }
func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

func (c *codec) int(p *int64) {
	u := zigzag(*p)
	c.uint(&u)
	*p = unzigzag(u)
}

func (c *codec) uint32(p *uint32) {
	u := uint64(*p)
	c.uint(&u)
	if u > math.MaxUint32 {
		c.failf("%d does not fit into 32 bits", u)
		return
	}
	*p = uint32(u)
}

func (c *codec) uint8(p *uint8) {
	u := uint64(*p)
	c.uint(&u)
	if u > math.MaxUint8 {
		c.failf("%d does not fit into 8 bits", u)
		return
	}
	*p = uint8(u)
}

func (c *codec) int8(p *int8) {
	v := int64(*p)
	c.int(&v)
	if v < math.MinInt8 || v > math.MaxInt8 {
		c.failf("%d does not fit into 8 bits", v)
		return
	}
	*p = int8(v)
}

func (c *codec) duration(p *time.Duration) {
	v := int64(*p)
	c.int(&v)
	*p = time.Duration(v)
}

func (c *codec) flag(p *bool) {
	var u uint64
	if *p {
		u = 1
	}
	c.uint(&u)
	if u > 1 {
		c.failf("%d is neither yes nor no", u)
		return
	}
	*p = u == 1
}

// length reads or writes a length and refuses one over limit or past the end.
func (c *codec) length(n *int, limit int) {
	u := uint64(*n)
	c.uint(&u)
	if c.err != nil {
		*n = 0
		return
	}
	if u > uint64(limit) {
		c.failf("a length of %d is over the limit of %d", u, limit)
		*n = 0
		return
	}
	*n = int(u)
}

func (c *codec) bytes(p *[]byte) {
	n := len(*p)
	c.length(&n, MaxText)
	if !c.reading {
		c.b = append(c.b, *p...)
		return
	}
	if c.err != nil {
		return
	}
	if n > len(c.b)-c.off {
		c.fail(errShort)
		return
	}
	*p = append([]byte(nil), c.b[c.off:c.off+n]...)
	c.off += n
}

func (c *codec) text(p *string) {
	if !c.reading {
		c.b = binary.AppendUvarint(c.b, uint64(len(*p)))
		c.b = append(c.b, *p...)
		return
	}
	var b []byte
	c.bytes(&b)
	*p = string(b)
}

func (c *codec) hash(p *[32]byte) {
	if !c.reading {
		c.b = append(c.b, p[:]...)
		return
	}
	if c.err != nil {
		return
	}
	if len(c.b)-c.off < len(p) {
		c.fail(errShort)
		return
	}
	copy(p[:], c.b[c.off:])
	c.off += len(p)
}
