package observer

import (
	"encoding/binary"
	"fmt"
	"math"
)

// codec goes over the saved fields in one order, writing or reading, so that
// what is accepted is written again as the same bytes.
type codec struct {
	bytes []byte
	at    int
	read  bool
	err   error
}

func (c *codec) word(v *uint64) {
	if !c.read {
		c.bytes = binary.BigEndian.AppendUint64(c.bytes, *v)
		return
	}
	if c.err == nil && c.at+8 > len(c.bytes) {
		c.err = fmt.Errorf("observer: saved state has %d bytes, want more", len(c.bytes))
	}
	if c.err != nil {
		return
	}
	*v = binary.BigEndian.Uint64(c.bytes[c.at:])
	c.at += 8
}

func (c *codec) float(name string, v *float64, low, high float64) {
	w := math.Float64bits(*v)
	c.word(&w)
	if f := math.Float64frombits(w); c.read && c.err == nil && !(f >= low && f <= high) {
		c.err = fmt.Errorf("observer: saved %s is %v, want %v to %v", name, f, low, high)
	}
	*v = math.Float64frombits(w)
}

func (c *codec) count(name string, v *int32, low, high int32) {
	w := uint64(int64(*v))
	c.word(&w)
	if f := int64(w); c.read && c.err == nil && (f < int64(low) || f > int64(high)) {
		c.err = fmt.Errorf("observer: saved %s is %d, want %d to %d", name, f, low, high)
		return
	}
	*v = int32(int64(w))
}

// saveVersion changes with the list of fields.
const saveVersion = 1

const (
	longest = 1e9 // s that any saved span may have
	largest = 1e6 // of any saved sum
)

// state goes over everything that survives a restart.
func (o *Observer) state(c *codec) {
	version := int32(saveVersion)
	c.count("version", &version, saveVersion, saveVersion)
	f := &o.filter
	c.float("gain", &f.x[iG1], -1, 1)
	c.float("gain", &f.x[iG2], -1, 1)
	if g := f.rate(); c.read && c.err == nil && !(g >= 0.999*f.least && g <= 1.001*f.most) {
		c.err = fmt.Errorf("observer: saved gain is %v K/s, want %v to %v as configured: it belongs to another tub", g, f.least, f.most)
	}
	most := float64(4 * float64(f.most*f.most))
	c.float("variance of gain", &f.cov[iG1][iG1], 0, most)
	c.float("variance of gain", &f.cov[iG2][iG2], 0, most)
	c.float("covariance of gain", &f.cov[iG1][iG2], -most, most)
	f.cov[iG2][iG1] = f.cov[iG1][iG2]
	c.float("noise", &f.noise, noiseLeast, noiseMost)
	c.float("evidence of unasked rise", &o.weld.Sum, 0, longest)
	c.float("evidence of no rise", &o.dead.Sum, 0, longest)
	for _, q := range []*inquiry{&o.unasks, &o.norise} {
		at := int32(q.stage)
		c.count("stage", &at, int32(idle), int32(proven))
		q.stage = stage(at)
		c.float("sum of votes", &q.sum, -largest, largest)
		c.float("last vote", &q.last, -voteMost, voteMost)
		c.count("votes", &q.votes, 0, votesMost)
		c.count("votes in a row", &q.row, 0, 1<<20)
		c.count("tests", &q.tests, 0, testsMost)
	}
	e := &o.floor
	c.float("floor at rest", &e.still, -100, 100)
	c.float("floor rise", &e.rise, -100, 100)
	c.float("floor age", &e.age, 0, longest)
	c.float("floor heat", &e.heat, 0, longest)
	p := &o.pair
	c.float("pair baseline", &p.base, -100, 100)
	c.float("pair age", &p.age, 0, longest)
	c.float("pair variance", &p.variance, 0, largest)
	c.float("layers at rest", &p.still, -100, 100)
	c.float("layers' rise", &p.rise, -100, 100)
	c.float("layers' variance", &p.leanVar, 0, largest)
	c.float("layers' age", &p.leanAge, 0, longest)
	jumped := int32(p.jumped)
	c.count("jumped probe", &jumped, int32(None), int32(Guard))
	p.jumped = Place(jumped)
	for i := range o.runs {
		c.float("longest run", &o.runs[i].longest, 0, longest)
	}
	for i := range o.answers.last {
		c.float("answer", &o.answers.last[i], 0, largest)
	}
	c.count("answers", &o.answers.count, 0, 9)
	c.float("first answers", &o.answers.first, 0, largest)
	c.count("cycles", &o.cycles, 0, 1<<20)
	c.float("time since a water change", &o.changed, 0, changeLong)
	c.float("time since hands were in", &o.attended, 0, attendLong)
	c.float("time since unasked rise", &o.sinceUnasked, 0, crossedSpan)
	c.float("time since no rise", &o.sinceNoRise, 0, crossedSpan)
	jitter := uint64(o.jitter)
	c.word(&jitter)
	o.jitter = generator(jitter)
}

// Save gives the state that survives a restart, as canonical bytes.
func (o *Observer) Save() []byte {
	c := codec{bytes: make([]byte, 0, 512)}
	o.state(&c)
	return c.bytes
}

// Restore takes bytes of Save. It refuses any others, and those of a tub whose
// gain cannot be that of the configured one, and then changes nothing. What
// depends on how long the gap was starts anew; a test that ran goes on with
// its votes and a fresh half period.
func (o *Observer) Restore(b []byte) error {
	next := *o
	c := codec{bytes: b, read: true}
	next.state(&c)
	if c.err == nil && c.at != len(b) {
		c.err = fmt.Errorf("observer: saved state has %d bytes, want %d", len(b), c.at)
	}
	if c.err != nil {
		return c.err
	}
	next.answers.weigh()
	for _, q := range []*inquiry{&next.unasks, &next.norise} {
		if q.stage != idle {
			q.wait, q.phase = halfLeast, halfLeast
			q.lowest = math.Inf(1)
		}
	}
	*o = next
	o.interrupt()
	unasked, noRise := o.sinceUnasked, o.sinceNoRise
	o.judge(0)
	o.sinceUnasked, o.sinceNoRise = unasked, noRise // no time has passed
	o.findings.Jumped = o.pair.jumped
	return nil
}
