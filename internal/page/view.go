package page

import (
	"html/template"
	"slices"
	"strconv"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// frame is what one rendering of the sheet is made from: a snapshot, whether
// it is live, and the trends of that moment.
type frame struct {
	snap    *loop.Snapshot
	live    bool
	samples [][]sample
	gap     time.Duration // between samples, past which a line is broken
	zone    *time.Location
	token   string
	acts    bool // acts can be handed on
	cases   bool // so can orders of the procedure
	sitter  bool // only acknowledgements, presence and rounds
	demo    *demoView
}

// titleView is the title block.
type titleView struct {
	Name, Version, Config string
	Live                  bool
	Date, Clock, Zone     string
	Untrusted             bool
	Invented              bool
	Speed                 string
	Missed                uint64
	Journal               string // what is wrong with it, empty for nothing
	Buses                 []string
	Relays                []string
	Started               bool
}

// shortChecksum is as much of the checksum as a person compares.
const shortChecksum = 12

func (f *frame) title() titleView {
	s := f.snap
	if s == nil {
		return titleView{}
	}
	at := s.Wall.In(f.zone)
	t := titleView{
		Started: true, Name: s.Name, Version: s.Version, Config: s.Config[:min(len(s.Config), shortChecksum)],
		Live: f.live, Date: at.Format("2006-01-02"), Clock: at.Format("15:04:05"), Zone: at.Format("MST"),
		Untrusted: !s.Trusted, Invented: s.Demo, Missed: s.Missed,
		Speed: strconv.FormatFloat(s.Speed, 'g', 4, 64),
	}
	t.Journal = s.Journal.Problem
	if t.Journal == "" && !s.Journal.OK {
		t.Journal = "not being written"
	}
	for _, b := range s.Buses {
		if b.Fault != "" {
			t.Buses = append(t.Buses, b.Name+": "+b.Fault)
		}
	}
	for _, r := range s.Relays {
		if !r.Written {
			t.Relays = append(t.Relays, r.Name+": could not be written")
		}
	}
	return t
}

// stationView is one station on the sheet.
type stationView struct {
	ID        string // prefix of its regions
	Path      string // of its own sheet
	Token     string
	CanAct    bool
	Sitter    bool
	Case      *caseView // that has the tub
	CanCase   bool
	Treatment *treatmentView // of a chamber
	Name      string
	Kind      string
	Species   string
	Stage     string
	Values    []string // the governing temperature, one or two units
	Condition string   // one phrase about the temperature
	Abnormal  bool     // the phrase is bad news
	Heat      string
	SetPoint  string
	Limits    string
	Climbing  string // the set point that governs now, empty when it is the set point
	Attended  bool
	AnimalIn  bool
	IsTub     bool
	Ready     bool
	Alone     string // why a person must be present
	Alarms    []alarmView
	Parts     []partView
	Proofs    []string
	Truth     []string // what the model knows, in the demo only
	Column    bool     // the model knows the truth of some probe
	Drawing   template.HTML
	Trend     template.HTML
	HasTrend  bool
}

// partView is one row of the list of parts: a probe.
type partView struct {
	Line                                                     string // class of its line in the trend, empty when it has none
	Name, Role, ROM, Value, Quality, Age, Uncertainty, Truth string
	Abnormal                                                 bool
}

func (f *frame) station(i int, u status.Units) stationView {
	v := &f.snap.Stations[i]
	s := stationView{
		ID: "s" + strconv.Itoa(i), Path: stationPath(v.Name), Token: f.token, CanAct: f.acts, Sitter: f.sitter, Case: f.caseOf(v, "s"+strconv.Itoa(i)), CanCase: f.cases && v.Kind == controller.Tub,
		Name: v.Name, Kind: status.KindWord(v.Kind), Species: v.Species, Stage: v.Stage,
		Attended: v.Attended, AnimalIn: v.AnimalIn && v.Kind == controller.Tub, IsTub: v.Kind == controller.Tub, Ready: v.ReadyAt != 0, Alone: v.NeverAlone,
		Heat: heatWord(v), Limits: limitsWord(v, u),
	}
	for _, a := range v.Alarms {
		s.Alarms = append(s.Alarms, f.alarm(v, a, u))
	}
	for _, a := range v.CaseAlarms {
		s.Alarms = append(s.Alarms, f.caseAlarm(a))
	}
	slices.SortStableFunc(s.Alarms, func(a, b alarmView) int { return int(b.rank) - int(a.rank) })
	s.Values, s.Condition, s.Abnormal = conditionOf(v, u)
	if v.SetPoint != 0 {
		s.SetPoint = u.Temperature(v.SetPoint)
	}
	if d := controller.Difference(v.SetPoint - v.Effective); v.Effective != 0 && (d > 50*controller.MilliKelvin || d < -50*controller.MilliKelvin) {
		s.Climbing = u.Temperature(v.Effective)
	}
	for j := range v.Probes {
		part := partOf(v, j, u)
		part.Line = lineClass(v, j)
		s.Column = s.Column || part.Truth != ""
		s.Parts = append(s.Parts, part)
	}
	for _, p := range v.Proofs {
		s.Proofs = append(s.Proofs, proofWord(p, f.zone))
	}
	s.Truth = truthWords(v, u)
	s.Treatment = treatmentOf(v, u)
	return s
}

// draw adds the section.
func (f *frame) draw(s *stationView, i int, u status.Units) {
	v := &f.snap.Stations[i]
	if v.Kind == controller.Chamber {
		s.Drawing = drawChamber(v, u).markup()
	} else {
		s.Drawing = drawTub(v, u).markup()
	}
}

// drawTrend adds the trend.
func (f *frame) drawTrend(s *stationView, i int, u status.Units) {
	if i < len(f.samples) && len(f.samples[i]) > 1 {
		s.HasTrend = true
		s.Trend = drawTrend(&f.snap.Stations[i], f.samples[i], u, f.zone, f.gap).markup()
	}
}

// conditionOf says the governing temperature and how it stands to the band.
func conditionOf(v *loop.StationView, u status.Units) (values []string, phrase string, abnormal bool) {
	t, known := shown(v)
	if !known {
		return []string{"no believable reading"}, "", true
	}
	lines := valueLines(u, t)
	values = append(values, lines[0])
	if lines[1] != "" {
		values = append(values, lines[1])
	}
	if v.Kind == controller.Chamber {
		return values, chamberPhrase(v, t, u), false
	}
	half := controller.Difference(v.Differential)/2 + 50*controller.MilliKelvin
	off := controller.Difference(t - v.SetPoint)
	switch {
	case v.SetPoint == 0:
		return values, "no set point", false
	case v.Cutoff != 0 && t > v.Cutoff:
		return values, "over the cutoff", true
	case v.TooCold != 0 && t < v.TooCold && (v.AnimalIn || activeAlarm(v, controller.TooCold)):
		return values, "too cold", true
	case off > half:
		return values, u.Difference(off) + " over the set point", false
	case off < -half:
		return values, u.Difference(-off) + " under the set point", false
	}
	return values, "in the band", false
}

// chamberPhrase says which point of a chamber is shown, and in a treatment how
// it stands to the target.
func chamberPhrase(v *loop.StationView, t physic.Temperature, u status.Units) string {
	point := probeName(v, telling(v))
	switch {
	case !treating(v) && freezing(v):
		return "coldest point, " + point
	case !treating(v):
		return "hottest point, " + point
	}
	switch off := controller.Difference(t - v.Treatment.Target); {
	case freezing(v) && off > 0:
		return "slowest point, " + point + ", " + u.Difference(off) + " over the target"
	case !freezing(v) && off < 0:
		return "slowest point, " + point + ", " + u.Difference(-off) + " under the target"
	}
	return "slowest point, " + point + ", past the target"
}

func heatWord(v *loop.StationView) string {
	switch {
	case v.HeatOn:
		return "heat ON"
	case v.Permitted:
		return "heat off"
	case v.OutOfService:
		return "out of service: no heat"
	case v.Attended:
		return "heat off, both relays open"
	case v.Reason != controller.NoCause:
		return "heat withheld: " + v.Reason.Rule().Name
	case v.Kind == controller.Chamber && !treating(v):
		return "no heat without a treatment"
	}
	return "heat withheld"
}

func limitsWord(v *loop.StationView, u status.Units) string {
	words := ""
	if v.TooCold != 0 && v.Kind == controller.Tub {
		words = "too cold " + u.Temperature(v.TooCold)
	}
	if v.Cutoff != 0 && !freezing(v) {
		if words != "" {
			words += ", "
		}
		words += limitWord(v.Kind) + " " + u.Temperature(v.Cutoff)
	}
	return words
}

func proofWord(p loop.ProofView, zone *time.Location) string {
	switch {
	case p.At.IsZero():
		return p.Name + ": never made"
	case !p.Passed:
		return p.Name + ": FAILED " + p.At.In(zone).Format("2006-01-02 15:04")
	}
	return p.Name + ": passed " + p.At.In(zone).Format("2006-01-02 15:04")
}
