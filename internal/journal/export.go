package journal

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// Filter chooses what is exported. The zero value takes everything.
type Filter struct {
	Station  string // empty: every station, and what is about the bench
	Bench    bool   // what is about the bench as well, when Station is given
	From, To time.Time
	Kinds    []entry.Kind
	Every    time.Duration // readings at most this often, 0 for every tick
}

// Line is one line of an export: an entry, or one tick of a block.
type Line struct {
	Seq     uint64    `json:"seq"`
	Run     uint32    `json:"run"`
	NowS    float64   `json:"now_s"` // monotonic, since the start of the run
	Time    time.Time `json:"time"`
	Sure    bool      `json:"time_sure"` // the clock had been set by something trustworthy
	Station string    `json:"station"`
	Kind    string    `json:"kind"`
	Topic   string    `json:"topic,omitempty"` // of a document
	Text    string    `json:"text"`
	HeatOn  *bool     `json:"heat_on,omitempty"`
	// Switching: an ordinary switching of the operating control.
	Switching bool            `json:"switching,omitempty"`
	Probes    []ProbeLine     `json:"probes,omitempty"`
	Blocks    []entry.Summary `json:"blocks,omitempty"` // of thinned ones
}

// ProbeLine is one probe's reading. The value is null where there is none.
type ProbeLine struct {
	ValueC  *float64 `json:"value_c"`
	Quality string   `json:"quality"`
	Flaw    string   `json:"flaw,omitempty"`
}

// Export calls f with every line that the filter takes, in the order of the
// record.
func Export(src verify.Source, filter Filter, f func(*Line) error) error {
	times, err := NewTimeline(src)
	if err != nil {
		return err
	}
	last := map[string]time.Duration{}
	return src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		// What is not asked for is not taken apart.
		if kind, h, err := entry.Peek(r.Body); err == nil && !filter.takes(kind, h.Station) {
			return nil
		}
		e, err := decodeRow(r)
		if err != nil {
			return err
		}
		ticks, isTicks := e.Body.(*entry.Ticks)
		if !isTicks {
			return filter.give(times, e, e.Now, &Line{Text: Describe(e), Topic: topic(e), Blocks: blocksOf(e), Switching: switching(e)}, f)
		}
		for i := range ticks.Len() {
			now := time.Duration(ticks.Columns[entry.ColNow][i])
			key := e.Station + "/" + strconv.FormatUint(uint64(e.Run), 10)
			if before, known := last[key]; known && filter.Every > 0 && now-before < filter.Every {
				continue
			}
			last[key] = now
			if err := filter.give(times, e, now, tickLine(ticks, i), f); err != nil {
				return err
			}
		}
		return nil
	})
}

func topic(e *entry.Entry) string {
	if d, ok := e.Body.(*entry.Document); ok {
		return d.Topic
	}
	return ""
}

func switching(e *entry.Entry) bool {
	b, ok := e.Body.(*entry.Event)
	return ok && (controller.EventKind(b.Event) == controller.HeatSwitched || controller.EventKind(b.Event) == controller.SeriesSwitched)
}

func blocksOf(e *entry.Entry) []entry.Summary {
	if t, ok := e.Body.(*entry.Thinned); ok {
		return t.Blocks
	}
	return nil
}

func (q *Filter) takes(kind entry.Kind, station string) bool {
	if q.Station != "" && station != q.Station && !(q.Bench && station == "") {
		return false
	}
	for _, k := range q.Kinds {
		if k == kind {
			return true
		}
	}
	return len(q.Kinds) == 0
}

func (q *Filter) give(times *Timeline, e *entry.Entry, now time.Duration, l *Line, f func(*Line) error) error {
	wall, sure := times.Moment(e.Header, now)
	if !q.From.IsZero() && wall.Before(q.From) || !q.To.IsZero() && !wall.Before(q.To) {
		return nil
	}
	l.Seq, l.Run, l.NowS, l.Time, l.Sure = e.Seq, e.Run, now.Seconds(), wall, sure
	l.Station, l.Kind = e.Station, e.Body.Kind().String()
	return f(l)
}

func tickLine(b *entry.Ticks, i int) *Line {
	out := OutputOf(b, i)
	heat := out.Command.Pad
	l := &Line{HeatOn: &heat, Text: "heat permitted"}
	if !out.Permitted {
		l.Text = "heat withheld: " + out.Reason.String()
	}
	for p := range b.Probes {
		r := ReadingOf(b, i, p)
		line := ProbeLine{Quality: r.Quality.String()}
		if r.Quality >= controller.Suspect {
			c := Celsius(r.Value)
			line.ValueC = &c
		}
		if r.Flaw != controller.NoFlaw {
			line.Flaw = r.Flaw.String()
		}
		l.Probes = append(l.Probes, line)
	}
	return l
}

// ExportJSON writes JSON lines.
func ExportJSON(w io.Writer, src verify.Source, filter Filter) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return Export(src, filter, func(l *Line) error { return enc.Encode(l) })
}

// ExportCSV writes a table with a column for each of the most probes that any
// station has. A cell without a value is a reading that does not exist.
func ExportCSV(w io.Writer, src verify.Source, filter Filter) error {
	most := 0
	err := src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		if kind, h, err := entry.Peek(r.Body); err == nil && (kind != entry.KindTicks || !filter.takes(kind, h.Station)) {
			return nil
		}
		e, err := decodeRow(r)
		if err == nil {
			most = max(most, e.Body.(*entry.Ticks).Probes)
		}
		return err
	})
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	head := []string{"time", "time_sure", "station", "kind", "text", "heat_on"}
	for p := range most {
		head = append(head, fmt.Sprintf("probe %d [C]", p+1), fmt.Sprintf("probe %d quality", p+1))
	}
	if err := out.Write(append(head, "run", "now_s", "seq")); err != nil {
		return fmt.Errorf("writing the export: %w", err)
	}
	err = Export(src, filter, func(l *Line) error { return out.Write(l.cells(most)) })
	if err != nil {
		return fmt.Errorf("writing the export: %w", err)
	}
	out.Flush()
	return out.Error()
}

func (l *Line) cells(most int) []string {
	row := []string{l.Time.Format("2006-01-02T15:04:05.000Z07:00"), strconv.FormatBool(l.Sure), l.Station, l.Kind, l.Text, ""}
	if l.HeatOn != nil {
		row[5] = strconv.FormatBool(*l.HeatOn)
	}
	for p := range most {
		value, quality := "", ""
		if p < len(l.Probes) {
			quality = l.Probes[p].Quality
			if l.Probes[p].Flaw != "" {
				quality += ": " + l.Probes[p].Flaw
			}
			if v := l.Probes[p].ValueC; v != nil {
				value = strconv.FormatFloat(*v, 'f', 4, 64)
			}
		}
		row = append(row, value, quality)
	}
	return append(row, strconv.FormatUint(uint64(l.Run), 10), strconv.FormatFloat(l.NowS, 'f', 3, 64), strconv.FormatUint(l.Seq, 10))
}
