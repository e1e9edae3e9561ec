package treatment

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Schedule is what a treatment must reach: every required probe at Target or
// past it, all together, for Hold.
type Schedule struct {
	Name   string
	Freeze bool // past means colder
	Target physic.Temperature
	Hold   time.Duration
	For    string // whose death the source speaks of, and where it was measured
	Source string
	Ours   string // what of it is our own choice and no source's; empty for nothing
}

// Refused is a schedule that is told about and not offered.
type Refused struct {
	Name   string
	What   string
	Reason string
	Source string
}

func celsius(c int64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c)*physic.Kelvin
}

const day = 24 * time.Hour

// Schedules are those that are built in, the quickest heat first.
func Schedules() []Schedule {
	return []Schedule{
		{
			Name: "core-56-30min", Target: celsius(56), Hold: 30 * time.Minute,
			For:    "pests of wood, through the whole profile of the wood, core included",
			Source: "ISPM 15 (FAO/IPPC), treatment HT: 56 °C for at least 30 continuous minutes",
		},
		{
			Name: "core-55-60min", Target: celsius(55), Hold: time.Hour,
			For:    "insect pests of museum objects, core of the object",
			Source: "museum practice: 55 °C at the core for a short time (from memory)",
			Ours:   "the hour: the source says a short time",
		},
		{
			Name: "dry-50-5h", Target: celsius(50), Hold: 5 * time.Hour,
			For:    "eggs of the house dust mite Dermatophagoides pteronyssinus, dry heat",
			Source: "Mahakittikun et al. 2011, Exp Appl Acarol 55(4):339–347: thermal death point at 5 h",
		},
		{
			Name: "house-45-48h", Target: celsius(45), Hold: 48 * time.Hour,
			For:    "poultry red mite Dermanyssus gallinae, all stages, a whole empty house",
			Source: "Goselink et al. 2020, Vet Parasitol 288:109307: air at 45 °C or more for 48 h or more",
		},
		{
			Name: "freeze-30-7d", Freeze: true, Target: celsius(-30), Hold: 7 * day,
			For:    "insect pests of museum objects",
			Source: "museum practice (from memory)",
		},
		{
			Name: "freeze-20-14d", Freeze: true, Target: celsius(-20), Hold: 14 * day,
			For:    "insect pests of museum objects",
			Source: "museum practice (from memory)",
		},
		{
			Name: "freeze-18-14d", Freeze: true, Target: celsius(-18), Hold: 14 * day,
			For:    "a household freezer; northern fowl mite Ornithonyssus sylviarum, the nearest relative with numbers",
			Source: "DeVaney and Beerwinkle 1980, Poultry Sci 59(10):2198–2201: survived −15 °C for up to 5 days",
			Ours:   "the whole schedule: derived, 3 K colder and nearly three times longer than the longest survival that was published",
		},
	}
}

// Find is the built-in schedule of that name.
func Find(name string) (Schedule, bool) {
	for _, s := range Schedules() {
		if s.Name == name {
			return s, true
		}
	}
	return Schedule{}, false
}

// RefusedSchedules are those that people ask for and that are not run, with the
// reason.
func RefusedSchedules() []Refused {
	return []Refused{
		{
			Name: "heat-110F", What: "110 °F (43.3 °C) for any time",
			Reason: "it is a floor and no schedule: no time is published after which every egg is dead at it, eggs of the bed bug outlived 7 h at 45 °C, and a poultry house needed 48 h at 45 °C; take house-45-48h or a hotter one",
			Source: "Kells and Goblirsch 2011, Insects 2(3):412–422; Goselink et al. 2020, Vet Parasitol 288:109307",
		},
		{
			Name: "freezer-2d", What: "two days in a freezer",
			Reason: "it names no temperature at the core, soft goods may need most of the first day only to get cold, and the nearest relative with numbers outlived 5 days at −15 °C; take freeze-18-14d",
			Source: "DeVaney and Beerwinkle 1980, Poultry Sci 59(10):2198–2201; Naylor and Boase 2010, J Econ Entomol 103(1):136–139",
		},
		{
			Name: "freeze-20F-48h", What: "20 °F (−6.7 °C) for 48 h",
			Reason: "mites live through it: above −12 °C some bed bugs survive a week, and the northern fowl mite 5 days at −15 °C; take freeze-18-14d",
			Source: "Olson et al. 2013, J Econ Entomol 106(6):2433–2441; DeVaney and Beerwinkle 1980, Poultry Sci 59(10):2198–2201",
		},
	}
}

// FindRefused is the refused schedule of that name.
func FindRefused(name string) (Refused, bool) {
	for _, r := range RefusedSchedules() {
		if r.Name == name {
			return r, true
		}
	}
	return Refused{}, false
}

// RefusalOf says why a schedule of one's own making is not to be run, empty
// when nothing speaks against it: what the refused ones forbid is forbidden
// under any name.
func (s Schedule) RefusalOf() string {
	switch {
	case s.Hold <= 0:
		return "it has no time: give how long the target must be held"
	case s.Freeze && s.Target > celsius(-18):
		return "it freezes at more than −18 °C: " + RefusedSchedules()[2].Reason
	case s.Freeze && s.Hold < 7*day:
		return "it freezes for less than 7 days: " + RefusedSchedules()[1].Reason
	case s.Freeze && s.Target > celsius(-30) && s.Hold < 14*day:
		return "it freezes at more than −30 °C for less than 14 days; take freeze-18-14d"
	case !s.Freeze && s.Target < celsius(45):
		return "it heats to less than 45 °C: " + RefusedSchedules()[0].Reason
	case !s.Freeze && s.Target < celsius(50) && s.Hold < 48*time.Hour:
		return "it holds less than 50 °C for less than 48 h: " + RefusedSchedules()[0].Reason
	case !s.Freeze && s.Target < celsius(55) && s.Hold < 5*time.Hour:
		return "it holds less than 55 °C for less than 5 h: eggs of the house dust mite need 5 h at 50 °C (Mahakittikun et al. 2011); take dry-50-5h"
	case !s.Freeze && s.Hold < 30*time.Minute:
		return "it holds for less than 30 min: no published schedule is shorter (ISPM 15); take core-56-30min"
	case !s.Freeze && s.Target > celsius(65):
		return "it heats to more than 65 °C, which no chamber here may"
	case s.Freeze && s.Target < celsius(-40):
		return "it freezes at less than −40 °C, which no freezer here is"
	}
	return ""
}

// Past says whether a reading with its uncertainty is at the target or past it.
func (s Schedule) Past(t physic.Temperature, u controller.Difference) bool {
	if s.Freeze {
		return controller.Above(t, u) <= s.Target
	}
	return controller.Below(t, u) >= s.Target
}

// Behind is how far a reading with its uncertainty is from counting, zero or
// less when it counts.
func (s Schedule) Behind(t physic.Temperature, u controller.Difference) controller.Difference {
	if s.Freeze {
		return controller.Between(s.Target, controller.Above(t, u))
	}
	return controller.Between(controller.Below(t, u), s.Target)
}
