package status

import (
	"math"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

// Status is the bench as /api/status and "soakwarden status --json" give it.
type Status struct {
	Name         string    `json:"name"`
	Version      string    `json:"version"`
	Config       string    `json:"config"`   // checksum, hex
	Invented     bool      `json:"invented"` // the model, no hardware
	Speed        float64   `json:"speed"`
	Time         string    `json:"time"`
	ClockTrusted bool      `json:"clock_trusted"`
	MissedTicks  uint64    `json:"missed_ticks"`
	Journal      Journal   `json:"journal"`
	Stations     []Station `json:"stations"`
}

// Journal is the state of the record.
type Journal struct {
	OK       bool    `json:"ok"`
	Problem  *string `json:"problem"`
	LastSync *string `json:"last_sync"`
}

// Station is one station.
type Station struct {
	Name      string     `json:"name"`
	Kind      string     `json:"kind"`
	Stage     string     `json:"stage"`
	SetPointC *float64   `json:"set_point_c"`
	HeatOn    bool       `json:"heat_on"`
	Permitted bool       `json:"permitted"`
	Reason    *string    `json:"reason"` // the cause that withholds heat
	Attended  bool       `json:"attended"`
	AnimalIn  bool       `json:"animal_in"`
	OutOf     bool       `json:"out_of_service"`      // no heat until in-service
	Alone     *string    `json:"never_alone"`         // why it heats only while a person is present
	Case      *Case      `json:"case"`                // that has the tub
	Treatment *Treatment `json:"treatment,omitempty"` // of a chamber that has one
	Probes    []Probe    `json:"probes"`
	Alarms    []Alarm    `json:"alarms"`
}

// Case is the case that has a tub.
type Case struct {
	Number string `json:"number"`
	Animal string `json:"animal"`
	Stage  string `json:"stage"`
	Paused string `json:"paused,omitempty"` // what it asks for
	Next   string `json:"next"`
	Due    []Due  `json:"due"`
}

// Due is one thing that is due in a case.
type Due struct {
	What  string  `json:"what"`
	InS   float64 `json:"in_s"`  // negative: overdue
	Alarm string  `json:"alarm"` // low, medium or empty
}

// Treatment is the treatment in a chamber.
type Treatment struct {
	Number    string   `json:"number"`
	Schedule  string   `json:"schedule"`
	Stage     string   `json:"stage"`
	Result    string   `json:"result"`
	Slowest   string   `json:"slowest"`  // piece
	BehindK   *float64 `json:"behind_k"` // of the slowest probe; 0 or less: it counts
	TogetherS float64  `json:"together_s"`
	LongestS  float64  `json:"longest_together_s"`
	HoldS     float64  `json:"hold_s"`
	WaitsFor  string   `json:"waits_for"`
}

// Probe is one probe. Value and age are null when there is no reading.
type Probe struct {
	Name    string   `json:"name"` // its address on the bus
	Role    string   `json:"role"`
	ValueC  *float64 `json:"value_c"`
	Quality string   `json:"quality"`
	Flaw    *string  `json:"flaw"`
	AgeS    *float64 `json:"age_s"`
}

// Alarm is one alarm that is not normal.
type Alarm struct {
	Name     string  `json:"name"`
	State    string  `json:"state"`
	Since    *string `json:"since"`
	Severity string  `json:"severity"`
	Priority *string `json:"priority"` // low or medium, of what is overdue in a case
	Case     *string `json:"case"`     // whose alarm it is; null for the station's own
	Latched  bool    `json:"latched"`
	Advice   string  `json:"advice"`
}

// Of turns a snapshot into a status. The snapshot must not be nil.
func Of(s *loop.Snapshot) Status {
	st := Status{
		Name: s.Name, Version: s.Version, Config: s.Config, Invented: s.Demo, Speed: s.Speed,
		Time: s.Wall.UTC().Format(time.RFC3339), ClockTrusted: s.Trusted, MissedTicks: s.Missed,
		Journal:  Journal{OK: s.Journal.OK, Problem: orNull(s.Journal.Problem), LastSync: moment(s.Journal.LastSync)},
		Stations: make([]Station, 0, len(s.Stations)),
	}
	for i := range s.Stations {
		st.Stations = append(st.Stations, stationOf(&s.Stations[i]))
	}
	return st
}

func stationOf(v *loop.StationView) Station {
	s := Station{
		Name: v.Name, Kind: KindWord(v.Kind), Stage: v.Stage,
		HeatOn: v.HeatOn, Permitted: v.Permitted, Attended: v.Attended, AnimalIn: v.AnimalIn, OutOf: v.OutOfService, Alone: orNull(v.NeverAlone),
		Probes: make([]Probe, 0, len(v.Probes)), Alarms: make([]Alarm, 0, len(v.Alarms)),
	}
	if c := v.Case; c != nil {
		s.Case = &Case{Number: c.ID, Animal: c.Animal, Stage: c.Stage, Paused: c.Paused, Next: c.Next, Due: make([]Due, 0, len(c.Due))}
		for _, d := range c.Due {
			s.Case.Due = append(s.Case.Due, Due{d.What, *number(d.In.Seconds()), d.Alarm})
		}
	}
	if v.SetPoint != 0 {
		s.SetPointC = number(DegreesC(v.SetPoint))
	}
	if v.Reason != controller.NoCause {
		s.Reason = orNull(v.Reason.Rule().Name)
	}
	if t := v.Treatment; t != nil {
		s.Treatment = &Treatment{
			Number: t.Number, Schedule: t.Schedule, Stage: t.Stage, Result: t.Result, Slowest: t.Piece, WaitsFor: t.Waits,
			TogetherS: t.Together.Seconds(), LongestS: t.Longest.Seconds(), HoldS: t.Hold.Seconds(),
		}
		if t.Slowest >= 0 {
			s.Treatment.BehindK = number(float64(t.Behind) / float64(controller.Kelvin))
		}
	}
	for _, p := range v.Probes {
		out := Probe{
			Name: p.ROM, Role: RoleWord(p.Role),
			Quality: QualityWord(p.Reading.Quality), Flaw: orNull(FlawWord(p.Reading.Flaw)),
		}
		if HasValue(p.Reading) {
			out.ValueC, out.AgeS = number(DegreesC(p.Reading.Value)), number(p.Age.Seconds())
		}
		s.Probes = append(s.Probes, out)
	}
	for _, a := range v.Alarms {
		s.Alarms = append(s.Alarms, Alarm{
			Name: a.Cause.Rule().Name, State: a.State.String(), Since: moment(a.Since),
			Severity: SeverityWord(a.Severity), Latched: a.Latched, Advice: a.Cause.At(v.Kind).Advice,
		})
	}
	for _, a := range v.CaseAlarms {
		s.Alarms = append(s.Alarms, Alarm{
			Name: a.Name, State: a.State.String(), Since: moment(a.Since), Severity: SeverityWord(CaseSeverity(a)),
			Priority: orNull(CasePriority(a)), Case: orNull(a.Case), Advice: a.Advice,
		})
	}
	return s
}

// CasePriority is the priority of an alarm of a case in the words of ISA-18.2.
func CasePriority(a loop.CaseAlarm) string {
	if a.Medium {
		return procedure.Medium.String()
	}
	return procedure.Low.String()
}

// CaseSeverity is the severity as which an alarm of a case is told: it takes no
// heat away.
func CaseSeverity(a loop.CaseAlarm) controller.Severity {
	if a.Medium {
		return controller.Warning
	}
	return controller.Note
}

// HasValue says whether a reading carries a temperature worth showing: a bad
// one never does, so that 0 °C from a shorted bus is never shown as a value.
func HasValue(r controller.Reading) bool {
	return r.Quality == controller.Good || r.Quality == controller.Suspect
}

// Alarming says whether any alarm is active.
func (s Status) Alarming() bool {
	for _, st := range s.Stations {
		for _, a := range st.Alarms {
			if activeWord(a.State) {
				return true
			}
		}
	}
	return false
}

// Stale is the age past which a status is not of now: ticks come once a second.
const Stale = 15 * time.Second

// Age is how old the status is by a clock that is set as the daemon's, and
// whether that means that ticks have stopped. The model's clock is its own, so
// an invented status is never called stale by it.
func (s Status) Age(now time.Time) (age time.Duration, stale bool) {
	at, err := time.Parse(time.RFC3339, s.Time)
	if err != nil {
		return 0, true
	}
	age = now.Sub(at)
	return age, !s.Invented && (age > Stale || age < -Stale)
}

// number is rounded to a thousandth, so that a file of two runs compares.
func number(x float64) *float64 {
	x = math.RoundToEven(x*1000) / 1000
	if x == 0 {
		x = 0 // never minus zero
	}
	return &x
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func moment(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	return orNull(t.UTC().Format(time.RFC3339))
}
