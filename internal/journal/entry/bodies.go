package entry

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"
)

// Start is the start of the program. Boot is the kernel's boot id, or a random
// one: two starts with the same Boot share one monotonic clock of the machine.
type Start struct {
	Reason  string
	Version string
	Boot    string
	Unclean bool // the run before did not stop in order
}

// Stop is the end of a run in order.
type Stop struct{ Reason string }

// Config is the text of a configuration as it was read.
type Config struct {
	Name string
	Text []byte
	Sum  [32]byte // SHA-256 of Text
}

// Settings is what one station was told, as canonical JSON, and the version of
// the decision core that was told it.
type Settings struct {
	Core string
	JSON []byte
}

// Event is one controller.Event in plain numbers.
type Event struct {
	Event   uint8 // controller.EventKind
	Cause   uint8
	From    uint8
	To      uint8
	Refusal uint8
	On      bool
	Probe   int8
	Number  uint32
	Value   int64 // nanokelvin
}

// Act is one controller.Act in plain numbers, with who and why.
type Act struct {
	Act    uint8 // controller.ActKind
	Cause  uint8
	Place  uint8
	Seen   uint8
	Value  int64 // nanokelvin
	Span   time.Duration
	Number uint32
	Who    string
	Why    string
}

// Relay is a relay that was switched, or could not be.
type Relay struct {
	Relay string
	On    bool
	Error string
}

// Jump is a step of the wall clock, or the moment when it became trusted or
// ceased to be. Wall in the header is the time after it.
type Jump struct {
	Before  int64 // Unix milliseconds that the old clock would show now
	Trusted bool  // before it
}

// State is the saved state of the station in the header.
type State struct{ State []byte }

// Note is a person's words.
type Note struct {
	Who  string
	Text string
}

// Document is canonical JSON that belongs to a topic ("treatment", "case").
type Document struct {
	Topic string
	ID    string
	JSON  []byte
}

// Thinned lists blocks whose detail was given up, with what remains of them.
type Thinned struct {
	Reason string
	Blocks []Summary
}

// Summary is what remains of one or several blocks of one station.
type Summary struct {
	Seq     uint64 // of the block, 0 when it had not been written yet
	Station string
	Run     uint32
	First   time.Duration // Now of the first and last tick
	Last    time.Duration
	Ticks   uint64
	HeatOn  uint64 // ticks with the pad relay commanded closed
	Probes  []Extremes
}

// Extremes is the span of one probe's good and suspect readings.
type Extremes struct {
	Min, Max int64  // nanokelvin; both zero when nothing could be read
	Bad      uint64 // readings that were bad or did not exist
}

// Lost counts entries that could not be kept.
type Lost struct {
	Reason string
	Events uint64 // acts, events, relay changes and other single entries
	Ticks  uint64
}

// Proof is a random number that was written and read back.
type Proof struct{ Nonce []byte }

// Reopened says why the file had to be opened again during a run, with the stack
// where it was a panic.
type Reopened struct {
	Reason string
	Stack  string
}

// Restored is the saved state that the station in the header began a run with,
// empty when it had none.
type Restored struct{ State []byte }

func newBody(k Kind) Body {
	switch k {
	case KindStart:
		return new(Start)
	case KindStop:
		return new(Stop)
	case KindConfig:
		return new(Config)
	case KindSettings:
		return new(Settings)
	case KindTicks:
		return new(Ticks)
	case KindEvent:
		return new(Event)
	case KindAct:
		return new(Act)
	case KindRelay:
		return new(Relay)
	case KindJump:
		return new(Jump)
	case KindState:
		return new(State)
	case KindNote:
		return new(Note)
	case KindDocument:
		return new(Document)
	case KindThinned:
		return new(Thinned)
	case KindLost:
		return new(Lost)
	case KindProof:
		return new(Proof)
	case KindRestored:
		return new(Restored)
	case KindReopened:
		return new(Reopened)
	}
	return nil
}

// Kind makes each type a Body.
func (*Start) Kind() Kind    { return KindStart }
func (*Stop) Kind() Kind     { return KindStop }
func (*Config) Kind() Kind   { return KindConfig }
func (*Settings) Kind() Kind { return KindSettings }
func (*Event) Kind() Kind    { return KindEvent }
func (*Act) Kind() Kind      { return KindAct }
func (*Relay) Kind() Kind    { return KindRelay }
func (*Jump) Kind() Kind     { return KindJump }
func (*State) Kind() Kind    { return KindState }
func (*Note) Kind() Kind     { return KindNote }
func (*Document) Kind() Kind { return KindDocument }
func (*Thinned) Kind() Kind  { return KindThinned }
func (*Lost) Kind() Kind     { return KindLost }
func (*Proof) Kind() Kind    { return KindProof }
func (*Restored) Kind() Kind { return KindRestored }
func (*Reopened) Kind() Kind { return KindReopened }

func (b *Start) walk(c *codec) {
	c.text(&b.Reason)
	c.text(&b.Version)
	c.text(&b.Boot)
	c.flag(&b.Unclean)
}

func (b *Stop) walk(c *codec) { c.text(&b.Reason) }

func (b *Config) walk(c *codec) {
	c.text(&b.Name)
	c.bytes(&b.Text)
	c.hash(&b.Sum)
	if c.reading && c.err == nil && b.Sum != sha256.Sum256(b.Text) {
		c.fail(fmt.Errorf("the checksum is not that of the text"))
	}
}

func (b *Settings) walk(c *codec) {
	c.text(&b.Core)
	c.json(&b.JSON)
}

func (b *Event) walk(c *codec) {
	c.uint8(&b.Event)
	c.uint8(&b.Cause)
	c.uint8(&b.From)
	c.uint8(&b.To)
	c.uint8(&b.Refusal)
	c.flag(&b.On)
	c.int8(&b.Probe)
	c.uint32(&b.Number)
	c.int(&b.Value)
}

func (b *Act) walk(c *codec) {
	b.numbers(c)
	c.text(&b.Who)
	c.text(&b.Why)
}

func (b *Act) numbers(c *codec) {
	c.uint8(&b.Act)
	c.uint8(&b.Cause)
	c.uint8(&b.Place)
	c.uint8(&b.Seen)
	c.int(&b.Value)
	c.duration(&b.Span)
	c.uint32(&b.Number)
}

func (b *Relay) walk(c *codec) {
	c.text(&b.Relay)
	c.flag(&b.On)
	c.text(&b.Error)
}

func (b *Jump) walk(c *codec) {
	c.int(&b.Before)
	c.flag(&b.Trusted)
}

func (b *State) walk(c *codec) { c.bytes(&b.State) }

func (b *Note) walk(c *codec) {
	c.text(&b.Who)
	c.text(&b.Text)
}

func (b *Document) walk(c *codec) {
	c.text(&b.Topic)
	c.text(&b.ID)
	c.json(&b.JSON)
}

func (b *Thinned) walk(c *codec) {
	c.text(&b.Reason)
	n := len(b.Blocks)
	c.length(&n, maxList)
	for i := 0; i < n && c.err == nil; i++ {
		if c.reading {
			b.Blocks = append(b.Blocks, Summary{})
		}
		b.Blocks[i].walk(c)
	}
}

func (s *Summary) walk(c *codec) {
	c.uint(&s.Seq)
	c.text(&s.Station)
	c.uint32(&s.Run)
	c.duration(&s.First)
	c.duration(&s.Last)
	c.uint(&s.Ticks)
	c.uint(&s.HeatOn)
	n := len(s.Probes)
	c.length(&n, MaxProbes)
	for i := 0; i < n && c.err == nil; i++ {
		if c.reading {
			s.Probes = append(s.Probes, Extremes{})
		}
		c.int(&s.Probes[i].Min)
		c.int(&s.Probes[i].Max)
		c.uint(&s.Probes[i].Bad)
	}
}

func (b *Lost) walk(c *codec) {
	c.text(&b.Reason)
	c.uint(&b.Events)
	c.uint(&b.Ticks)
}

func (b *Reopened) walk(c *codec) {
	c.text(&b.Reason)
	c.text(&b.Stack)
}

func (b *Restored) walk(c *codec) { c.bytes(&b.State) }

func (b *Proof) walk(c *codec) { c.bytes(&b.Nonce) }

// CanonicalJSON rewrites one JSON value with sorted keys, no spaces and its
// numbers as they stand.
func CanonicalJSON(in []byte) ([]byte, error) {
	d := json.NewDecoder(bytes.NewReader(in))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("reading JSON: %w", err)
	}
	if d.More() {
		return nil, fmt.Errorf("reading JSON: more than one value")
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("writing JSON: %w", err)
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}

func (c *codec) json(p *[]byte) {
	c.bytes(p)
	if !c.reading || c.err != nil {
		return
	}
	again, err := CanonicalJSON(*p)
	if err != nil {
		c.fail(err)
	} else if !bytes.Equal(again, *p) {
		c.fail(fmt.Errorf("the JSON is not in canonical form"))
	}
}
