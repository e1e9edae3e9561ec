// Package handover makes the papers that hang beside the tubs: a wall sheet of
// one A4 page a station, labels that name animal, tub, probes and plugs alike,
// and a note for the person who looks after the animals for a while.
//
// It decides nothing. What an alarm asks for is the first verb of the
// controller's own table, so that paper, page and message say the same. It never
// tells anybody to reset or to treat: that is the keeper's.
package handover

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/casebook"
	"soakwarden/internal/config"
	"soakwarden/internal/sizing"
	"soakwarden/internal/status"
)

// Phone is one number to call, as written by the keeper.
type Phone struct{ Who, Number string }

// Options is what the keeper adds to the configuration.
type Options struct {
	Phones []Phone
	Units  status.Units
	At     time.Time // date of the sheet
}

// Alarm is one alarm on the wall sheet.
type Alarm struct {
	Name  string
	Verb  string // the first
	Whole string // advice
}

// Line is a name and what belongs to it.
type Line struct{ Name, Text string }

// Sheet is the wall sheet of one station.
type Sheet struct {
	Bench, Station, Animal, Date string
	Invented                     bool
	At                           time.Time // of Date
	Band, SetPoint               string
	TooCold, TooHot              string
	Plugs, Probes, Lamps         []Line
	Phones                       []Phone
	Alarms                       []Alarm
	Rules                        []string
}

// six are the alarms that a wall sheet explains: those on which somebody must
// do something with hands, the worst first.
var six = [...]controller.Cause{
	controller.BothWelded, controller.OverCutoff, controller.NoWater, controller.TooCold, controller.ProbeSilent, controller.AttendedTooLong,
}

// Sheets makes a wall sheet for every tub of a configuration, or for one.
func Sheets(cfg *config.Config, station string, o Options) ([]Sheet, error) {
	if station != "" && (cfg.Station(station) < 0 || cfg.Stations[cfg.Station(station)].Kind != controller.Tub) {
		return nil, fmt.Errorf("there is no tub %q in the configuration: write one of %s", station, strings.Join(tubs(cfg), ", "))
	}
	phones := append([]Phone(nil), o.Phones...)
	if cfg.Notify.SitterPhone != "" {
		phones = append(phones, Phone{"with every alarm", cfg.Notify.SitterPhone})
	}
	if len(phones) == 0 {
		return nil, errors.New("a wall sheet without a telephone number helps nobody at night: write --phone \"keeper=…\" and --phone \"veterinarian=…\"")
	}
	var all []Sheet
	for i := range cfg.Stations {
		if st := &cfg.Stations[i]; st.Kind == controller.Tub && (station == "" || station == st.Name) {
			s := sheet(cfg, st, o)
			size, err := sizing.SizeOf(st)
			if err != nil {
				return nil, fmt.Errorf("station %s: %w", st.Name, err)
			}
			if size.PowerCut != nil {
				s.Rules = append(s.Rules, "No power: in the coldest room the water is too cold after "+procedure.Clock(time.Duration(*size.PowerCut)*time.Second)+". Lift the snake into a warm, dry, dark box before.")
			}
			s.Phones = phones
			all = append(all, s)
		}
	}
	if len(all) == 0 {
		return nil, errors.New("the configuration has no tub: a wall sheet is for a tub")
	}
	return all, nil
}

func tubs(cfg *config.Config) []string {
	var names []string
	for i := range cfg.Stations {
		if cfg.Stations[i].Kind == controller.Tub {
			names = append(names, cfg.Stations[i].Name)
		}
	}
	return names
}

func sheet(cfg *config.Config, st *config.Station, o Options) Sheet {
	t := o.Units.Temperature
	s := Sheet{
		Bench: cfg.Name, Station: st.Name, Animal: animal(st), Date: o.At.Format(time.DateOnly), At: o.At, Invented: cfg.Invented,
		SetPoint: t(st.SetPoint), TooCold: t(st.TooCold), TooHot: t(st.Cutoff),
		Band:  t(st.SetPoint-half(st)) + " to " + t(st.SetPoint+half(st)),
		Plugs: plugs(cfg, st, o.Units), Probes: probes(st), Lamps: lamps(cfg),
		Rules: []string{
			"Unplug before you reach in. Then say so: attended.",
			"One animal a tub. No food. The soak water is never drinking water.",
			"Hands, tools and cables go from clean animals to infested ones and never back.",
			"You see, acknowledge and do rounds. Resets and treatments are the keeper's.",
			"If the page says NOT LIVE, the numbers are old: look at the animal, feel the water, call.",
		},
	}
	for _, c := range six {
		r := c.Rule()
		s.Alarms = append(s.Alarms, Alarm{r.Name, verb(r.Advice), r.Advice})
	}
	return s
}

// Foot is the line under everything.
func (s *Sheet) Foot() string {
	return s.Bench + ", " + s.Date + ". Not a certified protective device. Mains beside water: a licensed electrician, local rules, a residual-current device."
}

func half(st *config.Station) physic.Temperature { return physic.Temperature(st.Differential) / 2 }

func animal(st *config.Station) string {
	if st.Animal != "" {
		return st.Animal
	}
	return st.Species.Name
}

// verb is the first word of an advice; one that shouts keeps its whole sentence.
func verb(advice string) string {
	first, _, _ := strings.Cut(advice, ".")
	if first == strings.ToUpper(first) {
		return first
	}
	word, _, _ := strings.Cut(advice, " ")
	return word
}

func plugs(cfg *config.Config, st *config.Station, u status.Units) []Line {
	lines := []Line{{"heat pad", plug(cfg, st.PadRelay)}}
	if st.SeriesRelay != "" {
		lines = append(lines, Line{"series relay", plug(cfg, st.SeriesRelay)})
	}
	if st.Cutout != 0 {
		lines = append(lines, Line{"thermal cut-out", "opens at " + u.Temperature(st.Cutout) + "; its button is pressed by hand, by the keeper"})
	}
	return lines
}

func plug(cfg *config.Config, name string) string {
	if r, ok := cfg.Relay(name); ok {
		return "plug labelled " + r.Name
	}
	return "none"
}

func probes(st *config.Station) []Line {
	var lines []Line
	for _, p := range st.Probes {
		lines = append(lines, Line{status.RoleWord(p.Role), p.ROM})
	}
	return lines
}

// lamps says what the lamps of a bench mean.
func lamps(cfg *config.Config) []Line {
	var lines []Line
	if cfg.Notify.Lamp != "" {
		lines = append(lines, Line{cfg.Notify.Lamp + " on", "an alarm waits for somebody: look at the page"},
			Line{cfg.Notify.Lamp + " off", "no alarm waits; look all the same"})
	}
	if cfg.Heartbeat.Output != "" {
		lines = append(lines, Line{cfg.Heartbeat.Output + " changes every second", "the program is well"},
			Line{cfg.Heartbeat.Output + " stands still", "the program has stopped: unplug the pads, look at the animals, call"})
	}
	if cfg.Notify.Buzzer != "" {
		lines = append(lines, Line{cfg.Notify.Buzzer + " sounds", "heat is off somewhere, or a treatment is about to begin: look now"})
	}
	if lines == nil {
		lines = []Line{{"no lamp", "the bench has none: look at the page"}}
	}
	return lines
}

// Label is one label: the same words on animal, tub, probe and plug.
type Label struct {
	Station, Animal, On, What string
}

// Labels makes the labels of every tub: one for the animal's enclosure and its
// tub, one for each probe and each plug.
func Labels(cfg *config.Config) []Label {
	var all []Label
	for i := range cfg.Stations {
		st := &cfg.Stations[i]
		if st.Kind != controller.Tub {
			continue
		}
		add := func(on, what string) { all = append(all, Label{st.Name, animal(st), on, what}) }
		add("enclosure", animal(st))
		add("tub", "one animal, always")
		for _, p := range st.Probes {
			add("probe "+status.RoleWord(p.Role), p.ROM)
		}
		add("plug of the heat pad", st.PadRelay)
		if st.SeriesRelay != "" {
			add("plug of the series relay", st.SeriesRelay)
		}
	}
	return all
}

// Note is the text for whoever takes over: where each case stands, what is due,
// what to do and what not to do.
func Note(bench string, now status.Status, cases []casebook.Line, o Options) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("Hand-over, %s, %s", bench, o.At.Format("2006-01-02 15:04 MST"))
	if now.Invented {
		line("INVENTED: a model, no animal.")
	}
	for _, p := range o.Phones {
		line("Call %s: %s", p.Who, p.Number)
	}
	for i := range now.Stations {
		st := &now.Stations[i]
		line("")
		line("%s (%s): %s", st.Name, st.Kind, st.Stage)
		for _, p := range st.Probes {
			if p.ValueC != nil && p.Role == status.RoleWord(controller.RoleControl) {
				t := o.Units.Temperature
				set := ""
				if st.SetPointC != nil {
					set = ", set point " + t(ofCelsius(*st.SetPointC))
				}
				line("  water %s%s", t(ofCelsius(*p.ValueC)), set)
			}
		}
		for _, a := range st.Alarms {
			line("  ALARM %s (%s): %s", a.Name, a.State, a.Advice)
		}
		for k := range cases {
			if c := &cases[k]; c.Station == st.Name {
				note(line, c)
			}
		}
	}
	line("")
	line("You see, acknowledge and do rounds. Unplug before you reach in. No reset, no treatment, no food, no chemicals: call.")
	return b.String()
}

func ofCelsius(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*float64(physic.Celsius))
}

func note(line func(string, ...any), c *casebook.Line) {
	line("  case %s, %s: %s, for %s", c.Case, c.Animal, c.Stage, c.Since)
	if c.Paused != "" {
		line("  PAUSED: %s", c.Paused)
	}
	if c.Place != "" {
		line("  the animal is: %s", c.Place)
	}
	for _, k := range c.Used {
		if k.Aired == "" {
			line("  KEEP OUT of %s: %s was used there and it is not aired", k.Where, k.Product)
		}
	}
	for _, d := range c.Due {
		switch {
		case d.InS < 0:
			line("  OVERDUE by %s: %s", strings.TrimPrefix(d.In, "-"), d.What)
		case d.InS == 0:
			line("  now: %s", d.What)
		default:
			line("  in %s: %s", d.In, d.What)
		}
	}
	if c.TopUpL != nil && *c.TopUpL >= 0.1 {
		line("  top up: about %.1f L is missing since the water was changed", *c.TopUpL)
	}
}
