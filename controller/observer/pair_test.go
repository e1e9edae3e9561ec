package observer

import (
	"math"
	"testing"
)

// settled is a pair that agreed at 0.1 K for a long time, with a threshold of
// 0.45 K.
func settled() *pair {
	p := &pair{jumped: None, base: 0.1, age: pairLag}
	p.allowance(0, 1)
	for range 2 * history {
		p.minute(10, 0.1, false)
	}
	return p
}

// minute runs whole blocks of ten seconds at one difference.
func (p *pair) minute(seconds int, difference float64, on bool) {
	for k := range seconds {
		p.step(1, difference)
		if k%10 == 9 {
			p.block(10, 0, on, false)
		}
	}
}

// A probe has jumped when for 20 s the difference is past the threshold from its
// baseline and more than 0.35 K from where it was within the last minute and a
// half; the cooler of the two is named.
func TestJumpAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name    string
		differs float64
		seconds int
		jumped  Place
	}{
		{"a hair over the threshold for 20 s", 0.55 + 1e-9, 20, Guard},
		{"for 19 s", 0.55 + 1e-9, 19, None},
		{"at the threshold", 0.55 - 1e-12, 60, None},
		{"a hair under it, downward", -0.35 - 1e-9, 20, Control},
		{"at it, downward", -0.35 + 1e-12, 60, None},
	} {
		p := settled()
		p.minute(c.seconds, c.differs, false)
		if p.jumped != c.jumped {
			t.Errorf("%s: %d jumped, want %d", c.name, p.jumped, c.jumped)
		}
	}
	// A second back within the threshold begins the 20 s anew.
	p := settled()
	p.minute(19, 1, false)
	p.step(1, 0.1)
	p.minute(19, 1, false)
	if p.jumped != None {
		t.Error("two short excursions were added up")
	}
	// A difference that was there all the time is no jump, whatever its size.
	for _, c := range []struct {
		was    float64
		jumped Place
	}{{0.65 + 1e-9, None}, {0.65 - 1e-9, Guard}, {1.35 - 1e-9, None}, {1.35 + 1e-9, Guard}} {
		p := &pair{jumped: None, base: 0.1, age: pairLag}
		p.allowance(0, 1)
		for range history {
			p.sum, p.n = c.was, 1
			p.block(10, 0, false, false)
		}
		for range 20 {
			p.step(1, 1)
		}
		if p.jumped != c.jumped {
			t.Errorf("from %v K to 1 K: %d jumped, want %d", c.was, p.jumped, c.jumped)
		}
	}
	// One that is found stays the one, even when the other falls later.
	p = settled()
	p.minute(20, 1, false)
	p.minute(60, -1, false)
	if p.jumped != Guard {
		t.Error("another probe was named while one was out")
	}
}

// A jump looks nine blocks back and no further; a block without readings ends
// that past.
func TestJumpOfAMinuteAndAHalf(t *testing.T) {
	for _, c := range []struct {
		blocks int // since it moved, within the threshold
		jumped Place
	}{{7, Guard}, {8, None}} {
		p := settled()
		p.minute(10*c.blocks, 0.52, false)
		p.minute(20, 0.56, false)
		if p.jumped != c.jumped {
			t.Errorf("%d blocks after it moved: %d jumped", c.blocks, p.jumped)
		}
	}
	p := settled()
	p.minute(10, 0.52, false)
	if p.block(10, 0, false, false); p.count != 0 {
		t.Error("a block without readings keeps its past")
	}
}

// The jumped probe is believed again after ten minutes within 0.2 K.
func TestJumpedProbeComesBack(t *testing.T) {
	for _, c := range []struct {
		differs float64
		minutes int
		jumped  Place
	}{{0.3 - 1e-9, 10, None}, {0.3 - 1e-9, 9, Guard}, {0.3 + 1e-9, 30, Guard}, {-0.1 + 1e-9, 10, None}, {-0.1 - 1e-9, 30, Guard}} {
		p := settled()
		p.minute(20, 1, false)
		p.minute(60*c.minutes, c.differs, false)
		if p.jumped != c.jumped {
			t.Errorf("%v K for %d min: %d is out, want %d", c.differs, c.minutes, p.jumped, c.jumped)
		}
	}
	p := settled()
	p.minute(20, 1, false)
	p.minute(590, 0.1, false)
	p.minute(10, 0.5, false)
	p.minute(590, 0.1, false)
	if p.jumped != Guard {
		t.Error("two stretches of agreement were added up")
	}
}

// The probes differ when they are past the threshold for half an hour, or for
// five minutes with heat and five without in one stretch.
func TestDifferenceAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		name    string
		on, off int // s of difference in each phase
		differ  bool
	}{
		{"half an hour without heat", 0, 1800, true},
		{"ten seconds less", 0, 1790, false},
		{"half an hour of heat", 1800, 0, true},
		{"five minutes each", 300, 300, true},
		{"a block less with heat", 290, 600, false},
		{"a block less without", 600, 290, false},
	} {
		p := settled()
		p.jumped = Guard // slow: no jump is looked for
		p.minute(c.on, 0.56, true)
		p.minute(c.off, 0.56, false)
		if p.differ != c.differ {
			t.Errorf("%s: differ %v", c.name, p.differ)
		}
	}
	p := settled()
	p.jumped = Guard
	p.minute(290, 0.56, true)
	p.minute(1500, 0.56, false)
	p.minute(10, 0.1, false)
	p.minute(290, 0.56, false)
	p.minute(290, 0.56, true)
	if p.differ {
		t.Error("stretches of difference were added up over one of agreement")
	}
	p = settled()
	p.jumped = Guard
	p.minute(1800, 0.55-1e-9, false)
	if p.differ {
		t.Error("they differ at the threshold")
	}
	p.minute(1800, 0.56, false)
	p.minute(10, 0.1, false)
	if p.differ {
		t.Error("they agree and still differ")
	}
}

// The baseline follows the difference, by h over the age of what is known but
// never faster than in twenty minutes nor slower than in an hour; not while
// somebody's hands settle, not beyond 0.3 K, not with a probe out.
func TestBaselineFollows(t *testing.T) {
	for _, c := range []struct {
		name     string
		age      float64
		settle   float64
		differs  float64
		jumped   Place
		learn    bool
		moves    float64 // share of the deviation
		afterAge float64
	}{
		{"young", 0, 0, 0.2, None, true, 10.0 / 1200, 10},
		{"twenty minutes old", 1200, 0, 0.2, None, true, 10.0 / 1210, 1210},
		{"old", 3595, 0, 0.2, None, true, 10.0 / 3600, 3600},
		{"must not learn", 1200, 0, 0.2, None, false, 0, 1200},
		{"settling", 1200, 10.5, 0.2, None, true, 0, 1200},
		{"settled in this block", 1200, 10, 0.2, None, true, 10.0 / 1210, 1210},
		{"a probe is out", 1200, 0, 0.2, Guard, true, 0, 1200},
		{"0.3 K away", 1200, 0, 0.4 - 1e-12, None, true, 10.0 / 1210, 1210},
		{"beyond 0.3 K", 1200, 0, 0.4 + 1e-9, None, true, 0, 1200},
		{"beyond 0.3 K, downward", 1200, 0, -0.2 - 1e-9, None, true, 0, 1200},
	} {
		p := &pair{base: 0.1, age: c.age, settle: c.settle, jumped: c.jumped, variance: 0.02}
		p.allowance(0, 1)
		p.sum, p.n = 3*c.differs, 3
		p.block(10, 0, false, c.learn)
		dev := c.differs - 0.1
		if want := 0.1 + c.moves*dev; math.Abs(p.base-want) > 1e-10 || p.age != c.afterAge {
			t.Errorf("%s: baseline %v of age %v, want %v of %v", c.name, p.base, p.age, want, c.afterAge)
		}
		variance := 0.02
		if c.moves > 0 {
			variance += (dev*dev - 0.02) * 10 / 3600
		}
		if math.Abs(p.variance-variance) > 1e-10 {
			t.Errorf("%s: variance %v, want %v", c.name, p.variance, variance)
		}
		if want := max(0, c.settle-10); p.settle != want {
			t.Errorf("%s: settles for another %v s, want %v", c.name, p.settle, want)
		}
	}
}

// Layers: the difference that the pad makes is learned by two hundredths of the
// error in four blocks, shared as the pad is; what is missing of it is averaged
// over two minutes and weighed against its usual scatter.
func TestLayersUnderThePad(t *testing.T) {
	for _, pad := range []float64{0, 0.3, 1} {
		p := &pair{still: 0.05, rise: -0.2, lean: 0.01, leanVar: 0.0004, leanAge: 100}
		p.layers(10, 0.12, pad, true)
		err := 0.12 - 0.05 + 0.2*pad
		lean := 0.01 + (err-0.01)*10/120
		for name, c := range map[string][2]float64{
			"rest": {p.still, 0.05 + 0.005*err*(1-pad)}, "rise": {p.rise, -0.2 + 0.005*err*pad}, "lean": {p.lean, lean},
			"scatter": {p.leanVar, 0.0004 + (lean*lean-0.0004)*10/3600}, "age": {p.leanAge, 110},
		} {
			if math.Abs(c[0]-c[1]) > 1e-12 {
				t.Errorf("pad %v: %s is %v, want %v", pad, name, c[0], c[1])
			}
		}
		q := &pair{still: 0.05, rise: -0.2, lean: 0.01, leanVar: 0.0004, leanAge: 100}
		q.layers(10, 0.12, pad, false)
		if q.still != 0.05 || q.rise != -0.2 || q.leanVar != 0.0004 || q.leanAge != 100 || math.Abs(q.lean-lean) > 1e-12 {
			t.Errorf("pad %v: without learning it becomes %+v", pad, q)
		}
	}
	for _, c := range []struct {
		name                     string
		age, rise, lean, scatter float64
		part                     float64
		known                    bool
	}{
		{"obeyed", 7200, 0.3, 0, 0.0001, 0, true},
		{"a dead pad", 7200, 0.3, -0.3, 0.0001, 1, true},
		{"a lid off", 7200, 0.3, 0.15, 0.0001, -0.5, true},
		{"not two hours old", 7199, 0.3, -0.3, 0.0001, 0, false},
		{"a rise of one and a half deviations", 7200, 0.3, -0.3, 0.04 - 1e-9, 1, true},
		{"a rise of a hair less", 7200, 0.3, -0.3, 0.04 + 1e-9, 0, false},
		{"no rise", 7200, 0, -0.3, 0, 0, false},
		{"upside down", 7200, -0.3, -0.3, 0.0001, 0, false},
	} {
		p := &pair{leanAge: c.age, rise: c.rise, lean: c.lean, leanVar: c.scatter}
		if part, known := p.missing(); known != c.known || math.Abs(part-c.part) > 1e-12 {
			t.Errorf("%s: %v missing, known %v", c.name, part, known)
		}
	}
	// They are learned only when the water has settled.
	for _, settle := range []float64{0, 5} {
		p := &pair{settle: settle, jumped: None}
		p.sum, p.n = 0.3, 1
		p.allowance(0, 1)
		if p.block(10, 1, true, true); (p.leanAge > 0) != (settle == 0) {
			t.Errorf("settling for %v s: layers of age %v", settle, p.leanAge)
		}
	}
}

// A block's difference is the mean of its seconds.
func TestBlockTakesTheMean(t *testing.T) {
	p := &pair{jumped: None, age: pairLag}
	p.allowance(0, 1)
	for _, d := range []float64{0.1, 0.2, 0.6} {
		p.step(1, d)
	}
	if p.block(10, 0, false, false); math.Abs(p.past[0]-0.3) > 1e-12 || p.n != 0 || p.sum != 0 {
		t.Errorf("the block's mean is %v", p.past[0])
	}
}

// step is one second's pair of readings.
func (p *pair) step(h, difference float64) {
	if !p.near(difference) {
		p.apart(h, difference)
	}
}
