package entry

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// samples is one entry of every kind. The values are invented.
func samples() []Entry {
	text := []byte("name = \"bench\"\n")
	bodies := []Body{
		&Start{"power came back", "1.0", "b", true}, &Stop{"asked"},
		&Config{"tub.toml", text, sha256.Sum256(text)}, &Settings{"1.0", []byte(`{"a":1}`)},
		sampleTicks(300, 3),
		&Event{4, 3, 1, 2, 0, true, -1, 9, 302_550_000_000},
		&Act{2, 1, 2, 3, 0, time.Minute, 7, "A. Keeper", "looked"},
		&Relay{"pad-north", true, "device gone"}, &Jump{1_700_000_000_000, true},
		&State{[]byte{1, 2, 3}}, &Note{"A. Keeper", "drank"},
		&Document{"treatment", "1", []byte(`{"target":"45C"}`)},
		&Thinned{"card full", []Summary{{5, "north", 1, 1, 2, 300, 20, []Extremes{{1, 2, 3}}}}},
		&Lost{"card full", 1, 2}, &Proof{[]byte("nonce")}, &Restored{[]byte{4, 5}}, &Reopened{"a panic", "at main.go:1"},
	}
	out := make([]Entry, len(bodies))
	for i, b := range bodies {
		out[i] = Entry{Header{uint64(i + 1), 3, time.Duration(i) * time.Second, 1_700_000_000_000, i%2 == 0, "north"}, b}
	}
	return out
}

// sampleTicks makes a block as a quiet station gives it.
func sampleTicks(n, probes int) *Ticks {
	b := &Ticks{Probes: probes, Columns: make([][]int64, Columns(probes))}
	for i := range n {
		put := func(col int, v int64) { b.Columns[col] = append(b.Columns[col], v) }
		now := int64(i)*1_000_000_000 + int64(i*7919%3)*1_000_000
		put(ColNow, now)
		put(ColLate, now%1_000_000_000)
		put(ColHealth, 3)
		put(ColTarget, 0)
		put(ColContacts, 0)
		put(ColCommand, int64(i/100%2))
		put(ColReason, 0)
		put(ColEffective, 302_594_444_444+int64(i)*555_555)
		put(ColGoverning, 0)
		for p := range probes {
			code := int64(470 + i*i*31%17/12 + p)
			put(ProbeColumn(p, ColCode), code)
			put(ProbeColumn(p, ColValue), celsiusZero+code*codeStep+120_000_000)
			put(ProbeColumn(p, ColAt), now-800_000_000)
			put(ProbeColumn(p, ColGrade), 3<<8)
		}
	}
	b.Acts = []TickAct{{2, Act{Act: 6}}, {2, Act{Act: 9}}}
	return b
}

func TestEveryKindComesBack(t *testing.T) {
	seen := map[Kind]bool{}
	for _, e := range samples() {
		b := e.Append(nil)
		got, err := Decode(b)
		if err != nil {
			t.Fatalf("%s: %v", e.Body.Kind(), err)
		}
		if !reflect.DeepEqual(got, e) {
			t.Errorf("%s: got %+v, want %+v", e.Body.Kind(), got, e)
		}
		kind, h, err := Peek(b)
		if err != nil || kind != e.Body.Kind() || h != e.Header {
			t.Errorf("Peek: %v %+v %v", kind, h, err)
		}
		seen[kind] = true
		if k, ok := KindOf(kind.String()); !ok || k != kind {
			t.Errorf("the word %q leads to %v", kind, k)
		}
	}
	for k := KindStart; k < kindCount; k++ {
		if !seen[k] {
			t.Errorf("no sample of %s", k)
		}
	}
}

func TestAnyShorterFormIsRefused(t *testing.T) {
	for _, e := range samples() {
		b := e.Append(nil)
		for n := range len(b) {
			if _, err := Decode(b[:n]); !errors.Is(err, ErrForm) {
				t.Fatalf("%s cut to %d of %d bytes: %v", e.Body.Kind(), n, len(b), err)
			}
		}
		if _, err := Decode(append(bytes.Clone(b), 0)); !errors.Is(err, ErrForm) {
			t.Errorf("%s with a byte too many: %v", e.Body.Kind(), err)
		}
	}
}

func TestQuietBlockIsSmall(t *testing.T) {
	b := Encode(sampleTicks(300, 3))
	if n := len(b.Bytes); n > 600 {
		t.Errorf("300 ticks of three probes take %d bytes", n)
	} else {
		t.Logf("300 ticks of three probes take %d bytes", n)
	}
}

func TestAnyColumnComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.SliceOfN(rapid.Int64(), 1, 40)
		calm := rapid.SliceOfN(rapid.Int64Range(-3, 3), 1, 400)
		v := rapid.OneOf(wild, calm).Draw(t, "column")
		b := appendColumn(nil, v)
		c := codec{b: b, reading: true}
		if got := c.column(len(v)); !reflect.DeepEqual(got, v) || c.err != nil || c.off != len(b) {
			t.Fatalf("got %v, %v, read %d of %d", got, c.err, c.off, len(b))
		}
	})
}

func FuzzDecode(f *testing.F) {
	for _, e := range samples() {
		f.Add(e.Append(nil))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := Decode(b)
		if err != nil {
			return
		}
		if again := e.Append(nil); !bytes.Equal(again, b) {
			t.Fatalf("accepted %x, writes %x", b, again)
		}
	})
}

func BenchmarkBlock(b *testing.B) {
	block := sampleTicks(300, 3)
	e := Entry{Header{Seq: 1}, block}
	bytes := e.Append(nil)
	b.Run("write", func(b *testing.B) {
		for b.Loop() {
			e.Append(nil)
		}
	})
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			if _, err := Decode(bytes); err != nil {
				b.Fatal(err)
			}
		}
	})
}
