// Package followup writes down the days on which to look again after a
// treatment: as text, as values for a script and as an iCalendar file of whole
// days.
//
// It decides nothing: the days are those of procedure.Follow. Every number
// names the species it was measured on, because no rate of development of the
// snake mite itself was published; what stands here is a lower bound from its
// relative beside the snake mite's own published cycle. It is no promise that
// an animal is free of mites and no veterinary advice.
//
// Sources: Tucci, Prado & Araújo 2008 (lines), Camin 1953 as summarised by
// Barker (cycle of the snake mite), RFC 5545 (the calendar file).
package followup

import (
	"fmt"
	"io"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/procedure"
	"soakwarden/internal/status"
)

// Event is one day of the follow-up.
type Event struct {
	Date string `json:"date"` // 2006-01-02
	What string `json:"what"`
	Why  string `json:"why"`
}

// Bound is one time of the model.
type Bound struct {
	What    string  `json:"what"`
	Hours   float64 `json:"hours"`
	Species string  `json:"species"`
	Source  string  `json:"source"`
}

// Calendar is the whole follow-up of one case.
type Calendar struct {
	Events   []Event `json:"events"`
	Treated  string  `json:"treated"`
	RoomC    float64 `json:"room_c"`
	UsedC    float64 `json:"model_c"` // temperature that the lines were asked at
	Bounds   []Bound `json:"lower_bounds"`
	AllClear string  `json:"earliest_all_clear"`
	Caution  string  `json:"caution"`
}

const (
	relative = "poultry red mite (Dermanyssus gallinae)"
	own      = "snake mite (Ophionyssus natricis)"
	tucci    = "Tucci, Prado & Araújo 2008"
	camin    = "Camin 1953 as summarised by Barker"
	caution  = "Days to look, not a promise: a lower bound from a relative of the snake mite. The published lines miss the times that the same author measured by up to 45 %% in single stages (an egg at %s: 42 h measured, 48 h by the line), so look earlier and more often when you can. Ask a veterinarian before a second soak, and at once when the animal is unwell."
)

// Of writes down the follow-up of what was treated on a date, in a room.
func Of(treated time.Time, room physic.Temperature, u status.Units) (Calendar, error) {
	f, err := procedure.Follow(room)
	if err != nil {
		return Calendar{}, err
	}
	c := Calendar{
		Treated: procedure.Date(treated, 0).Format(time.DateOnly),
		RoomC:   tenth(status.DegreesC(room)), UsedC: tenth(status.DegreesC(f.Used)), Caution: fmt.Sprintf(caution, u.Temperature(physic.ZeroCelsius+25*physic.Celsius)),
		Bounds: []Bound{
			{"egg hatches", tenth(f.Hatch), relative, tucci},
			{"first protonymph looks for a host", tenth(f.Feed), relative, tucci},
			{"first adult", tenth(f.Adult), relative, tucci},
			{"first eggs of the next generation", tenth(f.Lay), relative, tucci},
			{"shortest whole cycle", procedure.ShortestCycle * 24, own, camin},
			{"longest usual cycle", procedure.LongestCycle * 24, own, camin},
			{"longest life, in the cool", procedure.LongestLife * 24, own, camin},
		},
	}
	for _, d := range f.Days {
		what, why := words(&f, d, u)
		c.Events = append(c.Events, Event{procedure.Date(treated, d.Day).Format(time.DateOnly), what, why})
	}
	c.AllClear = c.Events[len(c.Events)-1].Date
	return c, nil
}

// words says what is done on a day and why on that day.
func words(f *procedure.FollowUp, d procedure.Day, u status.Units) (what, why string) {
	at := u.Temperature(f.Used)
	switch {
	case f.Room < f.Used:
		at += " (the room is cooler than the model reaches, so it takes longer)"
	case f.Room > f.Used:
		at += " (the room is warmer than the model reaches)"
	}
	hours := func(h float64) string { return fmt.Sprintf("%.0f h", h) }
	switch d.Mark {
	case procedure.Treated:
		return "Day 0: furnishings treated and animal back",
			"The later of the two counts: from here on a survivor can only be one that was missed."
	case procedure.FirstLook:
		return "Look: animal, paper and water bowl",
			fmt.Sprintf("Eggs that were missed hatch after %s at the earliest and look for the animal after %s, at %s: the %s, %s; a lower bound for the %s.",
				hours(f.Hatch), hours(f.Feed), at, relative, tucci, own)
	case procedure.SecondSoak:
		return "Look; a second soak begins today at the latest if a mite was seen",
			fmt.Sprintf("Survivors could lay again after %s at the earliest, at %s: the %s, %s; the day is taken 7 %% earlier, by which the lines are slower than measured. Veterinarian first.", hours(f.Lay), at, relative, tucci)
	case procedure.CycleLook:
		return "Look: animal, paper and water bowl",
			fmt.Sprintf("The shortest whole life cycle published for the %s is %d days (%s).", own, procedure.ShortestCycle, camin)
	case procedure.LastCycle:
		return "Look: animal, paper and water bowl",
			fmt.Sprintf("The longest usual life cycle published for the %s is %d days (%s).", own, procedure.LongestCycle, camin)
	}
	why = fmt.Sprintf("The longest life published for the %s is %d days (%s); nothing may have been seen until now.", own, procedure.LongestLife, camin)
	if f.Cool() {
		why += fmt.Sprintf(" The room is under its favourable range, so one more cycle of %d days is added (a rule of this program).", procedure.LongestCycle)
	}
	return "Last look; earliest all-clear", why
}

func tenth(x float64) float64 {
	if x < 0 {
		return -tenth(-x)
	}
	return float64(int64(x*10+0.5)) / 10
}

// Write prints the follow-up for a person.
func (c *Calendar) Write(w io.Writer) error {
	var b strings.Builder
	for _, e := range c.Events {
		fmt.Fprintf(&b, "%s  %s\n            %s\n", e.Date, e.What, e.Why)
	}
	b.WriteString(c.Caution + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}
