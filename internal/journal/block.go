package journal

import (
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/loop"
)

// block collects the ticks of one station until it is closed.
type block struct {
	station string
	ticks   entry.Ticks
	last    time.Duration
	ends    time.Duration // ticks from then on belong into another block
	gap     time.Duration // rule of a running treatment, 0 for none
}

// add appends one tick.
func (b *block) add(in *controller.Input, out *controller.Output, acts []controller.Act) {
	t := &b.ticks
	n := t.Len()
	if n == 0 {
		t.Probes = min(len(in.Readings), entry.MaxProbes)
		for want := entry.Columns(t.Probes); len(t.Columns) < want; {
			t.Columns = append(t.Columns, make([]int64, 0, 300))
		}
	}
	b.last = in.Now
	put := func(col int, v int64) { t.Columns[col] = append(t.Columns[col], v) }
	put(entry.ColNow, int64(in.Now))
	put(entry.ColLate, int64(in.Health.LateBy))
	put(entry.ColHealth, healthBits(in))
	put(entry.ColTarget, int64(in.Treatment.Target))
	put(entry.ColContacts, int64(in.PadSeen)|int64(in.SeriesSeen)<<2)
	put(entry.ColCommand, commandBits(out))
	put(entry.ColReason, int64(out.Reason))
	put(entry.ColEffective, int64(out.Effective))
	put(entry.ColGoverning, int64(out.Governing))
	for p := range t.Probes {
		r := &in.Readings[p]
		put(entry.ProbeColumn(p, entry.ColCode), int64(r.Code))
		put(entry.ProbeColumn(p, entry.ColValue), int64(r.Value))
		put(entry.ProbeColumn(p, entry.ColAt), int64(r.At))
		put(entry.ProbeColumn(p, entry.ColGrade), int64(r.Quality)<<8|int64(r.Flaw))
	}
	for _, a := range acts {
		t.Acts = append(t.Acts, entry.TickAct{Tick: n, Act: actOf(&a)})
	}
}

// full says whether the next tick, at now, belongs into another block.
func (b *block) full(now time.Duration, probes int) bool {
	n := b.ticks.Len()
	return n > 0 && (n >= entry.MaxTicks || now >= b.ends || b.ticks.Probes != min(probes, entry.MaxProbes))
}

// reset empties the block and keeps its memory.
func (b *block) reset() {
	for i := range b.ticks.Columns {
		b.ticks.Columns[i] = b.ticks.Columns[i][:0]
	}
	b.ticks.Acts = b.ticks.Acts[:0]
}

func actOf(a *controller.Act) entry.Act {
	return entry.Act{
		Act: uint8(a.Kind), Cause: uint8(a.Cause), Place: uint8(a.Place), Seen: uint8(a.Seen),
		Value: int64(a.Value), Span: a.Span, Number: a.Number,
	}
}

func actEntry(a *loop.ActRequest) *entry.Act {
	out := actOf(&a.Act)
	out.Who, out.Why = clip(a.Who), clip(a.Why)
	return &out
}

// EventOf is an event in the record's numbers.
func EventOf(e *controller.Event) entry.Event {
	return entry.Event{
		Event: uint8(e.Kind), Cause: uint8(e.Cause), From: e.From, To: e.To, Refusal: uint8(e.Refusal),
		On: e.On, Probe: e.Probe, Number: e.Number, Value: int64(e.Value),
	}
}

// longestWords bounds a person's words, so that no entry is refused for them.
const longestWords = 4096

func clip(s string) string {
	if len(s) > longestWords {
		return strings.ToValidUTF8(s[:longestWords], "")
	}
	return s
}

// Summarise gives the extremes and counts of a block.
func Summarise(h entry.Header, t *entry.Ticks) entry.Summary {
	n := t.Len()
	s := entry.Summary{
		Seq: h.Seq, Station: h.Station, Run: h.Run, Ticks: uint64(n), Probes: make([]entry.Extremes, t.Probes),
		First: time.Duration(t.Columns[entry.ColNow][0]), Last: time.Duration(t.Columns[entry.ColNow][n-1]),
	}
	for _, c := range t.Columns[entry.ColCommand] {
		s.HeatOn += uint64(c & 1)
	}
	for p := range s.Probes {
		x := &s.Probes[p]
		seen := false
		for i, v := range t.Columns[entry.ProbeColumn(p, entry.ColValue)] {
			if controller.Quality(t.Columns[entry.ProbeColumn(p, entry.ColGrade)][i]>>8) < controller.Suspect {
				x.Bad++
				continue
			}
			if !seen || v < x.Min {
				x.Min = v
			}
			if !seen || v > x.Max {
				x.Max = v
			}
			seen = true
		}
	}
	return s
}
