package casebook

import (
	"time"

	"soakwarden/controller/procedure"
	"soakwarden/internal/followup"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// Line is a case as it is listed.
type Line struct {
	Case     string   `json:"case"`
	Station  string   `json:"station"`
	Animal   string   `json:"animal"`
	Stage    string   `json:"stage"`
	Since    string   `json:"in_stage"`
	Place    string   `json:"place,omitempty"`
	Paused   string   `json:"paused,omitempty"`
	Checks   string   `json:"program_checks,omitempty"`
	Confirms string   `json:"keeper_confirms,omitempty"`
	Lasts    string   `json:"lasts,omitempty"`
	Next     string   `json:"next"`
	Stops    string   `json:"stops,omitempty"`
	Due      []Due    `json:"due"`
	TopUpL   *float64 `json:"top_up_l"`
	Items    []Thing  `json:"furnishings"`
	Used     []Used   `json:"chemicals"`

	FollowUp *followup.Calendar `json:"follow_up"` // in the watch; null otherwise

	water time.Duration // its age, while the animal lies in it
}

// Due is one thing that is due.
type Due struct {
	What     string  `json:"what"`
	InS      float64 `json:"in_s"` // negative: overdue
	In       string  `json:"in"`
	Priority string  `json:"priority"` // of its alarm: none, low, medium
	Quiet    bool    `json:"quiet"`    // overdue, and not told before the morning
}

// Thing is one furnishing.
type Thing struct {
	Name      string `json:"name"`
	Way       string `json:"way"`
	Record    string `json:"record,omitempty"`
	Sealed    bool   `json:"sealed"`
	Enclosure bool   `json:"enclosure"`
}

// Used is one record of a chemical.
type Used struct {
	Product string `json:"product"`
	Where   string `json:"where"`
	By      string `json:"by"`
	Aired   string `json:"aired"` // how that was found out, empty until then
}

// List gives every case, those that are over last.
func (b *Book) List() []Line {
	all := b.lines()
	for i := range all {
		l := &all[i]
		if l.water == 0 {
			continue
		}
		left := 0.0
		if v := b.view(l.Station); v != nil {
			left = v.WaterLeft
		}
		s, missing := b.budget(l.Station), 0.0
		if left > 0 {
			missing = 1 - left
		}
		if s.Evaporation > 0 || missing > 0 {
			litres := procedure.TopUp(s.Evaporation, l.water.Hours(), b.volume(l.Station), missing)
			l.TopUpL = &litres
		}
	}
	return all
}

// volume is that of the full tub, in litres.
func (b *Book) volume(station string) float64 {
	for _, t := range b.o.Tubs {
		if t.Name == station {
			return t.Volume
		}
	}
	return 0
}

func (b *Book) lines() []Line {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := []Line{}
	for _, over := range []bool{false, true} {
		for _, r := range b.cases {
			if r.c.Stage().Over() == over {
				all = append(all, b.line(r))
			}
		}
	}
	return all
}

func (b *Book) line(r *running) Line {
	v := r.c.View()
	rule := v.Stage.Rule()
	l := Line{
		Case: v.ID, Station: v.Station, Animal: v.Animal.Label, Stage: rule.Name, Since: procedure.Clock(v.In), Place: v.Animal.Place,
		Paused: v.Pause.Say(), Checks: rule.Checks, Confirms: rule.Confirms, Lasts: rule.Lasts, Next: rule.Next, Stops: rule.Stops,
		Due: []Due{}, Items: []Thing{}, Used: []Used{},
	}
	for _, k := range v.Chemicals {
		l.Used = append(l.Used, Used(k))
	}
	if v.Stage == procedure.Soaking {
		l.Lasts = "at most " + procedure.Clock(v.Plan.LongestWet) + " unbroken"
	}
	for _, d := range b.due(r) {
		l.Due = append(l.Due, Due{d.What, d.In.Seconds(), procedure.Clock(d.In), d.Priority.String(), d.Quiet})
	}
	for _, i := range v.Items {
		l.Items = append(l.Items, Thing{i.Name, i.Way.String(), i.Record, i.Sealed, i.Enclosure})
	}
	if v.Stage.InWater() {
		l.water = v.Water
	}
	if day, err := time.Parse(time.DateOnly, v.Treated); err == nil && v.Stage == procedure.Watch {
		if c, err := followup.Of(day, v.Room, status.Both); err == nil {
			l.FollowUp = &c
		}
	}
	return l
}

func (b *Book) due(r *running) []procedure.Due {
	now := b.o.Moment()
	today, night := time.Time{}, false
	if now.Trusted {
		today = now.Wall.In(b.o.Zone)
		night = r.c.View().Plan.Night(today.Hour())
	}
	return r.c.Due(today, night)
}

// next are the things to do, as sentences.
func (b *Book) next(r *running) []string {
	var all []string
	for _, d := range b.due(r) {
		switch {
		case d.In > 0:
			all = append(all, d.What+" In "+procedure.Clock(d.In)+".")
		case d.In < 0:
			all = append(all, d.What+" Overdue by "+procedure.Clock(-d.In)+".")
		default:
			all = append(all, d.What+" Now.")
		}
	}
	return all
}

// Show puts the cases into a snapshot that nobody else has yet: the stage of
// the case that has the tub, what it asks for, and what is due.
func (b *Book) Show(snap *loop.Snapshot) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.cases) == 0 {
		return
	}
	at, alarms := map[string]*running{}, map[string][]loop.CaseAlarm{}
	for _, r := range b.cases {
		if atStation(r.c.Stage()) {
			at[r.c.Tub()] = r
		}
	}
	for _, a := range b.alarms() {
		alarms[a.Station] = append(alarms[a.Station], a)
	}
	for i := range snap.Stations {
		v := &snap.Stations[i]
		v.CaseAlarms = alarms[v.Name]
		r := at[v.Name]
		if r == nil {
			continue
		}
		c := r.c.View()
		v.Stage = c.Stage.String()
		if c.Pause != procedure.NoPause {
			v.Stage += ", paused"
		}
		show := &loop.CaseView{
			ID: c.ID, Animal: c.Animal.Label, Stage: c.Stage.String(), For: c.In, Paused: c.Pause.Say(),
			Lasts: c.Stage.Rule().Lasts, Confirms: c.Stage.Rule().Confirms, Stops: c.Stage.Rule().Stops, Next: c.Stage.Rule().Next,
		}
		for _, d := range b.due(r) {
			show.Due = append(show.Due, loop.DueView{What: d.What, In: d.In, Alarm: alarmWord(d.Priority)})
		}
		v.Case = show
	}
}

func alarmWord(p procedure.Priority) string {
	if p == procedure.NoPriority {
		return ""
	}
	return p.String()
}
