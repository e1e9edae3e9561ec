package entry

import "time"

// The columns of a block that every station has.
const (
	ColNow       = iota // nanoseconds, monotonic
	ColLate             // Health.LateBy, nanoseconds
	ColHealth           // the flags of Health and of a treatment as bits, Restarts above them
	ColTarget           // of a treatment, nanokelvin
	ColContacts         // feedback of the pad relay, and of the series relay times 4
	ColCommand          // the command as bits, and whether heat was permitted
	ColReason           // the cause that withholds heat
	ColEffective        // the set point that governs, nanokelvin
	ColGoverning        // index of the governing probe, −1 for none
	colFixed
)

// The columns of each probe, after the fixed ones.
const (
	ColCode  = iota // raw code, 1/16 °C
	ColValue        // nanokelvin, calibrated
	ColAt           // nanoseconds: when the conversion started
	ColGrade        // quality times 256 plus flaw
	colProbe
)

// Columns is the number of columns of a station with so many probes.
func Columns(probes int) int { return colFixed + probes*colProbe }

// ProbeColumn is the index of a column of probe p.
func ProbeColumn(p, col int) int { return colFixed + p*colProbe + col }

// Ticks is a block of ticks of the station in the header, whose Now is that of
// the last tick.
type Ticks struct {
	Kept    bool // recorded under a gap rule: never thinned
	Probes  int
	Columns [][]int64 // Columns(Probes) of one length, 1 to MaxTicks
	Acts    []TickAct
}

// TickAct is an act that a tick's input carried, in the order of the input.
type TickAct struct {
	Tick int // index in the block
	Act      // Who and Why are empty: the act has an entry of its own
}

// Kind makes Ticks a Body.
func (*Ticks) Kind() Kind { return KindTicks }

// Len is the number of ticks.
func (b *Ticks) Len() int {
	if len(b.Columns) == 0 {
		return 0
	}
	return len(b.Columns[0])
}

var units = [...]int64{int64(time.Millisecond), int64(time.Microsecond), 1}

func (b *Ticks) walk(c *codec) {
	c.flag(&b.Kept)
	c.length(&b.Probes, MaxProbes)
	n := b.Len()
	c.length(&n, MaxTicks)
	if c.reading {
		if c.err == nil && n == 0 {
			c.failf("a block without ticks")
		}
		if c.err == nil {
			b.read(c, n)
		}
	} else {
		b.write(c)
	}
	count := len(b.Acts)
	c.length(&count, maxList)
	for i := 0; i < count && c.err == nil; i++ {
		if c.reading {
			b.Acts = append(b.Acts, TickAct{})
		}
		c.length(&b.Acts[i].Tick, MaxTicks-1)
		b.Acts[i].numbers(c)
		if c.reading && (b.Acts[i].Tick >= n || i > 0 && b.Acts[i].Tick < b.Acts[i-1].Tick) {
			c.failf("an act at tick %d out of place", b.Acts[i].Tick)
		}
	}
}

// unit is the coarsest unit of time that loses nothing. To divide by a number
// that the compiler knows is many times as quick.
func (b *Ticks) unit() uint8 {
	unit := uint8(0)
	b.times(func(col []int64) {
		for _, t := range col {
			if unit == 0 && t%int64(time.Millisecond) != 0 {
				unit = 1
			}
			if unit == 1 && t%int64(time.Microsecond) != 0 {
				unit = 2
			}
		}
	})
	return unit
}

// scaled is a column of times in a unit.
func scaled(col []int64, unit uint8) []int64 {
	out := make([]int64, len(col))
	switch unit {
	case 0:
		for i, t := range col {
			out[i] = t / int64(time.Millisecond)
		}
	case 1:
		for i, t := range col {
			out[i] = t / int64(time.Microsecond)
		}
	default:
		copy(out, col)
	}
	return out
}

// times calls f with every column that holds times.
func (b *Ticks) times(f func([]int64)) {
	f(b.Columns[ColNow])
	f(b.Columns[ColLate])
	for p := range b.Probes {
		f(b.Columns[ProbeColumn(p, ColAt)])
	}
}

func (b *Ticks) write(c *codec) {
	unit := b.unit()
	c.byte(&unit)
	now := scaled(b.Columns[ColNow], unit)
	c.b = appendColumn(c.b, now)
	c.relative(scaled(b.Columns[ColLate], unit), now)
	for col := ColHealth; col < colFixed; col++ {
		c.b = appendColumn(c.b, b.Columns[col])
	}
	before := now
	for p := range b.Probes {
		at := scaled(b.Columns[ProbeColumn(p, ColAt)], unit)
		c.relative(at, before)
		before = at
		code := b.Columns[ProbeColumn(p, ColCode)]
		c.b = appendColumn(c.b, code)
		var guess guesser
		value := append([]int64(nil), b.Columns[ProbeColumn(p, ColValue)]...)
		for i, v := range value {
			value[i] -= guess.next(code[i])
			guess.learn(code[i], v)
		}
		c.b = appendColumn(c.b, value)
		c.b = appendColumn(c.b, b.Columns[ProbeColumn(p, ColGrade)])
	}
}

// relative writes v as it is or as its distance to ref, whichever is shorter.
// Conversions start at a nearly constant distance to the tick or to one
// another, while the tick itself trembles.
func (c *codec) relative(v, ref []int64) {
	d := make([]int64, len(v))
	for i := range v {
		d[i] = v[i] - ref[i]
	}
	// Nearly always one of them is constant, and no other way can be shorter:
	// then the other need not be tried.
	still, steady := changesOf(v) == 0, changesOf(d) == 0
	var plain, distance []byte
	if still || !steady {
		plain = appendColumn([]byte{0}, v)
	}
	if plain == nil || !still || steady || len(plain) > 1+leastColumn(d[0]) {
		distance = appendColumn([]byte{1}, d)
	}
	if plain == nil && len(distance) >= 1+leastColumn(v[0]) {
		plain = appendColumn([]byte{0}, v)
	}
	if distance == nil || plain != nil && len(plain) <= len(distance) {
		c.b = append(c.b, plain...)
	} else {
		c.b = append(c.b, distance...)
	}
}

func (b *Ticks) read(c *codec, n int) {
	var unit uint8
	c.byte(&unit)
	if int(unit) >= len(units) {
		c.failf("unit of time %d is unknown", unit)
		return
	}
	b.Columns = make([][]int64, Columns(b.Probes))
	now := c.column(n)
	b.Columns[ColNow] = now
	b.Columns[ColLate] = c.readRelative(now)
	for col := ColHealth; col < colFixed; col++ {
		b.Columns[col] = c.column(n)
	}
	before := now
	for p := 0; p < b.Probes && c.err == nil; p++ {
		at := c.readRelative(before)
		b.Columns[ProbeColumn(p, ColAt)], before = at, at
		code := c.column(n)
		b.Columns[ProbeColumn(p, ColCode)] = code
		value := c.column(n)
		var guess guesser
		for i := range value {
			value[i] += guess.next(code[i])
			guess.learn(code[i], value[i])
		}
		b.Columns[ProbeColumn(p, ColValue)] = value
		b.Columns[ProbeColumn(p, ColGrade)] = c.column(n)
	}
	if c.err != nil {
		return
	}
	b.times(func(col []int64) {
		for i := range col {
			col[i] *= units[unit]
		}
	})
}

func (c *codec) readRelative(ref []int64) []int64 {
	var distance uint8
	c.byte(&distance)
	v := c.column(len(ref))
	if distance == 1 {
		for i := range v {
			v[i] += ref[i]
		}
	} else if distance != 0 {
		c.failf("a column relative to %d", distance)
	}
	return v
}

// guesser foretells a calibrated value from the raw code: the value that the
// same code had before in the block, else the last value moved by the distance
// of the codes. A calibration by an offset is foretold exactly.
type guesser struct {
	codes  [32]int64
	values [32]int64
	known  uint32
	code   int64
	value  int64
	begun  bool
}

const (
	codeStep    = 62_500_000      // nanokelvin: 1/16 K
	celsiusZero = 273_150_000_000 // nanokelvin
)

func (g *guesser) next(code int64) int64 {
	i := code & 31
	switch {
	case g.known>>i&1 == 1 && g.codes[i] == code:
		return g.values[i]
	case g.begun:
		return g.value + (code-g.code)*codeStep
	}
	return celsiusZero + code*codeStep
}

func (g *guesser) learn(code, value int64) {
	i := code & 31
	g.codes[i], g.values[i] = code, value
	g.known |= 1 << i
	g.code, g.value, g.begun = code, value, true
}

// Encoded is a body that was encoded beforehand. It can only be written.
type Encoded struct {
	Of    Kind
	Bytes []byte
}

// Encode encodes a body without its header.
func Encode(b Body) Encoded {
	var c codec
	b.walk(&c)
	return Encoded{Of: b.Kind(), Bytes: c.b}
}

// Kind is that of the body that was encoded.
func (e Encoded) Kind() Kind { return e.Of }

func (e Encoded) walk(c *codec) {
	if c.reading {
		panic("entry: an encoded body cannot be read into")
	}
	c.b = append(c.b, e.Bytes...)
}
