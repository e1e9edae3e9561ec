package assess

import (
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
)

// Question asks how a log stands to a schedule. Everything is text as a person
// writes it, with units; what is empty takes what Defaults says.
type Question struct {
	Schedule     string // name of a built-in one; or
	Target, Hold string // one of one's own
	Freeze       bool
	Unit         string   // of columns without one: C or F
	Columns      []string // those of the probes; all when empty
	Uncertainty  string
	LongestGap   string
	Reference    string
	Z, ZAbove    string
}

// Defaults is what stands for what was not said: half a kelvin is what an
// instrument without a certificate is commonly trusted to (common practice, no
// published source).
func Defaults() Question {
	return Question{Uncertainty: "0.5K", LongestGap: "5m", Reference: "56C", Z: "4", ZAbove: "10"}
}

// Problem is something in the log that cannot be true.
type Problem struct {
	Line    int    `json:"line"`
	Message string `json:"message"`
}

// Assessment is the answer.
type Assessment struct {
	Schedule        string    `json:"schedule"`
	Result          string    `json:"result"` // PASS or FAIL
	Reason          string    `json:"reason"`
	LongestTogether float64   `json:"longest_together_s"`
	Probes          []Probe   `json:"probes"`
	From            *string   `json:"from"` // of the longest stretch together
	To              *string   `json:"to"`
	TargetC         float64   `json:"target_c"`
	HoldS           float64   `json:"hold_s"`
	Freeze          bool      `json:"freeze"`
	UncertaintyK    float64   `json:"uncertainty_k"`
	LongestGapS     float64   `json:"longest_gap_s"`
	LargestGapS     float64   `json:"largest_gap_s"`
	Rows            int       `json:"rows"`
	BadRows         int       `json:"bad_rows"`
	Problems        []Problem `json:"problems"` // the first hundred
	Notes           []string  `json:"notes"`
}

// Probe is one column. What never happened is null.
type Probe struct {
	Name              string   `json:"name"`
	MinC              *float64 `json:"min_c"`
	MaxC              *float64 `json:"max_c"`
	LongestContinuous float64  `json:"longest_continuous_s"`
	Lethality         *float64 `json:"lethality_min"`     // of the readings as they are; null in freezing
	LethalityLow      *float64 `json:"lethality_low_min"` // of the readings minus their uncertainty
	Readings          int      `json:"readings"`
	LargestGapS       float64  `json:"largest_gap_s"`
}

// problemsMost is how many problems are listed; all are counted.
const problemsMost = 100

// Ask reads a log and judges it. The error says what keeps it from being
// judged, and in which line.
func Ask(log io.Reader, q Question) (*Assessment, error) {
	rules, err := q.rules()
	if err != nil {
		return nil, err
	}
	l, err := open(log, &q)
	if err != nil {
		return nil, err
	}
	var rows []row
	for {
		r, err := l.read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, lineError(l.skipped+1, "the log has a header and no rows under it")
	}
	u := rules.Probes[0].Uncertainty
	rules.Probes = nil
	for _, c := range l.columns {
		rules.Probes = append(rules.Probes, treatment.Probe{Name: c.name, Place: treatment.Surface, Uncertainty: u})
	}
	rules.Required = len(rules.Probes)
	j, err := treatment.NewJudge(rules)
	if err != nil {
		return nil, err
	}
	run := &run{judge: j, rules: rules, rows: rows, columns: l.columns}
	run.bad = run.implausible()
	run.follow()
	return run.answer(&q), nil
}

// rules reads the question into rules with one probe, which carries the
// uncertainty.
func (q *Question) rules() (treatment.Rules, error) {
	var r treatment.Rules
	d := Defaults()
	for _, f := range []struct {
		to   *string
		from string
	}{{&q.Uncertainty, d.Uncertainty}, {&q.LongestGap, d.LongestGap}, {&q.Reference, d.Reference}, {&q.Z, d.Z}, {&q.ZAbove, d.ZAbove}} {
		if *f.to == "" {
			*f.to = f.from
		}
	}
	if q.Unit = strings.ToUpper(strings.TrimPrefix(strings.TrimSpace(q.Unit), "°")); q.Unit != "" && q.Unit != "C" && q.Unit != "F" {
		return r, fmt.Errorf("--unit: %q is none: write C or F", q.Unit)
	}
	var err error
	if r.Schedule, err = q.schedule(); err != nil {
		return r, err
	}
	u, err := config.ParseDifference(q.Uncertainty)
	switch {
	case err != nil:
		return r, fmt.Errorf("--uncertainty: %w", err)
	case u < 0 || u > 5*controller.Kelvin:
		return r, fmt.Errorf("--uncertainty: %q is outside 0K to 5K", q.Uncertainty)
	}
	r.Probes = []treatment.Probe{{Uncertainty: u}}
	if r.LongestGap, err = config.ParseDuration(q.LongestGap); err != nil {
		return r, fmt.Errorf("--longest-gap: %w", err)
	}
	if r.LongestGap <= 0 || r.LongestGap > treatment.GapMost {
		return r, fmt.Errorf("--longest-gap: %q: write one up to 1h, such as 5m", q.LongestGap)
	}
	r.Lethality = treatment.Usual()
	if r.Lethality.Reference, err = config.ParseTemperature(q.Reference); err != nil {
		return r, fmt.Errorf("--reference: %w", err)
	}
	for _, z := range []struct {
		flag, text string
		to         *controller.Difference
	}{{"--z", q.Z, &r.Lethality.Below}, {"--z-above", q.ZAbove, &r.Lethality.Above}} {
		v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(z.text), "K")), 64)
		if err != nil || !(v >= 0.5 && v <= 50) {
			return r, fmt.Errorf("%s: %q: write kelvin from 0.5 to 50, such as 4", z.flag, z.text)
		}
		*z.to = controller.Difference(math.Round(v * 1e9))
	}
	return r, nil
}

func (q *Question) schedule() (treatment.Schedule, error) {
	var s treatment.Schedule
	if q.Schedule != "" {
		if q.Target != "" || q.Hold != "" {
			return s, errors.New("--schedule stands alone: leave out --target and --hold")
		}
		if s, ok := treatment.Find(q.Schedule); ok {
			if q.Freeze && !s.Freeze {
				return s, fmt.Errorf("--freeze: %s heats: leave one of the two out", s.Name)
			}
			return s, nil
		}
		if r, ok := treatment.FindRefused(q.Schedule); ok {
			return s, fmt.Errorf("%s (%s) is refused: %s (%s)", r.Name, r.What, r.Reason, r.Source)
		}
		var names []string
		for _, s := range treatment.Schedules() {
			names = append(names, s.Name)
		}
		return s, fmt.Errorf("--schedule: there is no %q: write one of %s, or --target and --hold", q.Schedule, strings.Join(names, ", "))
	}
	if q.Target == "" || q.Hold == "" {
		return s, errors.New("against what? write --schedule core-56-30min, or --target 45C --hold 48h")
	}
	var err error
	if s.Target, err = config.ParseTemperature(q.Target); err != nil {
		return s, fmt.Errorf("--target: %w", err)
	}
	if s.Hold, err = config.ParseDuration(q.Hold); err != nil {
		return s, fmt.Errorf("--hold: %w", err)
	}
	if s.Hold <= 0 {
		return s, fmt.Errorf("--hold: %q is no time: write one such as 48h", q.Hold)
	}
	s.Freeze = q.Freeze
	way := "or above"
	if s.Freeze {
		way = "or below"
	}
	s.Name = fmt.Sprintf("%s %s for %s", treatment.Words(s.Target), way, s.Hold)
	return s, nil
}

// run is one log on its way through the judge.
type run struct {
	judge    *treatment.Judge
	rules    treatment.Rules
	rows     []row
	columns  []column
	bad      []bool
	problems []Problem
	badRows  int
}

const (
	coldest  = physic.ZeroCelsius - 55*physic.Kelvin
	hottest  = physic.ZeroCelsius + 125*physic.Kelvin
	powerOn  = physic.ZeroCelsius + 85*physic.Kelvin
	powerOff = 5 * physic.Kelvin // one reading of 85 °C that comes from farther away is no temperature
)

func (r *run) problem(line int, format string, args ...any) {
	if len(r.problems) < problemsMost {
		r.problems = append(r.problems, Problem{line, fmt.Sprintf(format, args...)})
	}
}

// implausible finds the rows whose values cannot be true.
func (r *run) implausible() []bool {
	bad := make([]bool, len(r.rows))
	for c := range r.columns {
		before := -1 // row of the last value
		for i := range r.rows {
			v := r.rows[i].values[c]
			if !v.known {
				continue
			}
			switch {
			case v.t < coldest || v.t > hottest:
				bad[i] = true
				r.problem(r.rows[i].line, "%s is outside −55 to 125 °C: no reading", r.columns[c].name)
			case v.t == powerOn && r.powerOn(c, i, before):
				bad[i] = true
				r.problem(r.rows[i].line, "%s is exactly 85 °C, which a sensor says that lost its power: no reading", r.columns[c].name)
			}
			before = i
		}
	}
	return bad
}

// powerOn says whether a value of exactly 85 °C is the one that a common sensor
// gives after it lost its power: one that stays, or that came out of nowhere.
func (r *run) powerOn(c, i, before int) bool {
	if before < 0 {
		return true
	}
	was := r.rows[before].values[c].t
	if was == powerOn || was > powerOn+powerOff || was < powerOn-powerOff {
		return true
	}
	for k := i + 1; k < len(r.rows); k++ {
		if v := r.rows[k].values[c]; v.known {
			return v.t == powerOn
		}
	}
	return true
}

// follow shows the judge the rows.
func (r *run) follow() {
	var start time.Time
	var last time.Duration
	readings := make([]treatment.Reading, len(r.columns))
	begun := false
	for i := range r.rows {
		w := &r.rows[i]
		if !begun {
			start, begun = w.at, true
		}
		at := w.at.Sub(start)
		backward := i > 0 && at <= last
		if backward {
			r.bad[i] = true
			if at == last {
				r.problem(w.line, "the time %s is that of an earlier row", w.at.Format(time.RFC3339))
			} else {
				r.problem(w.line, "the time %s lies before an earlier row's", w.at.Format(time.RFC3339))
			}
			at = last
		}
		for c, v := range w.values {
			readings[c] = treatment.Reading{At: at, Value: v.t, Good: v.known}
			// A row that cannot be true is no evidence for, but against.
			if r.bad[i] && (v.t < coldest || v.t > hottest || v.t == powerOn || r.rules.Schedule.Past(v.t, r.rules.Probes[c].Uncertainty)) {
				readings[c].Good = false
			}
		}
		if r.bad[i] {
			r.badRows++
		}
		last = at
		r.judge.Take(at, readings)
	}
	sort.SliceStable(r.problems, func(a, b int) bool { return r.problems[a].Line < r.problems[b].Line })
}

func ptr(v float64) *float64 { return &v }

func (r *run) answer(q *Question) *Assessment {
	s, v := r.rules.Schedule, r.judge.Verdict()
	a := &Assessment{
		Schedule: s.Name, Result: treatment.Fail.String(), Reason: v.Reason, LongestTogether: r.judge.Longest.Length().Seconds(),
		TargetC: celsius(s.Target), HoldS: s.Hold.Seconds(), Freeze: s.Freeze,
		UncertaintyK: float64(r.rules.Probes[0].Uncertainty) / 1e9, LongestGapS: r.rules.LongestGap.Seconds(),
		LargestGapS: r.judge.LargestGap().Seconds(), Rows: len(r.rows), BadRows: r.badRows,
		Problems: r.problems, Notes: []string{},
	}
	if a.Problems == nil {
		a.Problems = []Problem{}
	}
	if v.Held {
		a.Result = treatment.Pass.String()
	} else {
		a.Reason += r.where()
	}
	if l := r.judge.Longest; l.Length() > 0 {
		from, to := r.rows[0].at.Add(l.From).Format(time.RFC3339Nano), r.rows[0].at.Add(l.To).Format(time.RFC3339Nano)
		a.From, a.To = &from, &to
	}
	for c := range r.columns {
		p := &r.judge.Probes[c]
		out := Probe{Name: r.columns[c].name, LongestContinuous: p.Longest.Length().Seconds(), Readings: p.Readings, LargestGapS: p.LargestGap.Seconds()}
		if p.Known {
			out.MinC, out.MaxC = ptr(celsius(p.Coldest)), ptr(celsius(p.Hottest))
		}
		if !s.Freeze {
			out.Lethality, out.LethalityLow = ptr(p.Lethality), ptr(p.Least)
		}
		a.Probes = append(a.Probes, out)
	}
	if why := s.RefusalOf(); why != "" {
		a.Notes = append(a.Notes, "No treatment would be run to this schedule: "+why+".")
	}
	if !s.Freeze {
		l := r.rules.Lethality
		a.Notes = append(a.Notes, treatment.NoCurve+" Reference "+treatment.Words(l.Reference)+", z "+q.Z+" K below, "+q.ZAbove+" K above; "+l.Species+".")
	}
	return a
}

// where names the line that a FAIL is about.
func (r *run) where() string {
	text := ""
	if r.judge.Restarted > 0 {
		at := r.rows[0].at.Add(r.judge.LastRestart.At)
		for i := range r.rows {
			if !r.bad[i] && !r.rows[i].at.Before(at) {
				text = fmt.Sprintf("; line %d", r.rows[i].line)
				break
			}
		}
	}
	if text == "" {
		text = fmt.Sprintf("; the log ends with line %d", r.rows[len(r.rows)-1].line)
	}
	if r.badRows > 0 {
		text += fmt.Sprintf("; %d of %d rows are bad, the first in line %d: %s", r.badRows, len(r.rows), r.problems[0].Line, r.problems[0].Message)
	}
	return text
}

func celsius(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Kelvin)
}
