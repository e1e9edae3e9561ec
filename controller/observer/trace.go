package observer

// traced is how many blocks the trace keeps: two test half periods of the
// longest jitter (2 × 1440 s) and a little.
const traced = 300

// trace is the recent past of the water and of the two stories about it: what
// the command brought, and what a pad relay that is welded would have brought.
// It does not survive a restart; a test then begins its window anew.
type trace struct {
	t     [traced]float64 // s since the trace began
	y     [traced]float64 // °C
	cmd   [traced]float64 // K, ∫ g·pad by command
	weld  [traced]float64 // K, ∫ g·(pad by series relay − pad by command)
	head  int             // where the next block goes
	count int
	sumT  float64
	sumC  float64
	sumW  float64
}

func (tr *trace) clear() { *tr = trace{} }

// add appends one block of h seconds; cmd and weld are the rates in K/s of the
// two stories, the second less the first.
func (tr *trace) add(h, y, cmd, weld float64) {
	tr.sumT += h
	tr.sumC += float64(h * cmd)
	tr.sumW += float64(h * weld)
	i := tr.head
	tr.t[i], tr.y[i], tr.cmd[i], tr.weld[i] = tr.sumT, y, tr.sumC, tr.sumW
	if tr.head++; tr.head == traced {
		tr.head = 0
	}
	tr.count = min(tr.count+1, traced)
}

// story is a hypothesis about the pad.
type story uint8

const (
	welded story = iota // heat flows whenever the series relay is closed
	dead                // no heat flows
	scaled              // heat flows as commanded, times a number
)

// fit explains the last blocks of the water as a straight line plus what the
// command brought plus φ times what a weld brings beyond it, by least squares,
// and returns φ with its variance for white noise r: 0 when the command is
// obeyed and 1 when the relay is welded. For any other story φ is the size of
// the answer to the command, 1 when the gain is as learned and 0 over a dead
// pad. Without a switch in the window nothing is known.
func (tr *trace) fit(blocks int, s story, r float64) (phi, variance float64) {
	n := min(blocks, tr.count)
	if n < 12 {
		return 0, unknown
	}
	last := (tr.head - 1 + traced) % traced
	t0, y0, c0, w0 := tr.t[last], tr.y[last], tr.cmd[last], tr.weld[last]
	var st, sx, sz, stt, stx, stz, sxx, sxz float64
	for k := range n {
		i := last - k
		if i < 0 {
			i += traced
		}
		t := tr.t[i] - t0
		z := tr.y[i] - y0
		c := tr.cmd[i] - c0
		x := c
		if s == welded {
			x = tr.weld[i] - w0
			z -= c
		}
		st += t
		sx += x
		sz += z
		stt += float64(t * t)
		stx += float64(t * x)
		stz += float64(t * z)
		sxx += float64(x * x)
		sxz += float64(x * z)
	}
	m := float64(n)
	stt -= float64(st*st) / m
	stx -= float64(st*sx) / m
	stz -= float64(st*sz) / m
	sxx -= float64(sx*sx) / m
	sxz -= float64(sx*sz) / m
	information := sxx - float64(stx*stx)/stt
	if !(information > float64(r/unknown)) {
		return 0, unknown
	}
	return (sxz - float64(stx*stz)/stt) / information, r / information
}

// unknown is a variance that says nothing.
const unknown = 1e6

// A lid, a draught and the sun bend the water once, at a moment that nobody
// knows and by a size that nobody knows. Both stories may use one such bend.
// It costs what it explains by chance: about fourteen bends a day fall into a
// window of twenty minutes with probability 0.2, on one of sixteen moments;
// and a bend of up to four gains either way, known to a third of one, is one
// size in a dozen. −ln(0.2/16/12) is 6.9 nats.
const (
	bends    = 16
	bendCost = 6.9
	voteMost = 8.0 // nats that one vote counts at most
	misfit   = 2.0 // of the noise: a story that fits worse explains nothing
)

// weigh is how strongly the last blocks speak for the story (positive) or for
// the command, in nats: half the difference of the residual squares over the
// noise r, each story with the straight line and the bend that suit it best.
// Nothing is said when neither story fits.
func (tr *trace) weigh(blocks int, s story, r float64) float64 {
	v, _ := tr.compare(blocks, s, r)
	return v
}

// compare also returns the size of the bend, in K/s, that the command's story needs.
func (tr *trace) compare(blocks int, s story, r float64) (float64, float64) {
	n := min(blocks, tr.count)
	if n < 12 {
		return 0, 0
	}
	last := (tr.head - 1 + traced) % traced
	t0, y0, c0, w0 := tr.t[last], tr.y[last], tr.cmd[last], tr.weld[last]
	m := float64(n)
	var st, stt, sa, sta, saa, sb, stb, sbb float64 // a: command obeyed, b: the story
	var bend [bends]struct{ h, hh, ht, ha, hb float64 }
	i := last
	first := last - n + 1
	if first < 0 {
		first += traced
	}
	reach := tr.t[first] - t0 // negative: the window's length
	for range n {
		t := tr.t[i] - t0
		a := tr.y[i] - y0 - (tr.cmd[i] - c0)
		b := tr.y[i] - y0
		if s == welded {
			b = a - (tr.weld[i] - w0)
		}
		st += t
		stt += float64(t * t)
		sa += a
		sta += float64(t * a)
		saa += float64(a * a)
		sb += b
		stb += float64(t * b)
		sbb += float64(b * b)
		for k := range bends {
			h := t - float64(reach*(float64(k)+1)/(bends+1))
			if h <= 0 {
				continue
			}
			q := &bend[k]
			q.h += h
			q.hh += float64(h * h)
			q.ht += float64(h * t)
			q.ha += float64(h * a)
			q.hb += float64(h * b)
		}
		if i--; i < 0 {
			i += traced
		}
	}
	stt -= float64(st*st) / m
	sta -= float64(st*sa) / m
	stb -= float64(st*sb) / m
	lineA := saa - float64(sa*sa)/m - float64(sta*sta)/stt
	lineB := sbb - float64(sb*sb)/m - float64(stb*stb)/stt
	cost := float64(2 * bendCost * r)
	bestA, bestB, size := lineA, lineB, 0.0
	for k := range bends {
		q := &bend[k]
		ht := q.ht - float64(q.h*st)/m
		hh := q.hh - float64(q.h*q.h)/m - float64(ht*ht)/stt
		ha := q.ha - float64(q.h*sa)/m - float64(ht*sta)/stt
		hb := q.hb - float64(q.h*sb)/m - float64(ht*stb)/stt
		if v := lineA - float64(ha*ha)/hh + cost; v < bestA {
			bestA, size = v, ha/hh
		}
		bestB = min(bestB, lineB-float64(hb*hb)/hh+cost)
	}
	if min(bestA, bestB) > float64(misfit*m*r) {
		return 0, 0
	}
	return clamp((bestA-bestB)/float64(2*r), -voteMost, voteMost), size
}
