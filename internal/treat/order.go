package treat

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
)

// Order is what a person asks for.
type Order struct {
	Station     string     `json:"station"`
	Schedule    string     `json:"schedule"`         // a built-in one; or
	Target      string     `json:"target,omitempty"` // one of one's own
	Hold        string     `json:"hold,omitempty"`
	Operator    string     `json:"operator"`
	Residents   []Resident `json:"residents"`    // every animal that lives in this chamber
	NoResidents bool       `json:"no_residents"` // none does
	Load        string     `json:"load"`         // in words
	Mapping     string     `json:"mapping"`      // when the coldest spots were looked for
	LongestGap  string     `json:"longest_gap,omitempty"`
}

// Resident is an animal that lives in a chamber's furnishings, and where it is
// now.
type Resident struct {
	Name string `json:"name"`
	Now  string `json:"now"`
}

// Bounds of what a person may write.
const (
	maxWords     = 500
	maxResidents = 50
	usualGap     = 5 * time.Minute
)

// words refuses what does not belong into one line of a record.
func words(what, s string, needed bool) error {
	if needed && strings.TrimSpace(s) == "" {
		return fmt.Errorf("%s is missing", what)
	}
	if !utf8.ValidString(s) || utf8.RuneCountInString(s) > maxWords {
		return fmt.Errorf("%s: write plain text of at most %d characters", what, maxWords)
	}
	for _, r := range s {
		if r < ' ' || r == 0x7f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return fmt.Errorf("%s has a control character: write plain text in one line", what)
		}
	}
	return nil
}

// check says what an order lacks.
func (o *Order) check() error {
	for _, w := range []struct {
		what, text string
		needed     bool
	}{{"the operator's name", o.Operator, true}, {"the load", o.Load, false}, {"the mapping", o.Mapping, false}} {
		if err := words(w.what, w.text, w.needed); err != nil {
			return err
		}
	}
	switch {
	case len(o.Residents) == 0 && !o.NoResidents:
		return fmt.Errorf("who lives in %s? name every animal and where it is now, or say that none lives there", o.Station)
	case len(o.Residents) > 0 && o.NoResidents:
		return fmt.Errorf("animals are named, and it is said that none lives in %s: say one of the two", o.Station)
	case len(o.Residents) > maxResidents:
		return fmt.Errorf("%d animals are named: at most %d", len(o.Residents), maxResidents)
	}
	for _, r := range o.Residents {
		if err := words("an animal's name", r.Name, true); err != nil {
			return err
		}
		if err := words("where "+r.Name+" is now", r.Now, true); err != nil {
			return err
		}
		if strings.Contains(strings.ToLower(r.Now), strings.ToLower(o.Station)) {
			return fmt.Errorf("%s is said to be in %q: take it out of %s and say where it is then", r.Name, r.Now, o.Station)
		}
	}
	return nil
}

// schedule finds or makes what is asked for; a refused one is an error with the
// reason.
func (o *Order) schedule(freeze bool) (treatment.Schedule, error) {
	var s treatment.Schedule
	if o.Schedule != "" {
		if o.Target != "" || o.Hold != "" {
			return s, fmt.Errorf("schedule %s stands alone: leave out target and hold", o.Schedule)
		}
		if s, ok := treatment.Find(o.Schedule); ok {
			return s, nil
		}
		if r, ok := treatment.FindRefused(o.Schedule); ok {
			return s, fmt.Errorf("%s (%s) is refused: %s (%s)", r.Name, r.What, r.Reason, r.Source)
		}
		return s, fmt.Errorf("there is no schedule %q: soakwarden treat list shows them", o.Schedule)
	}
	if o.Target == "" || o.Hold == "" {
		return s, fmt.Errorf("which schedule? name one of soakwarden treat list, or give target and hold")
	}
	var err error
	if s.Target, err = config.ParseTemperature(o.Target); err != nil {
		return s, fmt.Errorf("target: %w", err)
	}
	if s.Hold, err = config.ParseDuration(o.Hold); err != nil {
		return s, fmt.Errorf("hold: %w", err)
	}
	s.Freeze = freeze
	s.Name = fmt.Sprintf("%s for %s", treatment.Words(s.Target), s.Hold)
	s.For, s.Source, s.Ours = "not recorded", "none", "the whole schedule: chosen by the operator"
	if why := s.RefusalOf(); why != "" {
		return s, fmt.Errorf("%s is refused: %s", s.Name, why)
	}
	return s, nil
}

func (o *Order) gap() (time.Duration, error) {
	if o.LongestGap == "" {
		return usualGap, nil
	}
	d, err := config.ParseDuration(o.LongestGap)
	if err != nil {
		return 0, fmt.Errorf("longest gap: %w", err)
	}
	if d < 10*time.Second || d > treatment.GapMost {
		return 0, fmt.Errorf("longest gap %q: write one from 10s to 1h, such as 5m", o.LongestGap)
	}
	return d, nil
}
