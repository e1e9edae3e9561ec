package replay

import (
	"bytes"
	"fmt"
	"sort"
	"time"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// Report is the answer over a whole journal.
type Report struct {
	OK          bool         `json:"ok"` // nothing differs
	Ticks       uint64       `json:"ticks"`
	Compared    uint64       `json:"compared"`
	Differences []Difference `json:"differences"`
	Stations    []Station    `json:"stations"`
}

// Station is one station in one run of the program.
type Station struct {
	Run           uint32 `json:"run"`
	Name          string `json:"name"`
	Ticks         uint64 `json:"ticks"`
	Compared      uint64 `json:"compared"`
	Different     uint64 `json:"different"`
	NotComparable string `json:"not_comparable,omitempty"` // why, from the first tick that was not compared on
}

// Difference is a decision that came out otherwise.
type Difference struct {
	Run      uint32  `json:"run"`
	Station  string  `json:"station"`
	NowS     float64 `json:"now_s"` // monotonic, since the start of the run
	What     string  `json:"what"`
	Recorded string  `json:"recorded"`
	Replayed string  `json:"replayed"`
}

const mostDifferences = 50

// life is one run of the program as the record has it.
type life struct {
	run      uint32
	stations map[string]*taking
	// missed is when inputs of unknown stations were lost, negative for never.
	missed time.Duration
}

// taking is what a life holds of one station.
type taking struct {
	settings *entry.Settings
	restored []byte
	known    bool   // restored is in the record
	again    string // settings that came later, why they end the comparison
	blocks   [][]byte
	firsts   []time.Duration
	events   map[time.Duration][]entry.Event
	hole     time.Duration // first input that is missing, negative for none
}

func (l *life) station(name string) *taking {
	t := l.stations[name]
	if t == nil {
		t = &taking{hole: -1, events: map[time.Duration][]entry.Event{}}
		l.stations[name] = t
	}
	return t
}

// Run replays a journal with the core of this version. The error is for a
// journal that cannot be read; differences are in the report.
func Run(src verify.Source, core string) (*Report, error) {
	rep := &Report{Differences: []Difference{}, Stations: []Station{}}
	saved := map[string][]byte{} // latest saved states, under the names that they were saved under
	l := &life{stations: map[string]*taking{}, missed: -1}
	err := src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		e, err := entry.Decode(r.Body)
		if err != nil {
			return fmt.Errorf("replaying entry %d: %w", r.Seq, err)
		}
		if e.Run != l.run {
			rep.life(l, core)
			l = &life{run: e.Run, stations: map[string]*taking{}, missed: -1}
		}
		l.take(&e, r.Body, saved)
		return nil
	})
	if err != nil {
		return nil, err
	}
	rep.life(l, core)
	var different uint64
	for i := range rep.Stations {
		different += rep.Stations[i].Different
	}
	rep.OK = different == 0
	return rep, nil
}

func (l *life) take(e *entry.Entry, body []byte, saved map[string][]byte) {
	switch b := e.Body.(type) {
	case *entry.Settings:
		t := l.station(e.Station)
		if t.settings != nil {
			t.again = "the station was told something else during the run"
			return
		}
		t.settings = b
		if !t.known {
			// A record without the restored state: the state saved last under
			// the station's own name stands for it.
			t.restored = saved[e.Station]
		}
	case *entry.Restored:
		t := l.station(e.Station)
		t.restored, t.known = b.State, true
	case *entry.State:
		saved[e.Station] = b.State
	case *entry.Ticks:
		t := l.station(e.Station)
		t.blocks = append(t.blocks, bytes.Clone(body))
		t.firsts = append(t.firsts, time.Duration(b.Columns[entry.ColNow][0]))
	case *entry.Event:
		t := l.station(e.Station)
		t.events[e.Now] = append(t.events[e.Now], *b)
	case *entry.Thinned:
		for _, s := range b.Blocks {
			if s.Run == l.run {
				l.station(s.Station).holeAt(s.First)
			}
		}
	case *entry.Lost:
		if b.Ticks > 0 || b.Events > 0 {
			if l.missed < 0 {
				l.missed = 0
			}
		}
	}
}

func (t *taking) holeAt(at time.Duration) {
	if t.hole < 0 || at < t.hole {
		t.hole = at
	}
}

// life replays every station of one run.
func (rep *Report) life(l *life, core string) {
	names := make([]string, 0, len(l.stations))
	for name, t := range l.stations {
		if len(t.blocks) > 0 {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		t := l.stations[name]
		if l.missed >= 0 {
			t.holeAt(l.missed)
		}
		// Urgent blocks overtake others on their way to the card.
		sort.Sort(t)
		s := Station{Run: l.run, Name: name}
		rep.station(&s, t, core)
		rep.Ticks += s.Ticks
		rep.Compared += s.Compared
		rep.Stations = append(rep.Stations, s)
	}
}

// Len, Less and Swap order the blocks by time.
func (t *taking) Len() int           { return len(t.blocks) }
func (t *taking) Less(i, j int) bool { return t.firsts[i] < t.firsts[j] }
func (t *taking) Swap(i, j int) {
	t.blocks[i], t.blocks[j] = t.blocks[j], t.blocks[i]
	t.firsts[i], t.firsts[j] = t.firsts[j], t.firsts[i]
}
