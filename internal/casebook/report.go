package casebook

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"soakwarden/controller/procedure"
)

// Topic is that of a case's documents in the journal.
const Topic = "case"

// Step is one thing that happened in a case.
type Step struct {
	At      time.Time `json:"at"`
	Trusted bool      `json:"clock_trusted"`
	Order   string    `json:"order"`
	Stage   string    `json:"stage"`
	Who     string    `json:"who,omitempty"`
	Why     string    `json:"why,omitempty"`
	Where   string    `json:"where,omitempty"`
	Says    string    `json:"says"`
	Seq     uint64    `json:"entry"` // in the journal
}

// Report is one case from its first step to its last.
type Report struct {
	Case    string   `json:"case"`
	Animal  string   `json:"animal"`
	Station string   `json:"station"`
	Stage   string   `json:"stage"`
	Before  int      `json:"mass_before_g"`
	After   int      `json:"mass_after_g"`
	Rounds  int      `json:"rounds"`
	Rests   int      `json:"dry_rests"`
	Changes int      `json:"water_changes"`
	Trips   int      `json:"trips"`
	Mites   []int    `json:"mites_counted"` // in order, in rounds and looks
	Looks   int      `json:"looks"`
	Records []string `json:"treatment_records"`
	// Chemicals are those on record, with where and by whom.
	Chemicals []string `json:"chemicals"`
	Steps     []Step   `json:"steps"`
}

// Reporter gathers the documents of the cases of one journal.
type Reporter struct{ all map[string]*Report }

// Take takes one document of the topic "case" that stands at entry seq of the
// journal.
func (rep *Reporter) Take(seq uint64, station string, doc []byte) error {
	var e entryOf
	if err := json.Unmarshal(doc, &e); err != nil {
		return fmt.Errorf("entry %d: reading a step of a case: %w", seq, err)
	}
	var c procedure.Case
	if err := c.Restore(e.State); err != nil {
		return fmt.Errorf("entry %d: %w", seq, err)
	}
	if rep.all == nil {
		rep.all = map[string]*Report{}
	}
	r := rep.all[e.Case]
	if r == nil {
		r = &Report{Case: e.Case, Station: station, Mites: []int{}, Records: []string{}, Chemicals: []string{}}
		rep.all[e.Case] = r
	}
	v := c.View()
	r.Animal, r.Stage, r.Before, r.After = v.Animal.Label, v.Stage.String(), v.Animal.Before, v.Animal.After
	r.Steps = append(r.Steps, Step{e.At, e.Trusted, e.Order, e.Stage, e.Who, e.Why, e.Where, e.Says, seq})
	r.count(&e)
	return nil
}

func (r *Report) count(e *entryOf) {
	switch procedure.OrderOf(e.Order) {
	case procedure.DoRound:
		r.Rounds++
	case procedure.LiftOut:
		r.Rests++
	case procedure.Change:
		r.Changes++
	case procedure.Look:
		r.Looks++
	case procedure.UseChemical:
		if e.Words != nil {
			r.Chemicals = append(r.Chemicals, fmt.Sprintf("%s on %s, by %s", e.Words.Text, e.Words.Item, e.Words.Who))
		}
	case procedure.Treat:
		if e.Words != nil && !slices.Contains(r.Records, e.Words.Record) {
			r.Records = append(r.Records, e.Words.Record)
		}
	}
	if e.Words != nil && e.Words.Mites != nil {
		r.Mites = append(r.Mites, *e.Words.Mites)
	}
	if e.Order == "trip" && strings.Contains(e.Says, "tripped") {
		r.Trips++
	}
}

// Cases lists the cases that were found, by number.
func (rep *Reporter) Cases() []string {
	var all []string
	for id := range rep.all {
		all = append(all, id)
	}
	slices.Sort(all)
	return all
}

// All are the reports of every case, by number.
func (rep *Reporter) All() []*Report {
	var all []*Report
	for _, id := range rep.Cases() {
		all = append(all, rep.all[id])
	}
	return all
}

// Report is the report of one case; an empty name means the only one there is.
func (rep *Reporter) Report(id string) (*Report, error) {
	all := rep.Cases()
	switch {
	case len(all) == 0:
		return nil, fmt.Errorf("the journal has no case")
	case id == "" && len(all) == 1:
		id = all[0]
	case id == "":
		return nil, fmt.Errorf("the journal has several cases: name one of %s", strings.Join(all, ", "))
	}
	r := rep.all[id]
	if r == nil {
		return nil, fmt.Errorf("the journal has no case %q: name one of %s", id, strings.Join(all, ", "))
	}
	return r, nil
}

// Day is one day of a case as it is told.
type Day struct {
	Name  string // "Monday 2028-10-02 UTC"
	Lines []Told
}

// Told is one step of a day.
type Told struct {
	Clock string // "15:04", with a question mark where nobody had set the clock
	Text  string
}

// Summary is what there is to say of the whole case, a line for each thing.
func (r *Report) Summary() []string {
	lines := []string{
		fmt.Sprintf("Case %s: %s, tub %s", r.Case, r.Animal, r.Station),
		fmt.Sprintf("Now: %s. %s, %s, %s, %s, %s.", r.Stage, many(r.Rounds, "round"), many(r.Changes, "water change"), many(r.Rests, "dry rest"), many(r.Trips, "trip"), many(r.Looks, "look")),
	}
	if r.Before > 0 {
		lines = append(lines, fmt.Sprintf("Mass: %s before, %s after.", grams(r.Before), grams(r.After)))
	}
	if len(r.Mites) > 0 {
		var counts []string
		for _, n := range r.Mites {
			counts = append(counts, fmt.Sprint(n))
		}
		lines = append(lines, "Mites counted, in order: "+strings.Join(counts, ", ")+".")
	}
	if len(r.Records) > 0 {
		lines = append(lines, "Treatments: "+strings.Join(r.Records, ", ")+".")
	}
	if len(r.Chemicals) > 0 {
		lines = append(lines, "Chemicals: "+strings.Join(r.Chemicals, "; ")+".")
	}
	return lines
}

func many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Days tells the case day by day, by the clock of a zone.
func (r *Report) Days(zone *time.Location) []Day {
	var all []Day
	for _, s := range r.Steps {
		at := s.At.In(zone)
		if name := at.Format("Monday 2006-01-02 MST"); len(all) == 0 || all[len(all)-1].Name != name {
			all = append(all, Day{Name: name})
		}
		told := Told{at.Format("15:04"), s.Says}
		if !s.Trusted {
			told.Clock += "?"
		}
		if s.Why != "" && !strings.Contains(s.Says, s.Why) {
			told.Text += " " + s.Why + "."
		}
		if s.Who != "" {
			told.Text += " (" + s.Who + ")"
		}
		d := &all[len(all)-1]
		d.Lines = append(d.Lines, told)
	}
	return all
}

// Write tells the case as a story, day by day.
func (r *Report) Write(w io.Writer, zone *time.Location) error {
	var b strings.Builder
	for _, line := range r.Summary() {
		b.WriteString(line + "\n")
	}
	for _, d := range r.Days(zone) {
		fmt.Fprintf(&b, "\n%s\n", d.Name)
		for _, l := range d.Lines {
			b.WriteString(l.Clock + "  " + l.Text + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func grams(g int) string {
	if g == 0 {
		return "not weighed"
	}
	return fmt.Sprintf("%d g", g)
}
