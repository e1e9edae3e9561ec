package entry

import "encoding/binary"

// The ways to write a column of numbers, of which the shortest is taken, the
// first of equals.
const (
	columnConstant = iota // one number
	columnSparse          // the places where it changes, and by how much
	columnSteps           // each difference to the one before, as a Rice code
	columnBends           // each difference of the differences
)

// appendColumn writes v, which is not empty.
func appendColumn(dst []byte, v []int64) []byte {
	changes := 0
	for i := 1; i < len(v); i++ {
		if v[i] != v[i-1] {
			changes++
		}
	}
	if changes == 0 {
		dst = append(dst, columnConstant)
		return binary.AppendVarint(dst, v[0])
	}
	best := appendSteps(dst, v)
	if other := appendBends(nil, v); other != nil && len(other) < len(best)-len(dst) {
		best = append(dst, other...)
	}
	// A change costs two bytes at least, so many changes need not be tried.
	if 2*changes <= len(best)-len(dst) {
		if other := appendSparse(nil, v, changes); len(other) <= len(best)-len(dst) {
			best = append(dst, other...)
		}
	}
	return best
}

func appendSparse(dst []byte, v []int64, changes int) []byte {
	dst = append(dst, columnSparse)
	dst = binary.AppendVarint(dst, v[0])
	dst = binary.AppendUvarint(dst, uint64(changes))
	last := 0
	for i := 1; i < len(v); i++ {
		if v[i] != v[i-1] {
			dst = binary.AppendUvarint(dst, uint64(i-last))
			dst = binary.AppendVarint(dst, v[i]-v[i-1])
			last = i
		}
	}
	return dst
}

func appendSteps(dst []byte, v []int64) []byte {
	dst = append(dst, columnSteps)
	dst = binary.AppendVarint(dst, v[0])
	us := make([]uint64, len(v)-1)
	for i := range us {
		us[i] = zigzag(v[i+1] - v[i])
	}
	return appendRice(dst, us)
}

func appendBends(dst []byte, v []int64) []byte {
	if len(v) < 3 {
		return nil
	}
	dst = append(dst, columnBends)
	dst = binary.AppendVarint(dst, v[0])
	dst = binary.AppendVarint(dst, v[1]-v[0])
	us := make([]uint64, len(v)-2)
	for i := range us {
		us[i] = zigzag(v[i+2] - 2*v[i+1] + v[i])
	}
	return appendRice(dst, us)
}

func appendRice(dst []byte, us []uint64) []byte {
	k, _ := bestRice(us)
	w := bitWriter{b: append(dst, byte(k))}
	for _, u := range us {
		w.rice(u, k)
	}
	return w.end()
}

// column reads n numbers, 1 to MaxTicks.
func (c *codec) column(n int) []int64 {
	v := make([]int64, n)
	var mode, k uint8
	c.byte(&mode)
	c.int(&v[0])
	switch mode {
	case columnConstant:
		for i := range v {
			v[i] = v[0]
		}
	case columnSparse:
		c.sparse(v)
	case columnSteps:
		c.byte(&k)
		c.rice(v[1:], int(k))
		for i := 1; i < n; i++ {
			v[i] += v[i-1]
		}
	case columnBends:
		if n < 3 {
			c.failf("bends of %d numbers", n)
			return v
		}
		c.int(&v[1])
		c.byte(&k)
		c.rice(v[2:], int(k))
		v[1] += v[0]
		for i := 2; i < n; i++ {
			v[i] += 2*v[i-1] - v[i-2]
		}
	default:
		c.failf("way %d of writing a column is unknown", mode)
	}
	return v
}

func (c *codec) sparse(v []int64) {
	var count, gap uint64
	c.uint(&count)
	if count >= uint64(len(v)) {
		c.failf("%d changes in %d numbers", count, len(v))
		return
	}
	at := 0
	for ; count > 0 && c.err == nil; count-- {
		var by int64
		c.uint(&gap)
		c.int(&by)
		if gap == 0 || gap >= uint64(len(v)-at) {
			c.failf("a change %d places on", gap)
			return
		}
		for end := at + int(gap); at < end-1; at++ {
			v[at+1] = v[at]
		}
		v[at+1] = v[at] + by
		at++
	}
	for ; at < len(v)-1; at++ {
		v[at+1] = v[at]
	}
}

// rice reads zigzag numbers into v.
func (c *codec) rice(v []int64, k int) {
	if c.err != nil {
		return
	}
	if k > largestK {
		c.failf("a Rice parameter of %d", k)
		return
	}
	r := bitReader{b: c.b[c.off:]}
	for i := range v {
		v[i] = unzigzag(r.rice(k))
	}
	if r.over {
		c.fail(errShort)
		return
	}
	c.off += r.end()
}

func (c *codec) byte(p *uint8) {
	if !c.reading {
		c.b = append(c.b, *p)
		return
	}
	if c.err != nil {
		return
	}
	if c.off >= len(c.b) {
		c.fail(errShort)
		return
	}
	*p = c.b[c.off]
	c.off++
}
