package procedure

import (
	"fmt"
	"slices"
	"time"
)

// Priority is that of an alarm about something that is overdue, in the words of
// ISA-18.2.
type Priority uint8

// The priorities.
const (
	NoPriority Priority = iota
	Low
	Medium
)

// String is the priority's word.
func (p Priority) String() string { return [...]string{"none", "low", "medium"}[min(p, Medium)] }

// Due is one thing that will have to be done, or had to be.
type Due struct {
	What     string        // begins with a verb
	In       time.Duration // until then; negative when it is overdue
	Matter   Matter        // of its alarm; NoMatter for a step that waits for the keeper
	Priority Priority      // of its alarm now
	Quiet    bool          // overdue, and not told before the morning
}

// rank gives an alarm its priority: low from the moment on at which it is
// overdue, medium once it has been for longer than grace.
func (d *Due) rank(grace time.Duration, night bool) {
	switch {
	case d.In <= -grace && !(night && d.Matter == LookLate): // a look is worth no night
		d.Priority = Medium
	case d.In <= 0 && night:
		d.Quiet = true
	case d.In <= 0:
		d.Priority = Low
	}
}

// Due lists what is due, the most urgent first: what a paused case asks for, then
// the alarms, then by time. today
// is the date of the follow-up's looks, zero when no clock is trusted. At night
// nothing low is told.
func (c *Case) Due(today time.Time, night bool) []Due {
	s := &c.s
	var all []Due
	add := func(m Matter, what string, in, grace time.Duration) {
		d := Due{What: what, In: in, Matter: m}
		d.rank(grace, night)
		all = append(all, d)
	}
	if s.Pause != NoPause {
		add(CaseWaits, s.Pause.Say(), 0, 0)
	}
	if s.IsIn {
		// Past it the skin is at risk: that is never a low alarm.
		add(TooLongWet, "Lift the snake out for its dry rest. Dry box.", s.Plan.LongestWet-s.Wet, 0)
		add(WaterLate, "Change the water: attended first, unplug before you reach in.", s.Plan.WaterEvery-s.Water, latePast)
	}
	if s.IsIn || s.Stage == DryRest {
		add(RoundLate, "Do the round.", s.Plan.RoundEvery-s.Round, latePast)
	}
	all = append(all, c.steps(today, night)...)
	slices.SortStableFunc(all, func(a, b Due) int {
		if a.Priority != b.Priority {
			return int(b.Priority) - int(a.Priority)
		}
		return int((a.In - b.In) / time.Minute)
	})
	if s.Pause != NoPause { // before everything else, however long that is overdue
		at := slices.IndexFunc(all, func(d Due) bool { return d.Matter == CaseWaits })
		waits := all[at]
		copy(all[1:at+1], all[:at])
		all[0] = waits
	}
	return all
}

// steps are the next steps of the stage; they wait for the keeper and are no
// alarm, except the looks of the follow-up.
func (c *Case) steps(today time.Time, night bool) []Due {
	s := &c.s
	var all []Due
	step := func(what string, in time.Duration) { all = append(all, Due{What: what, In: max(in, 0)}) }
	switch s.Stage {
	case Ready:
		step("Put the animal in, alone.", 0)
	case Drinking:
		step("Make the soak water: attended first, unplug before you reach in.", s.Plan.Plain-s.Plain)
	case DryRest:
		if s.Soak >= s.Plan.Soak {
			step("Rinse the animal and look it over.", 0)
		} else {
			step("Fill the tub with plain water.", s.Plan.Rest-s.In)
		}
	case Soaking:
		step("End the soak: rinse.", s.Plan.Soak-s.Soak)
	case Rinse:
		step("Put the animal on paper.", 0)
	case OnPaper:
		if k, yes := c.unaired(false); yes {
			step("Keep the animal out and air it: "+k.reeks()+".", 0)
		}
		if why := c.mayReturn(); why != "" {
			step("Treat the furnishings: "+why+".", 0)
		} else {
			step("Return furnishings and animal.", 0)
		}
	case Watch:
		all = append(all, c.nextLook(today, night)...)
	}
	return all
}

// nextLook is the next day of the follow-up that was not looked at.
func (c *Case) nextLook(today time.Time, night bool) []Due {
	s := &c.s
	f, _ := Follow(s.Room)
	if today.IsZero() {
		return []Due{{What: "Set the clock: the days of the follow-up cannot be counted.", Matter: DaysUncounted, Priority: Low}}
	}
	last := -1
	for _, l := range s.Looks {
		last = max(last, l.Day)
	}
	now := c.after(today)
	for _, d := range f.Days {
		if !d.Look() || d.Day <= last {
			continue
		}
		due := Due{What: fmt.Sprintf("Look at animal, paper and water bowl: day %d of the follow-up.", d.Day), In: time.Duration(d.Day-now) * day, Matter: LookLate}
		due.rank(day, night)
		return []Due{due}
	}
	return []Due{{What: "Close the case: all-clear.", In: 0}}
}
