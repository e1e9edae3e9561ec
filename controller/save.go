package controller

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/alarm"
)

// The saved state is
//
//	magic, version, kind | kept, sparse | length and bytes of the observer | CRC-32
//
// with little-endian integers of fixed size. There is one encoding for each
// state: what Restore accepts, Save gives back to the byte.
const (
	saveMagic   = "soakwarden station"
	saveVersion = 2
)

// ErrForeign says that the bytes are not a state that Save wrote for such a
// station. The station is latched on everything.
var ErrForeign = errors.New("controller: the saved state is damaged or not of this kind of station; every cause is latched, look at the tub and reset at the board")

// Save gives the state that must survive a restart.
func (s *Station) Save() []byte {
	c := codec{b: make([]byte, 0, 256)}
	c.b = append(append(c.b, saveMagic...), saveVersion, byte(s.set.Kind))
	s.walk(&c)
	var o []byte
	if s.obs != nil {
		o = s.obs.Save()
	}
	c.b = binary.LittleEndian.AppendUint32(c.b, uint32(len(o)))
	c.b = append(c.b, o...)
	return binary.LittleEndian.AppendUint32(c.b, crc32.ChecksumIEEE(c.b))
}

// Restore takes what Save gave, before the first Step. nil means that the store
// was read and holds nothing of this station: it starts anew, unproven. Any
// other bytes are an error, and leave the station latched on everything.
func (s *Station) Restore(b []byte) error {
	must(!s.begun, "a restore after the first step")
	s.forget()
	if b == nil {
		return nil
	}
	if !s.decode(b) || !bytes.Equal(s.Save(), b) {
		s.forget()
		s.latchEverything()
		return ErrForeign
	}
	return nil
}

// decode reads b into a station that knows nothing. It may stop half way.
func (s *Station) decode(b []byte) bool {
	head := append([]byte(saveMagic), saveVersion, byte(s.set.Kind))
	if len(b) < len(head)+8 || !bytes.Equal(b[:len(head)], head) {
		return false
	}
	end := len(b) - 4
	if crc32.ChecksumIEEE(b[:end]) != binary.LittleEndian.Uint32(b[end:]) {
		return false
	}
	c := codec{b: b[len(head):end], reading: true}
	s.walk(&c)
	n := c.number(4)
	if c.bad || n != uint64(len(c.b)) {
		return false
	}
	if s.obs == nil {
		if n != 0 {
			return false
		}
	} else if s.obs.Restore(c.b) != nil {
		return false
	}
	s.derive()
	return true
}

// forget brings the station to where it knows nothing and is latched on
// nothing.
func (s *Station) forget() {
	s.kept = kept{}
	for c := range s.marks {
		s.marks[c].probe = -1
	}
	s.worn, s.alive, s.told = 0, 0, [causeCount]alarm.State{}
	if s.set.Kind == Tub {
		o, err := s.newObserver()
		must(err == nil, "an observer that was possible is not")
		s.obs = o
	}
	s.out.Governing = -1
	s.restage()
}

// derive sets up what follows from the kept state.
func (s *Station) derive() {
	for c := range causeCount {
		m := &s.marks[c]
		s.told[c] = m.alarm.State()
		if m.held > 0 {
			s.worn |= 1 << c
		}
		if !m.alarm.Idle() {
			s.alive |= 1 << c
		}
	}
	s.restage()
}

// walk puts the kept state into the codec, or takes it out. What no station
// can have makes the codec bad.
func (k *kept) walk(c *codec) {
	c.set(&k.acting)
	c.set(&k.latched)
	var used causes
	for i := range causeCount {
		if !c.reading && k.marks[i] != (mark{probe: -1}) {
			used |= 1 << i
		}
	}
	c.set(&used)
	for i := range causeCount {
		if used.has(i) {
			k.marks[i].walk(c)
			c.demand(k.latched.has(i) == (k.marks[i].severity == Trip))
			c.demand(k.marks[i].severity == NoSeverity || (k.acting | k.latched).has(i))
		}
		c.demand(!k.latched.has(i) || rules[i].Latches)
		c.demand(!(k.acting | k.latched).has(i) || k.marks[i].severity > NoSeverity)
	}
	c.demand((k.acting|k.latched)&(1<<NoCause) == 0)

	c.span(&k.onTime)
	for i := range k.resets {
		c.span(&k.resets[i])
		c.demand(k.resets[i] <= resetsSpan)
	}
	c.flag(&k.attended)
	c.span(&k.attendedFor)
	c.small(&k.extensions, extensionsMost)
	c.span(&k.climb)
	c.span(&k.widened)
	c.span(&k.presence)
	c.small((*uint8)(&k.animal), uint8(AnimalIsOut))
	c.flag(&k.outOfService)
	c.flag(&k.everReady)
	c.flag(&k.crossed)
	c.small((*uint8)(&k.warm), uint8(HeatFromOutside))
	c.demand(k.warm == NoCause || aboutWarmth.has(k.warm))
	c.span(&k.warmFor)
	c.demand(k.warmFor <= warmLong && (k.warmFor == 0 || k.warm != NoCause))
	c.span(&k.floorAgain)
	c.demand(k.floorAgain <= floorTwice)
	c.small((*uint8)(&k.gone), uint8(NoWater))
	c.demand(k.gone == NoCause || k.gone == NoWater || k.gone == ProbeJumped)
	for i := range k.proofs {
		c.flag(&k.proofs[i].Passed)
		c.flag(&k.proofs[i].Failed)
		c.span(&k.proofs[i].Age)
	}
	c.flag(&k.waterFits)
}

func (m *mark) walk(c *codec) {
	c.span(&m.held)
	c.span(&m.away)
	c.span(&m.age)
	v := uint64(m.value)
	c.integer(&v, 8)
	m.value = physic.Temperature(v)
	p := uint8(m.probe + 1)
	c.small(&p, probesMost)
	m.probe = int8(p) - 1
	c.small((*uint8)(&m.severity), uint8(Trip))
	beneath, shelf, suppressed, out := m.alarm.Parts()
	c.small((*uint8)(&beneath), uint8(alarm.LatchedAcknowledged))
	c.span(&shelf)
	c.flag(&suppressed)
	c.flag(&out)
	made, ok := alarm.Of(beneath, shelf, suppressed, out)
	c.demand(ok)
	m.alarm = made
}

// codec reads or writes, with the same walk. Once bad it gives zeroes.
type codec struct {
	b       []byte
	reading bool
	bad     bool
}

func (c *codec) demand(held bool) { c.bad = c.bad || !held }

// number takes a little-endian number of n bytes off the front.
func (c *codec) number(n int) uint64 {
	if c.bad || len(c.b) < n {
		c.bad = true
		return 0
	}
	var v uint64
	for i := n - 1; i >= 0; i-- {
		v = v<<8 | uint64(c.b[i])
	}
	c.b = c.b[n:]
	return v
}

func (c *codec) integer(v *uint64, n int) {
	if c.reading {
		*v = c.number(n)
		return
	}
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], *v)
	c.b = append(c.b, b[:n]...)
}

func (c *codec) set(s *causes) {
	c.integer((*uint64)(s), 8)
	c.demand(*s < 1<<causeCount)
}

func (c *codec) span(d *time.Duration) {
	v := uint64(*d)
	c.integer(&v, 8)
	*d = time.Duration(v)
	c.demand(*d >= 0 && *d < spanMost)
}

// spanMost keeps sums of spans far from overflow.
const spanMost = 200 * 365 * 24 * time.Hour

func (c *codec) small(v *uint8, most uint8) {
	w := uint64(*v)
	c.integer(&w, 1)
	*v = uint8(w)
	c.demand(*v <= most)
}

func (c *codec) flag(f *bool) {
	var v uint8
	if *f {
		v = 1
	}
	c.small(&v, 1)
	*f = v == 1
}
