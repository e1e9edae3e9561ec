package report

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// Query says what to print.
type Query struct {
	Station  string
	From, To time.Time // zero: from the first, to the last tick of the station
	// Treatment is the number of the only treatment to print, empty for all; it
	// gives From and To where they are zero.
	Treatment string
}

// Bins is the number of steps into which the curve is divided.
const Bins = 480

// Sheet is everything that is printed.
type Sheet struct {
	Station   string
	From, To  time.Time
	Sure      bool // every time in it can be relied upon
	Version   string
	Config    string // name and SHA-256
	Settings  *controller.Settings
	Probes    []Probe
	Heat      [Bins]float64 // share of the time with the heat commanded on, NaN without data
	HeatRatio float64
	Events    []Event
	Cases     []*casebook.Report // of the station, in that time
	// Treatments of the station in that time, in their order.
	Treatments []*Treatment
	Deviation  []string
	Head       verify.Report

	story casebook.Reporter
}

// Probe is one probe over the whole time.
type Probe struct {
	Name        string
	Calibrated  string
	Uncertainty float64 // K
	Min, Max    float64 // °C, NaN when it was never read
	Within      time.Duration
	Longest     time.Duration // the longest Within without a break
	Counts      bool          // its place is one that should be at temperature
	Bad         int
	LargestGap  time.Duration
	Low, High   [Bins]float64 // °C, NaN without data

	last   time.Time
	heldAt time.Time
	held   bool
}

// Event is one thing that happened.
type Event struct {
	Time time.Time
	Sure bool
	Text string
	Mark bool // it gets a number in the curve
}

// longestStep is the distance of two readings up to which the time between them
// counts for what both of them show.
const longestStep = 60 * time.Second

// withinOf is the distance to the set point that is called at temperature.
const withinOf = 0.5 // K

// Collect reads a record.
func Collect(src verify.Source, q Query) (*Sheet, error) {
	head, err := verify.Check(src)
	if err != nil {
		return nil, err
	}
	s := &Sheet{Station: q.Station, From: q.From, To: q.To, Sure: true, Head: head}
	if err := s.span(src, q); err != nil {
		return nil, err
	}
	for i := range s.Heat {
		s.Heat[i] = math.NaN()
	}
	var ticks, heated int
	filter := journal.Filter{Station: q.Station, Bench: true, From: s.From, To: s.To}
	err = journal.Export(src, filter, func(l *journal.Line) error {
		s.Sure = s.Sure && l.Sure
		switch {
		case l.HeatOn != nil:
			ticks++
			if *l.HeatOn {
				heated++
			}
			s.tick(l)
		default:
			s.event(l)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	s.Cases = s.story.All()
	if ticks > 0 {
		s.HeatRatio = float64(heated) / float64(ticks)
	}
	for i := range s.Probes {
		if g := s.Probes[i].LargestGap; g > longestStep {
			s.Deviation = append(s.Deviation, fmt.Sprintf("probe %d: no reading for %s", i+1, g.Round(time.Second)))
		}
	}
	if !s.Sure {
		s.Deviation = append(s.Deviation, "the wall clock was never set by something trustworthy; times are those of the board")
	}
	if !head.OK {
		s.Deviation = append(s.Deviation, fmt.Sprintf("THE RECORD DOES NOT VERIFY: %d problems, the first: %s", len(head.Problems), head.Problems[0]))
	}
	return s, nil
}

// span finds the time, and what the station was told in it.
func (s *Sheet) span(src verify.Source, q Query) error {
	times, err := journal.NewTimeline(src)
	if err != nil {
		return err
	}
	var first, last time.Time
	err = src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		kind, h, err := entry.Peek(r.Body)
		if err != nil {
			return err
		}
		switch kind {
		case entry.KindSettings, entry.KindStart, entry.KindConfig, entry.KindDocument:
		case entry.KindTicks:
			// Of the blocks only the end counts, and of the first its beginning:
			// none is taken apart that cannot be the first.
			end, _ := times.At(h)
			if h.Station != q.Station || !q.To.IsZero() && !end.Before(q.To) {
				return nil
			}
			if last = latest(last, end); !first.IsZero() && end.Sub(first) > longestBlock {
				return nil
			}
		default:
			return nil
		}
		e, err := entry.Decode(r.Body)
		if err != nil {
			return fmt.Errorf("entry %d: %w", r.Seq, err)
		}
		at, _ := times.At(e.Header)
		if !q.To.IsZero() && !at.Before(q.To) {
			return nil
		}
		switch b := e.Body.(type) {
		case *entry.Start:
			s.Version = b.Version
		case *entry.Config:
			s.Config = b.Name + ", SHA-256 " + hex.EncodeToString(b.Sum[:])
		case *entry.Settings:
			if e.Station == q.Station {
				s.Settings = new(controller.Settings)
				return json.Unmarshal(b.JSON, s.Settings)
			}
		case *entry.Document:
			switch {
			case e.Station != q.Station:
			case !q.From.IsZero() && at.Before(q.From):
			case b.Topic == treatmentTopic:
				s.takeStep(at, b)
			case b.Topic == casebook.Topic:
				if err := s.story.Take(e.Seq, e.Station, b.JSON); err != nil {
					s.Deviation = append(s.Deviation, "a step of a case cannot be read: "+err.Error())
				}
			}
		case *entry.Ticks:
			from, _ := times.Moment(e.Header, time.Duration(b.Columns[entry.ColNow][0]))
			if first.IsZero() || from.Before(first) {
				first = from
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if first.IsZero() {
		return fmt.Errorf("the record holds no readings of a station %q in that time; `soakwarden journal export` lists what it holds", q.Station)
	}
	if q.Treatment != "" {
		if err := s.only(q.Treatment); err != nil {
			return err
		}
	}
	if s.From.IsZero() {
		s.From = first
	}
	if s.To.IsZero() {
		s.To = last.Add(time.Millisecond)
	}
	if !s.From.Before(s.To) {
		return fmt.Errorf("the report would begin at %s and end at %s; give an end after the beginning",
			s.From.Format(time.RFC3339), s.To.Format(time.RFC3339))
	}
	return nil
}

func (s *Sheet) probe(i int) Probe {
	p := Probe{Name: fmt.Sprintf("probe %d", i+1), Calibrated: notRecorded, Min: math.NaN(), Max: math.NaN()}
	for k := range p.Low {
		p.Low[k], p.High[k] = math.NaN(), math.NaN()
	}
	if s.Settings == nil || i >= len(s.Settings.Probes) {
		return p
	}
	set := s.Settings.Probes[i]
	p.Name += ", " + set.Role.String()
	p.Counts = s.Settings.Kind == controller.Chamber || set.Role == controller.RoleControl || set.Role == controller.RoleGuard
	p.Uncertainty = float64(set.Uncertainty) / float64(controller.Kelvin)
	switch {
	case set.Overdue:
		p.Calibrated = "OVERDUE"
	case set.Calibrated:
		p.Calibrated = "yes"
	default:
		p.Calibrated = "NO"
	}
	return p
}

func (s *Sheet) tick(l *journal.Line) {
	bin := int(float64(Bins) * float64(l.Time.Sub(s.From)) / float64(s.To.Sub(s.From)))
	bin = min(Bins-1, max(0, bin))
	if math.IsNaN(s.Heat[bin]) {
		s.Heat[bin] = 0
	}
	if *l.HeatOn {
		s.Heat[bin] = 1
	}
	for len(s.Probes) < len(l.Probes) {
		s.Probes = append(s.Probes, s.probe(len(s.Probes)))
	}
	for i := range l.Probes {
		p := &s.Probes[i]
		v := l.Probes[i].ValueC
		if v == nil {
			p.Bad++
			continue
		}
		p.Min, p.Max = least(p.Min, *v), most(p.Max, *v)
		p.Low[bin], p.High[bin] = least(p.Low[bin], *v), most(p.High[bin], *v)
		p.count(l.Time, s.within(p, *v))
	}
}

// longestBlock is more than a block of readings covers.
const longestBlock = time.Hour

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func least(a, b float64) float64 {
	if math.IsNaN(a) || b < a {
		return b
	}
	return a
}

func most(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

// within says whether a reading is at temperature: near the set point in a tub,
// at or past the treatment's target in a chamber even when its uncertainty is
// counted against it.
func (s *Sheet) within(p *Probe, v float64) bool {
	if s.Settings == nil {
		return false
	}
	if s.Settings.Kind != controller.Chamber {
		return math.Abs(v-journal.Celsius(s.Settings.SetPoint)) <= withinOf
	}
	target, freeze := s.target()
	if freeze {
		return v+p.Uncertainty <= target
	}
	return v-p.Uncertainty >= target
}

// count adds the time between two readings that are both at temperature.
func (p *Probe) count(at time.Time, held bool) {
	gap := time.Duration(0)
	if !p.last.IsZero() {
		gap = at.Sub(p.last)
		p.LargestGap = max(p.LargestGap, gap)
	}
	if held && p.held && gap <= longestStep {
		p.Within += gap
		p.Longest = max(p.Longest, at.Sub(p.heldAt))
	} else {
		p.heldAt = at
	}
	p.last, p.held = at, held
}

// event takes an entry into the list, and what is not in order also among the
// deviations.
func (s *Sheet) event(l *journal.Line) {
	kind, _ := entry.KindOf(l.Kind)
	e := Event{Time: l.Time, Sure: l.Sure, Text: l.Text}
	switch kind {
	case entry.KindState, entry.KindRestored, entry.KindProof, entry.KindRelay, entry.KindSettings, entry.KindTicks:
		return
	case entry.KindThinned, entry.KindLost, entry.KindJump, entry.KindReopened:
		s.Deviation = append(s.Deviation, l.Time.Format("2006-01-02 15:04:05 ")+l.Text)
	case entry.KindDocument:
		if l.Topic == casebook.Topic {
			return // it is told as a story
		}
		e.Mark = true
	case entry.KindAct, entry.KindStop, entry.KindStart:
		e.Mark = true
	case entry.KindEvent:
		if l.Switching {
			return
		}
		e.Mark = true
	}
	s.Events = append(s.Events, e)
}
