package status

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"periph.io/x/conn/v3/physic"
)

// Write prints a status for a person: alarms first, each with what to do.
func Write(w io.Writer, s Status, u Units) error {
	for _, st := range s.Stations {
		for _, a := range st.Alarms {
			since := "start"
			if a.Since != nil {
				since = *a.Since
			}
			name, rank := a.Name, a.Severity
			if a.Priority != nil && a.Case != nil {
				name, rank = a.Name+" in case "+*a.Case, *a.Priority+" alarm"
			}
			if _, err := fmt.Fprintf(w, "%s: %s\n  %s (%s, %s, since %s)\n", st.Name, a.Advice, name, rank, a.State, since); err != nil {
				return err
			}
		}
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, st := range s.Stations {
		fmt.Fprintf(t, "%s\t%s\t%s\n", st.Name, st.Kind, strings.Join(stationWords(st, u), ", "))
		if c := st.Case; c != nil {
			fmt.Fprintf(t, "  case\t%s\t%s: next %s\n", c.Number, c.Animal, c.Next)
		}
		if c := st.Treatment; c != nil {
			fmt.Fprintf(t, "  treatment\t%s\t%s, %s: waits for %s\n", c.Number, c.Schedule, c.Result, c.WaitsFor)
		}
		for _, p := range st.Probes {
			value, quality := "no reading", p.Quality
			if p.ValueC != nil {
				value = u.ofCelsius(*p.ValueC)
			}
			if p.Flaw != nil {
				quality += ", " + *p.Flaw
			}
			if p.AgeS != nil {
				quality += fmt.Sprintf(", %.0f s old", *p.AgeS)
			}
			fmt.Fprintf(t, "  %s\t%s\t%s\n", p.Role, value, quality)
		}
	}
	foot := fmt.Sprintf("%s at %s, version %s", s.Name, s.Time, s.Version)
	if !s.ClockTrusted {
		foot += ", clock not trusted"
	}
	if s.Invented {
		foot += fmt.Sprintf(", INVENTED (model, %g times as fast)", s.Speed)
	}
	switch {
	case s.Journal.OK && s.Journal.Problem != nil:
		foot += "\njournal: " + *s.Journal.Problem
	case !s.Journal.OK:
		problem := "no reason given"
		if s.Journal.Problem != nil {
			problem = *s.Journal.Problem
		}
		foot += "\njournal is not well: " + problem
	}
	fmt.Fprintln(t, foot)
	return t.Flush()
}

// stationWords are the things to know of a station besides its probes.
func stationWords(st Station, u Units) []string {
	var words []string
	if st.Stage != "" {
		words = append(words, st.Stage)
	}
	if st.SetPointC != nil {
		words = append(words, "set point "+u.ofCelsius(*st.SetPointC))
	}
	switch {
	case st.HeatOn:
		words = append(words, "heat on")
	case st.OutOf:
		words = append(words, "out of service: no heat until in-service")
	case st.Permitted:
		words = append(words, "heat off")
	case st.Reason != nil:
		words = append(words, "heat withheld: "+*st.Reason)
	default:
		words = append(words, "heat withheld")
	}
	if st.Attended {
		words = append(words, "attended")
	}
	if st.Alone != nil {
		words = append(words, "never alone ("+*st.Alone+")")
	}
	if st.AnimalIn {
		words = append(words, "animal in")
	}
	return words
}

// ofCelsius writes a number of °C in the chosen units.
func (u Units) ofCelsius(c float64) string {
	return u.Temperature(physic.ZeroCelsius + physic.Temperature(c*float64(physic.Celsius)))
}
