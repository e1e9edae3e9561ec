package report

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/status"
)

// treatmentTopic is the topic of the documents of a treatment.
const treatmentTopic = "treatment"

// Treatment is what the record holds of one treatment.
type Treatment struct {
	Number   string
	From, To time.Time // of its first and last step
	Result   string    // of the last step
	Reason   string
	Text     string // its whole record as it was made when it was over, empty before
	TargetC  float64
	Freeze   bool
	started  step
}

// step is a document of a treatment.
type step struct {
	Step   string `json:"step"`
	Stage  string `json:"stage"`
	Result string `json:"result"`
	Reason string `json:"reason"`
	Record string `json:"record"`
	Order  *struct {
		Operator  string `json:"operator"`
		Load      string `json:"load"`
		Mapping   string `json:"mapping"`
		Residents []struct {
			Name string `json:"name"`
			Now  string `json:"now"`
		} `json:"residents"`
		NoResidents bool `json:"no_residents"`
	} `json:"order"`
	Typed string `json:"typed"`
	Plan  *struct {
		Schedule string  `json:"schedule"`
		Freeze   bool    `json:"freeze"`
		TargetC  float64 `json:"target_c"`
		Pieces   []struct {
			Name     string  `json:"name"`
			Material string  `json:"material"`
			Moisture float64 `json:"moisture"`
		} `json:"pieces"`
		Probes []struct {
			ROM         string   `json:"rom"`
			Role        string   `json:"role"`
			Piece       string   `json:"piece"`
			DepthM      *float64 `json:"depth_m"`
			Uncertainty float64  `json:"uncertainty_k"`
		} `json:"probes"`
	} `json:"plan"`
}

// takeStep takes one document of a treatment.
func (s *Sheet) takeStep(at time.Time, b *entry.Document) {
	var d step
	if err := json.Unmarshal(b.JSON, &d); err != nil {
		s.Deviation = append(s.Deviation, fmt.Sprintf("a step of treatment %s cannot be read: %v", b.ID, err))
		return
	}
	t := s.treatment(b.ID)
	if t == nil {
		t = &Treatment{Number: b.ID, From: at, TargetC: math.NaN()}
		s.Treatments = append(s.Treatments, t)
	}
	t.To, t.Result, t.Reason = at, d.Result, d.Reason
	if d.Record != "" {
		t.Text = d.Record
	}
	if d.Plan != nil {
		t.started, t.TargetC, t.Freeze = d, d.Plan.TargetC, d.Plan.Freeze
	}
}

func (s *Sheet) treatment(number string) *Treatment {
	for _, t := range s.Treatments {
		if t.Number == number {
			return t
		}
	}
	return nil
}

// only leaves one treatment and gives the sheet its time.
func (s *Sheet) only(number string) error {
	t := s.treatment(number)
	if t == nil {
		var known []string
		for _, t := range s.Treatments {
			known = append(known, t.Number)
		}
		sort.Strings(known)
		if known == nil {
			known = []string{"none"}
		}
		return fmt.Errorf("the record holds no treatment %q of %s; it holds: %s", number, s.Station, strings.Join(known, ", "))
	}
	s.Treatments = []*Treatment{t}
	if s.From.IsZero() {
		s.From = t.From
	}
	if s.To.IsZero() && t.Result != "open" {
		s.To = t.To.Add(time.Second)
	}
	return nil
}

// target is the temperature that the last treatment asked every place to reach,
// not a number when none is known.
func (s *Sheet) target() (celsius float64, freeze bool) {
	for i := len(s.Treatments) - 1; i >= 0; i-- {
		if t := s.Treatments[i]; !math.IsNaN(t.TargetC) {
			return t.TargetC, t.Freeze
		}
	}
	return math.NaN(), false
}

// treated prints what the record holds of a treatment: the whole text that was
// made when it was over, or what is known of it before.
func (p *pen) treated(t *Treatment, s *Sheet) {
	p.head("Treatment " + t.Number + ": " + orNot(t.Result))
	if t.Text == "" {
		p.row(false, []float64{0}, "It is not over: its whole record is made when it is.")
		for _, l := range t.known(s, p.units) {
			p.row(false, []float64{0, 0.26}, l[0], orNot(l[1]))
		}
		return
	}
	skip, blank := false, false
	for i, line := range strings.Split(t.Text, "\n") {
		indented := strings.HasPrefix(line, "  ")
		switch name, value := columns(line); {
		case i == 0:
		case strings.TrimSpace(line) == "":
			blank = true
			continue
		case !indented && strings.HasPrefix(line, "CURVE"):
			skip = true // drawn on the first sheet
		case !indented:
			skip = false
			p.room(3 * lineStep) // a head does not stand alone at a foot
			p.y++
			p.row(blank, []float64{0}, line)
		case skip:
		case value == "":
			p.row(false, []float64{0.02}, name)
		default:
			p.row(false, []float64{0.02, 0.26}, name, value)
		}
		blank = false
	}
}

// nameEnds is where the value begins in a line of a treatment's record.
const nameEnds = 29

// columns takes a line of a record apart; one whose name is too long stays whole.
func columns(line string) (name, value string) {
	r := []rune(line)
	if len(r) <= nameEnds || r[nameEnds-1] != ' ' {
		return strings.TrimSpace(line), ""
	}
	return strings.TrimRight(string(r[2:nameEnds]), " "), strings.TrimSpace(string(r[nameEnds:]))
}

// known is what the first step says. What is made out later is not recorded yet.
func (t *Treatment) known(s *Sheet, u status.Units) [][2]string {
	lines := [][2]string{{"number", t.Number}}
	add := func(name, value string) { lines = append(lines, [2]string{name, value}) }
	order, plan := t.started.Order, t.started.Plan
	if order != nil {
		add("operator", order.Operator)
	} else {
		add("operator", "")
	}
	add("reviewer", "")
	add("program", s.Version)
	add("configuration", s.Config)
	add("chamber", s.Station)
	if order != nil {
		add("load", order.Load)
		add("mapping of cold spots", order.Mapping)
		if order.NoResidents {
			add("animals that live there", "none, says the operator")
		}
		for _, r := range order.Residents {
			add("animal "+r.Name, "during the treatment in: "+r.Now)
		}
	}
	add("typed before the start", t.started.Typed)
	if plan != nil {
		way := "or above"
		if plan.Freeze {
			way = "or below"
		}
		add("schedule", fmt.Sprintf("%s: %s %s", plan.Schedule, written(u, plan.TargetC), way))
		for _, piece := range plan.Pieces {
			moisture := notRecorded
			if piece.Moisture > 0 {
				moisture = fmt.Sprintf("%.0f %%", 100*piece.Moisture)
			}
			add("piece "+piece.Name, piece.Material+"; moisture "+moisture)
		}
		for _, q := range plan.Probes {
			where := q.Role
			if q.Piece != "" {
				where += " of " + q.Piece
			}
			depth := notRecorded
			if q.DepthM != nil {
				depth = fmt.Sprintf("%.0f mm", 1000**q.DepthM)
			}
			add("probe "+q.ROM, fmt.Sprintf("%s; depth %s; U %.2f K; calibration before and after %s", where, depth, q.Uncertainty, notRecorded))
		}
	}
	for _, name := range []string{"log interval, largest gap", "time at temperature", "release", "label", "storage after"} {
		add(name, "")
	}
	return lines
}
