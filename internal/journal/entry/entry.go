package entry

import (
	"bytes"
	"errors"
	"fmt"
	"time"
)

// Format is the first byte of every entry.
const Format = 1

// Bounds of what one entry may hold.
const (
	MaxText   = 1 << 20 // bytes of one text or byte string
	MaxTicks  = 600     // ticks in one block
	MaxProbes = 32      // probes of one station
	maxList   = 4096    // items of one list
)

// Kind says what an entry records. The zero value records nothing.
type Kind uint8

// The kinds of entry. The numbers are on disk: they are never given out again.
const (
	NoKind       Kind = iota
	KindStart         // the program started
	KindStop          // the program stopped in order
	KindConfig        // the text of the configuration
	KindSettings      // what one station was told
	KindTicks         // a block of ticks of one station: the whole input and the command
	KindEvent         // something happened at a station
	KindAct           // a person acted
	KindRelay         // a relay was switched, or could not be
	KindJump          // the wall clock was stepped, or became trusted
	KindState         // the saved state of a station, its latches among it
	KindNote          // a person's words
	KindDocument      // canonical JSON of a treatment, a case, a calibration
	KindThinned       // blocks whose detail was given up for space
	KindLost          // entries that could not be kept
	KindProof         // a write that was read back
	KindRestored      // the saved state that a station began a run with
	KindReopened      // the file had to be opened again
	kindCount
)

var kindNames = [kindCount]string{"nothing", "start", "stop", "configuration", "settings", "ticks", "event",
	"act", "relay", "clock", "state", "note", "document", "thinned", "lost", "proof", "restored", "reopened"}

// String is the word for the kind that exports and filters use.
func (k Kind) String() string {
	if k < kindCount {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// Kinds lists the words of all kinds of entry.
func Kinds() []string { return append([]string(nil), kindNames[1:]...) }

// KindOf finds the kind with this word.
func KindOf(word string) (Kind, bool) {
	for k := KindStart; k < kindCount; k++ {
		if kindNames[k] == word {
			return k, true
		}
	}
	return NoKind, false
}

// Header is what every entry says of itself.
type Header struct {
	Seq     uint64        // position in the journal, from 1
	Run     uint32        // start of the program, counted from 1 over the journal's life
	Now     time.Duration // monotonic, since that start
	Wall    int64         // Unix milliseconds, UTC, as the clock stood
	Trusted bool          // the wall clock was set by something trustworthy
	Station string        // empty when it is about the whole bench
}

// Entry is one thing in the journal.
type Entry struct {
	Header
	Body Body
}

// Body is what an entry of one kind holds.
type Body interface {
	Kind() Kind
	walk(*codec) // reads or writes every field in order
}

// Append adds the canonical bytes of e to dst.
func (e *Entry) Append(dst []byte) []byte {
	c := codec{b: dst}
	kind := e.Body.Kind()
	c.b = append(c.b, Format, byte(kind))
	c.header(&e.Header)
	e.Body.walk(&c)
	return c.b
}

// ErrForm is under every error of Decode: the bytes are not an entry that this
// program would have written.
var ErrForm = errors.New("not an entry in canonical form")

// Decode reads one entry. It refuses whatever Append would not have written.
func Decode(b []byte) (Entry, error) {
	if len(b) < 2 {
		return Entry{}, fmt.Errorf("%w: %d bytes are too few", ErrForm, len(b))
	}
	if b[0] != Format {
		return Entry{}, fmt.Errorf("%w: format %d, this program reads format %d", ErrForm, b[0], Format)
	}
	body := newBody(Kind(b[1]))
	if body == nil {
		return Entry{}, fmt.Errorf("%w: kind %d is unknown", ErrForm, b[1])
	}
	c := codec{b: b, off: 2, reading: true}
	e := Entry{Body: body}
	c.header(&e.Header)
	body.walk(&c)
	if c.err != nil {
		return Entry{}, fmt.Errorf("%w: %s: %w", ErrForm, Kind(b[1]), c.err)
	}
	if c.off != len(b) {
		return Entry{}, fmt.Errorf("%w: %s: %d bytes too many", ErrForm, Kind(b[1]), len(b)-c.off)
	}
	if !bytes.Equal(e.Append(make([]byte, 0, len(b))), b) {
		return Entry{}, fmt.Errorf("%w: %s: the same values are written otherwise", ErrForm, Kind(b[1]))
	}
	return e, nil
}

// Peek reads the kind and header only; the body is not looked at.
func Peek(b []byte) (Kind, Header, error) {
	var h Header
	if len(b) < 2 || b[0] != Format || Kind(b[1]) == NoKind || Kind(b[1]) >= kindCount {
		return NoKind, h, ErrForm
	}
	c := codec{b: b, off: 2, reading: true}
	c.header(&h)
	if c.err != nil {
		return NoKind, h, fmt.Errorf("%w: %w", ErrForm, c.err)
	}
	return Kind(b[1]), h, nil
}

func (c *codec) header(h *Header) {
	c.uint(&h.Seq)
	c.uint32(&h.Run)
	c.duration(&h.Now)
	c.int(&h.Wall)
	c.flag(&h.Trusted)
	c.text(&h.Station)
}
