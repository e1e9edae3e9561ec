package rehearsal

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
)

const year = 365.25 * 86400

// sum adds the results up, in the order of the runs.
func (c *Campaign) sum(results []*result) *Campaigned {
	out := &Campaigned{Command: c.Command(), Runs: c.Runs, Seed: c.Seed, Violations: []Violation{}, Faults: []FaultRow{}, Alarms: []AlarmRate{}, Tripped: []FalseTrip{}}
	type key struct{ fault, probes string }
	rows := make(map[key]*FaultRow)
	alarms := 0
	rates := make(map[key]int)
	days := make(map[string]float64)
	for i, r := range results {
		out.TubYears += r.seconds / year
		out.Replayed += r.replayed
		out.Violations = append(out.Violations, r.problems...)
		if len(r.faults) == 0 {
			out.faultFreeDays += r.seconds / 86400
			days[string(r.probes)] += r.seconds / 86400
			for _, s := range r.outcome.Stations {
				alarms += len(s.Alarms)
				for _, a := range s.Alarms {
					rates[key{a.Name, string(r.probes)}]++
				}
				for _, t := range s.Trips {
					trip := FalseTrip{c.First + i, string(r.probes), t.Cause, t.AtS}
					switch {
					case t.right:
						out.Outside = append(out.Outside, trip)
					case t.Latched:
						out.FalseTrips++
						out.Tripped = append(out.Tripped, trip)
					}
				}
			}
			out.LowAtNight += r.lowAtNight()
			continue
		}
		k := key{r.label, string(r.probes)}
		row := rows[k]
		if row == nil {
			row = &FaultRow{Fault: k.fault, Probes: k.probes, By: []FoundBy{}, TimesS: []float64{}, ExposedS: []float64{}}
			rows[k] = row
		}
		row.Runs++
		if r.acted {
			row.Acted++
			switch {
			case r.found != nil:
				row.Found++
				row.TimesS = append(row.TimesS, *r.found)
				row.ExposedS = append(row.ExposedS, r.exposed)
				row.foundBy(r.by, 1)
			case r.standing:
				row.Standing++
			case nameable(r.faults):
				row.Missed++
			}
		}
		if over := r.over; row.WorstOver == nil || over > *row.WorstOver {
			row.WorstOver = &over
		}
	}
	if out.faultFreeDays > 0 {
		out.AlarmsADay = float64(alarms) / out.faultFreeDays
	}
	for k, n := range rates {
		out.Alarms = append(out.Alarms, AlarmRate{k.fault, k.probes, float64(n) / days[k.probes]})
	}
	sortAlarms(out.Alarms)
	for _, row := range rows {
		out.Faults = append(out.Faults, *row)
	}
	out.settle()
	return out
}

// settle puts the rows in order and computes what follows from their times.
func (o *Campaigned) settle() {
	for i := range o.Faults {
		row := &o.Faults[i]
		sort.Float64s(row.TimesS)
		sort.Float64s(row.ExposedS)
		row.MedianS, row.P99S = quantile(row.TimesS, 0.5), quantile(row.TimesS, 0.99)
		row.ExposedMedianS, row.ExposedP99S = quantile(row.ExposedS, 0.5), quantile(row.ExposedS, 0.99)
		sort.Slice(row.By, func(i, j int) bool {
			a, b := row.By[i], row.By[j]
			return a.Runs > b.Runs || a.Runs == b.Runs && a.Cause < b.Cause
		})
	}
	sort.Slice(o.Faults, func(i, j int) bool {
		a, b := &o.Faults[i], &o.Faults[j]
		return a.Fault < b.Fault || a.Fault == b.Fault && a.Probes < b.Probes
	})
}

// foundBy counts runs in which a cause was the first right one.
func (row *FaultRow) foundBy(cause string, runs int) {
	for i := range row.By {
		if row.By[i].Cause == cause {
			row.By[i].Runs += runs
			return
		}
	}
	row.By = append(row.By, FoundBy{cause, runs})
}

// lowAtNight counts the low alarms at night of a run without faults.
func (r *result) lowAtNight() int {
	n := 0
	for _, p := range r.outcome.Promises {
		if strings.HasSuffix(p.Name, "no low alarm at night") && !p.Held {
			n++
		}
	}
	return n
}

// quantile is the nearest-rank quantile of values in order; nil of nothing.
func quantile(v []float64, q float64) *float64 {
	if len(v) == 0 {
		return nil
	}
	i := int(math.Ceil(q*float64(len(v)))) - 1
	q = v[min(max(i, 0), len(v)-1)]
	return &q
}

// Bad says whether a campaign's answer is bad news: a judge objects, or there
// were more false trips than one in a hundred tub-years, of which one is
// always forgiven because a single event proves no rate.
func (o *Campaigned) Bad() bool {
	return len(o.Violations) > 0 || float64(o.FalseTrips) > math.Max(1, o.TubYears/100)
}

// Print writes the result for a person.
func (o *Campaigned) Print(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%d runs from seed %d: %.2f tub-years in %.0f s (%.2f tub-years a minute)\n",
		o.Runs, o.Seed, o.TubYears, o.WallSeconds, o.TubYears/o.WallSeconds*60)
	if o.Replayed > 0 {
		fmt.Fprintf(&b, "%d decisions were made again from the records and compared\n", o.Replayed)
	}
	if o.faultFreeDays > 0 {
		fmt.Fprintf(&b, "without a fault: %d false trips, %.2f alarms a tub-day, %d runs with a low alarm at night\n",
			o.FalseTrips, o.AlarmsADay, o.LowAtNight)
		for _, a := range o.Alarms {
			fmt.Fprintf(&b, "  %-6s %-24s %.2f a tub-day\n", a.Probes, a.Name, a.ATubDay)
		}
	}
	if len(o.Faults) > 0 {
		fmt.Fprintf(&b, "\n%-46s %-6s %5s %6s %5s %6s %9s %9s %19s %8s\n", "fault", "probes", "runs", "acted", "found", "missed", "median", "99th", "exposed", "over SP")
	}
	for _, f := range o.Faults {
		over := 0.0
		if f.WorstOver != nil {
			over = *f.WorstOver
		}
		fmt.Fprintf(&b, "%-46s %-6s %5d %6d %5d %6d %9s %9s %9s %9s %+6.2f K\n", f.Fault, f.Probes, f.Runs, f.Acted, f.Found, f.Missed,
			minutes(f.MedianS), minutes(f.P99S), minutes(f.ExposedMedianS), minutes(f.ExposedP99S), over)
	}
	for _, v := range o.Violations {
		fmt.Fprintf(&b, "\nJUDGE OBJECTS, run %d, seed %d (%s): %s: %s\n", v.Run, v.Seed, v.Scenario, v.Judge, v.Text)
	}
	if len(o.Violations) == 0 {
		b.WriteString("\nno judge objects\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func minutes(s *float64) string {
	if s == nil {
		return "—"
	}
	return fmt.Sprintf("%.1f min", *s/60)
}

// sortAlarms puts the rates in the order of the sets of probes.
func sortAlarms(rates []AlarmRate) {
	sort.Slice(rates, func(i, j int) bool {
		a, b := &rates[i], &rates[j]
		return a.Probes < b.Probes || a.Probes == b.Probes && a.Name < b.Name
	})
}
