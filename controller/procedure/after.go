package procedure

import (
	"fmt"
	"time"
)

// round takes a round with its list.
func (c *Case) round(r *Request) ([]Tell, error) {
	at := r.At
	if at.IsZero() {
		at = r.Now
	}
	since := r.Now.Sub(at)
	switch {
	case !r.At.IsZero() && r.Now.IsZero():
		return nil, c.no(DoRound, "the clock is not trusted, so an earlier time means nothing", "do the round now and leave its time away")
	case since < 0:
		return nil, c.no(DoRound, "it would be "+Clock(-since)+" in the future", "look at the animal now, and write no time or the time of the look")
	case since > c.s.Round:
		return nil, c.no(DoRound, "a later round is recorded already, "+Clock(c.s.Round)+" ago", "write the time of this round, or do one now")
	}
	if missed, yes := r.Round.missing(c.s.IsIn); yes {
		return nil, c.no(DoRound, "not looked at: "+missed.See().Text, "look at everything on the list, then say what is not well")
	}
	if r.Round.Mites < -1 {
		return nil, c.no(DoRound, fmt.Sprintf("%d mites cannot be counted", r.Round.Mites), "count those in the drained water, or leave the number away")
	}
	c.s.Round = since
	if c.s.IsIn && r.Round.Seen[WaterClean] == No {
		c.s.Water = max(c.s.Water, c.s.Plan.WaterEvery) // soiled: change now
	}
	c.answered(AskRound)
	return []Tell{TellPresent}, nil
}

// answered ends a pause that was answered.
func (c *Case) answered(p Pause) {
	if c.s.Pause == p {
		c.s.Pause = NoPause
	}
}

// note keeps what is said of the animal.
func (c *Case) note(r *Request) ([]Tell, error) {
	a := &c.s.Animal
	switch r.Order {
	case Weigh:
		if r.Grams < 1 || r.Grams > 200_000 {
			return nil, c.no(Weigh, fmt.Sprintf("%d g is no mass of a snake", r.Grams), "write grams, 1 to 200000")
		}
		if c.s.Stage == Filling && c.s.Soaks == 0 || a.Before == 0 {
			a.Before = r.Grams
		} else {
			a.After = r.Grams
		}
		if r.Words != "" {
			a.State = r.Words
		}
	case Place:
		if !text(r.Words) {
			return nil, c.no(Place, "no place is named", "write where the animal is now")
		}
		a.Place = r.Words
	case Stop:
		if c.s.IsIn {
			// Nobody would watch over it: an empty tub is neither warmed nor told of.
			return nil, c.no(Stop, "the animal is in the water", "lift it into its dry box first (rest), then end the case (stop)")
		}
		if !text(r.Words) {
			return nil, c.no(Stop, "no reason is given", "write why the case ends (--why)")
		}
		tub := c.s.Stage.AtTub()
		open := c.s.Stage == Attended
		c.dry(Stopped)
		switch {
		case open:
			return []Tell{TellOut, TellDone, TellOutOfService}, nil
		case tub:
			return []Tell{TellOut, TellOutOfService}, nil
		}
	}
	return nil, nil
}

// watch carries out the orders after the soak.
func (c *Case) watch(r *Request) ([]Tell, error) {
	s := &c.s
	date := r.Date
	if date.IsZero() {
		date = r.Now
	}
	if r.Order == Again && r.Occupied != "" {
		return nil, c.no(Again, "the tub belongs to "+r.Occupied, "one animal a tub, always: end that case first, or begin a new case at another tub")
	}
	if r.Order == Again {
		s.Soaks, s.Soak, s.Treated, s.Looks = 0, 0, "", nil
		for i := range s.Items {
			s.Items[i].Record, s.Items[i].Sealed = "", false
		}
		c.enter(Filling)
		s.Water, s.Round = 0, 0
		return []Tell{TellInService, TellWaterChanged, TellFill, TellOut, TellPresent}, nil
	}
	switch {
	case date.IsZero():
		return nil, c.no(r.Order, "the clock is not trusted", "write today's date, --date 2031-10-04")
	case !r.Now.IsZero() && Date(date, 0).After(Date(r.Now, 0)):
		return nil, c.no(r.Order, date.Format(time.DateOnly)+" is in the future", "do it on the day, and write that day")
	}
	switch r.Order {
	case Return:
		return c.back(r, date)
	case Look:
		return c.look(r, date)
	}
	return c.clear(date)
}

const homePlace = "in its enclosure"

// back returns furnishings and animal.
func (c *Case) back(r *Request, date time.Time) ([]Tell, error) {
	if k, yes := c.unaired(false); yes {
		return nil, c.no(Return, k.reeks(), airIt)
	}
	if why := c.mayReturn(); why != "" {
		return nil, c.no(Return, why, "treated things go back only into a treated enclosure, sealed and labelled until then")
	}
	if _, err := Follow(r.Value); err != nil {
		return nil, c.no(Return, "the temperature of the animal's room is needed for the days to look: "+err.Error(), "write it, --room 27C or --room 80F")
	}
	c.s.Room, c.s.Treated, c.s.Looks = r.Value, Date(date, 0).Format(time.DateOnly), nil
	c.s.Animal.Place = homePlace
	c.enter(Watch)
	return nil, nil
}

// after is how many days a date is after the return.
func (c *Case) after(date time.Time) int {
	from, _ := time.Parse(time.DateOnly, c.s.Treated) // back wrote it, Restore checked it
	return int(Date(date, 0).Sub(from) / day)
}

const mostLooks = 400

func (c *Case) look(r *Request, date time.Time) ([]Tell, error) {
	s := &c.s
	if r.Mites < 0 || r.Mites > 100_000 {
		return nil, c.no(Look, fmt.Sprintf("%d mites cannot be counted", r.Mites), "write how many were seen, 0 for none")
	}
	s.Round = 0
	if s.Stage == OnPaper {
		return nil, nil
	}
	day := c.after(date)
	if n := len(s.Looks); day < 0 || n > 0 && day < s.Looks[n-1].Day {
		return nil, c.no(Look, date.Format(time.DateOnly)+" is before the return or before the last look", "write the date of this look")
	}
	if len(s.Looks) == mostLooks {
		s.Looks = s.Looks[1:]
	}
	s.Looks = append(s.Looks, Seen{day, r.Mites})
	return nil, nil
}

const leastLooks = 3

func (c *Case) clear(date time.Time) ([]Tell, error) {
	s := &c.s
	f, _ := Follow(s.Room) // back asked for it, Restore checked it
	end, today := f.On(AllClear), c.after(date)
	from, _ := time.Parse(time.DateOnly, s.Treated)
	for _, l := range s.Looks {
		if l.Mites > 0 {
			return nil, c.no(Clear, fmt.Sprintf("%d mites were seen on day %d", l.Mites, l.Day), "begin again: a new soak and new treatments (again), veterinarian first")
		}
	}
	if k, yes := c.unaired(false); yes {
		return nil, c.no(Clear, k.reeks(), airIt)
	}
	switch n := len(s.Looks); {
	case today < end:
		return nil, c.no(Clear, fmt.Sprintf("this is day %d and the earliest all-clear is day %d", today, end), "go on looking until "+Date(from, end).Format(time.DateOnly))
	case n < leastLooks:
		return nil, c.no(Clear, fmt.Sprintf("%d of at least %d looks are recorded", n, leastLooks), "look today (look), and again on other days")
	case s.Looks[n-1].Day < end:
		return nil, c.no(Clear, fmt.Sprintf("the last look was on day %d, before the earliest all-clear on day %d", s.Looks[n-1].Day, end), "look today (look), then clear")
	}
	c.enter(Cleared)
	return nil, nil
}
