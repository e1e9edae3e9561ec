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
	tr.head = (i + 1) % traced
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
// command brought plus φ times what the story brings beyond it, by least
// squares, and returns φ with its variance for white noise r. For welded and
// dead φ is 0 when the command is obeyed and 1 when the story holds; for
// scaled it is the size of the answer, 1 when the gain is as learned. Without
// a switch in the window nothing is known and the variance is infinite.
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
		var x float64
		switch s {
		case welded:
			x = tr.weld[i] - w0
			z -= c
		case dead:
			x = -c
			z -= c
		default:
			x = c
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

// vote is how strongly φ speaks for the story (positive) or for the command,
// in nats: the log likelihood ratio of φ = 1 to φ = 0. One vote counts at most
// 8, and nothing when φ fits neither story or is hardly known.
func vote(phi, variance float64) float64 {
	if variance > 2 || phi < -0.7 || phi > 1.7 {
		return 0
	}
	return clamp((phi-0.5)/variance, -8, 8)
}
