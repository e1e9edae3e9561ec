package entry

import "encoding/binary"

// The ways to write a column of numbers. The shorter of the last two is taken,
// the first of equals; before it, the sparse way when its changes take no more;
// before that the constant.
const (
	columnConstant = iota // one number
	columnSparse          // the places where it changes, and by how much
	columnSteps           // each difference to the one before, as a Rice code
	columnBends           // each difference of the differences
)

// changesOf counts the numbers that differ from the one before.
func changesOf(v []int64) int {
	n := 0
	for i := 1; i < len(v); i++ {
		if v[i] != v[i-1] {
			n++
		}
	}
	return n
}

// even says whether v moves by the same step each time.
func even(v []int64) bool {
	for i := 2; i < len(v); i++ {
		if v[i]-v[i-1] != v[1]-v[0] {
			return false
		}
	}
	return true
}

// leastColumn is the least that any column takes which begins with first and is
// not constant: the way, the number, and two bytes.
func leastColumn(first int64) int { return len(binary.AppendVarint(nil, first)) + 3 }

// appendColumn writes v, which is not empty.
func appendColumn(dst []byte, v []int64) []byte {
	changes := changesOf(v)
	if changes == 0 {
		dst = append(dst, columnConstant)
		return binary.AppendVarint(dst, v[0])
	}
	if len(v) > 2 && even(v) {
		// Bends of nothing take a bit each, and nothing takes less. Times do so.
		dst = append(dst, columnBends)
		dst = binary.AppendVarint(dst, v[0])
		dst = binary.AppendVarint(dst, v[1]-v[0])
		dst = append(dst, 0)
		return append(dst, make([]byte, (len(v)-2+7)/8)...)
	}
	// The last two ways take a bit a number at least, and a change of the sparse
	// way two bytes: with few changes, or many, one need not be tried.
	if least := len(v) - 2; 16*changes <= least {
		if dst, ok := appendSparse(dst, v, changes, (least+7)/8); ok {
			return dst
		}
	}
	var steps, bends [MaxTicks]uint64
	for i := 1; i < len(v); i++ {
		steps[i-1] = zigzag(v[i] - v[i-1])
	}
	us, mode := steps[:len(v)-1], uint8(columnSteps)
	k, total := bestRice(us)
	if len(v) > 2 {
		for i := 2; i < len(v); i++ {
			bends[i-2] = zigzag(v[i] - 2*v[i-1] + v[i-2])
		}
		if kb, tb := bestRice(bends[:len(v)-2]); tb < total {
			us, mode, k, total = bends[:len(v)-2], columnBends, kb, tb
		}
	}
	if 16*changes <= total {
		if dst, ok := appendSparse(dst, v, changes, (total+7)/8); ok {
			return dst
		}
	}
	dst = append(dst, mode)
	dst = binary.AppendVarint(dst, v[0])
	if mode == columnBends {
		dst = binary.AppendVarint(dst, v[1]-v[0])
	}
	w := bitWriter{b: append(dst, byte(k))}
	for _, u := range us {
		w.rice(u, k)
	}
	return w.end()
}

// appendSparse writes v if the changes take no more than limit bytes.
func appendSparse(dst []byte, v []int64, changes, limit int) ([]byte, bool) {
	out := append(dst, columnSparse)
	out = binary.AppendVarint(out, v[0])
	out = binary.AppendUvarint(out, uint64(changes))
	begin, last := len(out), 0
	for i := 1; i < len(v); i++ {
		if v[i] == v[i-1] {
			continue
		}
		out = binary.AppendUvarint(out, uint64(i-last))
		out = binary.AppendVarint(out, v[i]-v[i-1])
		if last = i; len(out)-begin > limit {
			return dst, false
		}
	}
	return out, true
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
