package rehearsal

import (
	"fmt"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/loop"
	"soakwarden/internal/plan"
	"soakwarden/internal/treat"
	"soakwarden/sim/rig"
)

// Treatment is one treatment of a rehearsal, with what the model knows of it.
type Treatment struct {
	Station  string   `json:"station"`
	Number   string   `json:"number"`
	Schedule string   `json:"schedule"`
	Stage    string   `json:"stage"` // at the end of the run
	Result   string   `json:"result"`
	Reason   string   `json:"reason"`
	LongestS float64  `json:"longest_together_s"`
	PlannedS *float64 `json:"planned_s"` // from the first heat until the schedule is held
	TookS    *float64 `json:"took_s"`
	// What the model knows: the longest time for which every place that a
	// required probe belongs to was really past the target, and the extremes of
	// air and pieces.
	TrueLongestS float64 `json:"true_longest_together_s"`
	HottestC     float64 `json:"hottest_c"`
	LimitC       float64 `json:"limit_c"` // of the configuration; 0 for a freezer
}

func (t *Treatment) print(b *strings.Builder) {
	fmt.Fprintf(b, "\ntreatment %s, %s: %s\n  %s\n", t.Number, t.Schedule, t.Result, t.Reason)
	line := func(name, format string, args ...any) {
		fmt.Fprintf(b, "  %-22s %s\n", name, fmt.Sprintf(format, args...))
	}
	line("stage at the end", "%s", t.Stage)
	line("longest together", "%s, truly %s", seconds(t.LongestS), seconds(t.TrueLongestS))
	if t.PlannedS != nil {
		line("took", "%s, planned %s", after(t.TookS), seconds(*t.PlannedS))
	}
	line("hottest", "%.2f °C", t.HottestC)
}

// overLimit is how far over the limit a chamber may get, K.
const overLimit = 2.0

// treated plays the treatments of a run: its people, its doors and the judge
// who reads the model.
type treated struct {
	run   *Run
	desk  *treat.Desk // of the program that lives now
	doors map[string]bool
	bell  *rig.Pin // the buzzer
	all   []*treating
}

// treating is one treatment as the run sees it.
type treating struct {
	Treatment
	i        int // station
	schedule treatment.Schedule
	since    time.Duration // all truly past; −1 when not
	heatFrom time.Duration // first second under way; 0 before
	over     bool
}

func newTreated(r *Run) *treated {
	t := &treated{run: r, doors: map[string]bool{}}
	if cfg := r.scenario.Config; cfg.Notify.Buzzer != "" {
		for i := range cfg.Stations {
			if cfg.Stations[i].Kind == controller.Chamber {
				t.bell = rig.NewPin(cfg.Notify.Buzzer)
			}
		}
	}
	r.keeper.Treat = t.do
	return t
}

// open makes the desk of a new life of the program.
func (t *treated) open(parts *plan.Parts) error {
	saved, err := t.run.record.LoadStates()
	if err != nil {
		return err
	}
	t.desk = treat.NewDesk(treat.Options{
		Config: t.run.scenario.Config, Record: t.run.record, Version: parts.Version, Saved: saved,
		Tell: func(station string, err error) { t.run.narrator.say(t.run.bench.Now(), station, "%v", err) },
		Code: func() string { return "1234" },
	})
	parts.Treat = t.desk.Driver
	if t.bell != nil {
		parts.Buzzer = t.bell
	}
	return nil
}

// Desk is where the treatments of the program that lives now are run.
func (r *Run) Desk() *treat.Desk { return r.treated.desk }

// contact is a switch whose state is computed.
type contact func() bool

// Seen implements loop.Feedback.
func (c contact) Seen() controller.Contact {
	if c() {
		return controller.ContactClosed
	}
	return controller.ContactOpen
}

// input is a switch of the bench: air moves while the fan turns, doors are as
// the story has them.
func (t *treated) input(name string) loop.Feedback {
	cfg, b := t.run.scenario.Config, t.run.bench
	for i := range cfg.Stations {
		st := &cfg.Stations[i]
		switch name {
		case st.AirflowInput:
			return contact(func() bool { return b.FanRuns(i) })
		case st.DoorInput:
			return contact(func() bool { return t.doors[st.Name] })
		case st.PadFeedback:
			return contact(func() bool { return b.Pins()[cfg.RelayIndex(st.PadRelay)].Closed() })
		case st.SeriesFeedback:
			return contact(func() bool { return b.Pins()[cfg.RelayIndex(st.SeriesRelay)].Closed() })
		}
	}
	return nil
}

// do carries out an event at a chamber.
func (t *treated) do(e Event) bool {
	var err error
	switch e.Kind {
	case TreatmentStarted:
		err = t.start(e)
	case TreatmentStopped:
		_, err = t.desk.Stop(e.Target, "the keeper of the rehearsal", "the story says so")
	case TreatmentReleased:
		_, _, err = t.desk.Release(treat.Release{Station: e.Target, Who: "the keeper of the rehearsal"})
	case DoorOpened, DoorClosed:
		t.doors[e.Target] = e.Kind == DoorOpened
	default:
		return false
	}
	t.run.narrator.say(t.run.bench.Now(), e.Target, "event: %s %s", e.Kind, e.Schedule)
	if err != nil {
		t.run.narrator.say(t.run.bench.Now(), e.Target, "refused: %v", err)
	}
	return true
}

func (t *treated) start(e Event) error {
	c, err := t.desk.Announce(treat.Order{
		Station: e.Target, Schedule: e.Schedule, Operator: "the keeper of the rehearsal", NoResidents: true, Load: "as configured",
	})
	number := ""
	if err == nil {
		number, _, err = t.desk.Start(e.Target, c.Type)
	}
	s := &treating{i: t.run.scenario.Config.Station(e.Target), since: -1}
	s.schedule, _ = treatment.Find(e.Schedule)
	s.Station, s.Number, s.Schedule, s.Result = e.Target, number, e.Schedule, "open"
	if err != nil {
		s.Result, s.Reason, s.over = "not started", err.Error(), true
	} else {
		s.PlannedS = c.Plan.Total
	}
	s.LimitC = max(0, t.run.scenario.Config.Stations[s.i].Limit.Celsius())
	s.HottestC = -273.15
	t.all = append(t.all, s)
	return err
}

// keep asks the living program how its treatments stand.
func (t *treated) keep(now time.Duration) {
	if t.run.loop == nil {
		return
	}
	for _, s := range t.all {
		if s.over {
			continue
		}
		v := t.desk.Driver(s.Station).View()
		if v == nil || v.Number != s.Number {
			s.over, s.Stage = true, "released"
			continue
		}
		s.Stage, s.LongestS, s.Result, s.Reason = v.Stage, v.Longest.Seconds(), v.Result, v.Reason
		if s.Reason == "" {
			s.Reason = "waits for " + v.Waits
		}
		under := v.Stage != treat.Warning.Words(v.Freeze)
		if under && s.heatFrom == 0 {
			s.heatFrom = now
		}
		if !v.Running && s.TookS == nil && s.heatFrom > 0 {
			took := (now - s.heatFrom).Seconds()
			s.TookS = &took
		}
	}
}

// step reads the model.
func (t *treated) step(now time.Duration) {
	for _, s := range t.all {
		if s.Number == "" {
			continue
		}
		b, st := t.run.bench, &t.run.scenario.Config.Stations[s.i]
		truth := b.Chamber(s.i)
		s.HottestC = max(s.HottestC, truth.Air)
		for _, p := range truth.Pieces {
			s.HottestC = max(s.HottestC, p.Surface)
		}
		past := true
		for k := range st.Probes {
			if st.Probes[k].Role != controller.RoleAir {
				past = past && s.schedule.Past(fromCelsius(b.Intended(s.i, k)), 0)
			}
		}
		switch {
		case !past:
			s.since = -1
		case s.since < 0:
			s.since = now
		default:
			s.TrueLongestS = max(s.TrueLongestS, (now - s.since).Seconds())
		}
	}
}

// tell adds the treatments and what was promised of them to the outcome.
func (t *treated) tell(o *Outcome) {
	for _, s := range t.all {
		o.Treatments = append(o.Treatments, s.Treatment)
	}
	if len(t.all) == 0 {
		return
	}
	honest, cool := true, true
	for _, s := range t.all {
		if s.Result == treatment.Pass.String() && s.TrueLongestS < s.schedule.Hold.Seconds() {
			honest = false
		}
		if s.LimitC > 0 && s.HottestC > s.LimitC+overLimit {
			cool = false
		}
	}
	o.Promises = append(o.Promises,
		Promise{"no PASS without every core truly held", honest},
		Promise{"never more than 2 K over the limit of the furnishings", cool})
}
