package casebook

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"soakwarden/controller/procedure"
	"soakwarden/internal/status"
)

// entryOf is one step of a case as the journal keeps it.
type entryOf struct {
	Step    string          `json:"step"` // "case"
	At      time.Time       `json:"at"`
	Trusted bool            `json:"clock_trusted"`
	Case    string          `json:"case"`
	Animal  string          `json:"animal"`
	Order   string          `json:"order"`
	Stage   string          `json:"stage"` // after it
	Who     string          `json:"who,omitempty"`
	Why     string          `json:"why,omitempty"`
	Where   string          `json:"where,omitempty"`
	Says    string          `json:"says"`
	Words   *Words          `json:"words,omitempty"`
	State   json.RawMessage `json:"state"`
}

// write keeps one step. The lock is held.
func (b *Book) write(r *running, e entryOf) Receipt {
	now, v := b.o.Moment(), r.c.View()
	e.Step, e.At, e.Trusted = "case", now.Wall, now.Trusted
	e.Case, e.Animal, e.Stage, e.State = v.ID, v.Animal.Label, v.Stage.String(), r.c.Save()
	data, err := json.Marshal(e)
	if err != nil {
		return failed{err}
	}
	return b.o.Document(v.Station, v.ID, data)
}

// sentence tells an order as a report does.
func sentence(c *procedure.Case, r *procedure.Request, w *Words) string {
	v := c.View()
	t := status.Both.Temperature
	switch r.Order {
	case procedure.Begin:
		s := fmt.Sprintf("A case begins for %s (%s): soak %s, at most %s in water, dry rests of %s. The heat budget says: %s.",
			v.Animal.Label, v.Animal.Species, procedure.Clock(v.Plan.Soak), procedure.Clock(v.Plan.LongestWet), procedure.Clock(v.Plan.Rest), v.Verdict)
		for q, a := range v.Answers {
			if a == procedure.Yes {
				s += " Answered with yes: " + procedure.Question(q).Ask().Text
			}
		}
		if v.Vet != "" {
			s += " The veterinarian: " + v.Vet + "."
		}
		return s
	case procedure.PutIn:
		return "The animal is in, in plain water for drinking."
	case procedure.Open:
		return "The lid comes off; both relays are open."
	case procedure.MoreTime:
		return "More time with the lid off."
	case procedure.Change:
		if water, err := status.ParseTemperature(w.Water); err == nil {
			return "The water was changed, new water of " + t(water) + "; plain water first."
		}
		return "The water was changed; plain water first."
	case procedure.Detergent:
		return "Soak water was made."
	case procedure.Close:
		return "The lid is on, hands are out: " + v.Stage.String() + "."
	case procedure.LiftOut:
		if r.Value == 0 {
			return "The animal was lifted out at once. Its dry box is still to be measured."
		}
		return "The animal is in its dry box of " + t(r.Value) + ", with drinking water."
	case procedure.Box:
		return "The dry box has " + t(r.Value) + "."
	case procedure.Fill:
		return "The tub is filled again with plain water."
	case procedure.DoRinse:
		return "The animal was rinsed and looked over, after " + procedure.Clock(v.Soak) + " of soaks and rests."
	case procedure.Paper:
		return "The animal is back on paper."
	case procedure.Return:
		return "Furnishings and animal are back in the treated enclosure; the room has " + t(r.Value) + "."
	case procedure.Look:
		return fmt.Sprintf("A look: %s.", mites(r.Mites))
	case procedure.Clear:
		return "All-clear: nothing was seen until the earliest day."
	case procedure.Again:
		return "Mites were seen: a new soak begins, and every furnishing is treated again."
	case procedure.DoRound:
		return roundSays(&r.Round)
	case procedure.Outage:
		if r.Unknown {
			return "Nobody knows how long the power was off; the worst is assumed."
		}
		return "The power was off for " + procedure.Clock(r.Off) + "."
	case procedure.Weigh:
		s := fmt.Sprintf("Weighed: %d g.", r.Grams)
		if r.Words != "" {
			s += " Condition: " + r.Words + "."
		}
		return s
	case procedure.Place:
		return "The animal is now: " + r.Words + "."
	case procedure.Furnish:
		what := ""
		if r.Enclosure {
			what = " (the enclosure it lives in)"
		}
		return fmt.Sprintf("To %s: %s%s.", r.Way, r.Item, what)
	case procedure.Treat:
		return fmt.Sprintf("%s is treated, record %s.", r.Item, r.Record)
	case procedure.Seal:
		return fmt.Sprintf("%s is sealed and labelled %s.", r.Item, r.Record)
	case procedure.Unseal:
		return r.Item + " was opened or has lost its label: it is treated again."
	case procedure.UseChemical:
		return "A chemical was used on " + r.Item + ": " + r.Words + ", by " + r.Who + ". It is not aired yet."
	case procedure.Air:
		return r.Item + " is aired: " + r.Words + "."
	case procedure.Stop:
		return "The case was ended: " + r.Words + "."
	}
	return "The tub is in service."
}

func mites(n int) string {
	switch n {
	case 0:
		return "no mite"
	case 1:
		return "1 mite"
	}
	return fmt.Sprintf("%d mites", n)
}

func roundSays(r *procedure.Round) string {
	var not []string
	for c := range r.Seen {
		if r.Seen[c] == procedure.No {
			not = append(not, procedure.Check(c).See().Word)
		}
	}
	s := "A round: all well"
	if len(not) > 0 {
		s = "A round. NOT well: " + strings.Join(not, ", ")
	}
	if r.Mites >= 0 {
		s += "; " + mites(r.Mites) + " in the drained water"
	}
	return s + "."
}
