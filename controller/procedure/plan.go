package procedure

import (
	"fmt"
	"time"
)

// Plan is how long things take in one case.
type Plan struct {
	Soak         time.Duration `json:"soak"`          // from the first soak water to the rinse, rests included
	Plain        time.Duration `json:"plain"`         // in plain water before every soak water
	LongestWet   time.Duration `json:"longest_wet"`   // in water, unbroken
	Rest         time.Duration `json:"rest"`          // in the dry box, at least
	WaterEvery   time.Duration `json:"water_every"`   // the water is changed at the latest
	RoundEvery   time.Duration `json:"round_every"`   // a round at the latest
	NightFrom    int           `json:"night_from"`    // hours of the local clock between which nothing low is told
	NightTo      int           `json:"night_to"`      //
	AttendedOnly bool          `json:"attended_only"` // never without a person
}

// UsualPlan is the plan of an animal about which nothing was answered with yes.
// Soak and Plain are common practice, no published source; LongestWet is the
// earliest published onset of skin disease (24 to 48 h); the rest are this
// project's own.
func UsualPlan() Plan {
	return Plan{
		Soak: 6 * day, Plain: 30 * time.Minute, LongestWet: 24 * time.Hour, Rest: 8 * time.Hour,
		WaterEvery: 12 * time.Hour, RoundEvery: 6 * time.Hour, NightFrom: 22, NightTo: 7,
	}
}

const (
	day         = 24 * time.Hour
	smallWet    = 4 * time.Hour    // a hatchling's longest time in water, this project's own
	smallRound  = 30 * time.Minute // and between two rounds
	latePast    = time.Hour        // overdue for longer is a medium alarm
	shortOutage = 15 * time.Minute // the water has hardly cooled
)

// For bends a plan to the answers: a hatchling is soaked shorter and never
// alone.
func (p Plan) For(answers [QuestionCount]Answer) Plan {
	if answers[Hatchling] == Yes {
		p.LongestWet, p.RoundEvery = min(p.LongestWet, smallWet), min(p.RoundEvery, smallRound)
		p.WaterEvery = min(p.WaterEvery, p.LongestWet)
		p.AttendedOnly = true
	}
	return p
}

// check says what is wrong with a plan and what to write instead.
func (p Plan) check() error {
	for _, b := range []struct {
		what        string
		is          time.Duration
		least, most time.Duration
	}{
		{"soak", p.Soak, day, 7 * day},
		{"plain water", p.Plain, 30 * time.Minute, 4 * time.Hour},
		{"longest time in water", p.LongestWet, time.Hour, day},
		{"dry rest", p.Rest, 2 * time.Hour, 2 * day},
		{"water change", p.WaterEvery, time.Hour, day},
		{"round", p.RoundEvery, 10 * time.Minute, 12 * time.Hour},
	} {
		if b.is < b.least || b.is > b.most {
			return fmt.Errorf("%s of %s: write %s to %s", b.what, Clock(b.is), Clock(b.least), Clock(b.most))
		}
	}
	if p.NightFrom < 0 || p.NightFrom > 23 || p.NightTo < 0 || p.NightTo > 23 {
		return fmt.Errorf("a night from %d to %d: write hours from 0 to 23", p.NightFrom, p.NightTo)
	}
	return nil
}

// Night says whether an hour of the local clock is within the plan's night.
func (p Plan) Night(hour int) bool {
	if p.NightFrom <= p.NightTo {
		return hour >= p.NightFrom && hour < p.NightTo
	}
	return hour >= p.NightFrom || hour < p.NightTo
}

// Clock writes a time the way one says it: "45 min", "5 h 10 min", "2 days 3 h".
func Clock(d time.Duration) string {
	if d < 0 {
		return "-" + Clock(-d)
	}
	m := int(d / time.Minute)
	switch {
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m < 48*60 && m%60 == 0:
		return fmt.Sprintf("%d h", m/60)
	case m < 48*60:
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	case m/60%24 == 0:
		return fmt.Sprintf("%d days", m/60/24)
	}
	return fmt.Sprintf("%d days %d h", m/60/24, m/60%24)
}
