package journal

import (
	"slices"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/loop"
)

// block collects the ticks of one station until it is closed.
type block struct {
	station string
	probes  int
	count   int     // of ticks
	rows    []int64 // a row a tick, each in the order of the columns
	acts    []entry.TickAct
	ticks   entry.Ticks   // made of them at the end
	last    time.Duration // the moment of the last tick
	ends    time.Duration // ticks from then on belong into another block
	gap     time.Duration // rule of a running treatment, 0 for none
}

// add appends one tick.
func (b *block) add(in *controller.Input, out *controller.Output, acts []controller.Act) {
	if b.count == 0 {
		b.probes = min(len(in.Readings), entry.MaxProbes)
	}
	b.last = in.Now
	rows := append(b.rows, int64(in.Now), int64(in.Health.LateBy), healthBits(in), int64(in.Treatment.Target),
		int64(in.PadSeen)|int64(in.SeriesSeen)<<2, commandBits(out), int64(out.Reason), int64(out.Effective), int64(out.Governing))
	for i := range in.Readings[:b.probes] {
		r := &in.Readings[i]
		rows = append(rows, int64(r.Code), int64(r.Value), int64(r.At), int64(r.Quality)<<8|int64(r.Flaw))
	}
	b.rows = rows
	for _, a := range acts {
		b.acts = append(b.acts, entry.TickAct{Tick: b.count, Act: actOf(&a)})
	}
	b.count++
}

// full says whether the next tick, at now, belongs into another block.
func (b *block) full(now time.Duration, probes int) bool {
	return b.count > 0 && (b.count >= entry.MaxTicks || now >= b.ends || b.probes != min(probes, entry.MaxProbes))
}

// whole is the block as it is recorded, until the next reset.
func (b *block) whole() *entry.Ticks {
	t := &b.ticks
	t.Kept, t.Probes, t.Acts = b.gap > 0, b.probes, b.acts
	width := entry.Columns(b.probes)
	for len(t.Columns) < width {
		t.Columns = append(t.Columns, nil)
	}
	t.Columns = t.Columns[:width]
	for c := range t.Columns {
		column := slices.Grow(t.Columns[c][:0], b.count)[:b.count]
		for i, at := 0, c; i < len(column); i, at = i+1, at+width {
			column[i] = b.rows[at]
		}
		t.Columns[c] = column
	}
	return t
}

// reset empties the block and keeps its memory.
func (b *block) reset() { b.count, b.rows, b.acts = 0, b.rows[:0], b.acts[:0] }

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
