package treat

import (
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
)

const notRecorded = "not recorded"

// sheet writes a record line by line.
type sheet struct{ strings.Builder }

func (s *sheet) head(text string) { fmt.Fprintf(s, "\n%s\n", text) }

// line writes a name and a value; an empty value is not recorded.
func (s *sheet) line(name, format string, args ...any) {
	text := strings.TrimSpace(fmt.Sprintf(format, args...))
	if text == "" {
		text = notRecorded
	}
	fmt.Fprintf(s, "  %-26s %s\n", name, text)
}

// record is the whole record of a treatment. The lock is held.
func (c *chamber) record(r Release, shifts []shift, hand map[int]physic.Temperature) string {
	s, j := &sheet{}, c.job
	cfg := c.desk.o.Config
	fmt.Fprintf(s, "TREATMENT %s: %s\n", j.Number, j.Result)
	fmt.Fprintf(s, "%s\n", j.Reason)
	fmt.Fprintf(s, "PASS means that the probes listed here met the schedule listed here.\n")
	if cfg.Invented {
		fmt.Fprintf(s, "INVENTED: made by the model of a demonstration, no real treatment.\n")
	}

	s.head("WHO AND WITH WHAT")
	s.line("number", "%s", j.Number)
	s.line("operator", "%s", j.Order.Operator)
	s.line("reviewer", "%s", r.Reviewer)
	s.line("program", "%s", c.desk.o.Version)
	s.line("configuration", "SHA-256 %s", cfg.Checksum)

	s.head("WHAT WAS TREATED")
	c.load(s)

	s.head("SCHEDULE")
	c.scheduleOf(s)

	s.head("PROBES")
	for i := range c.st.Probes {
		c.probe(s, i, shifts)
	}

	s.head("COURSE")
	c.course(s)

	s.head("LETHALITY (decides nothing)")
	c.lethality(s)

	s.head("CURVE (°C)")
	c.curve(s)

	s.head("RELEASE")
	s.line("released by", "%s", r.Who)
	at, now := "", ""
	if r.Who != "" {
		at, now = moment(c.looked.Wall, c.looked.Trusted), c.now(hand)
	}
	s.line("released at", "%s", at)
	s.line("temperatures then", "%s", now)
	s.line("label", "%s", r.Label)
	s.line("storage after", "%s", r.Storage)
	s.line("journal's chain value", "%s", c.chain())
	return s.String()
}

// chain is the journal's chain value, empty when it has none.
func (c *chamber) chain() string {
	h := c.desk.o.Record.Health()
	if h.Entries == 0 {
		return ""
	}
	return fmt.Sprintf("%s over %d entries", hex.EncodeToString(h.Head[:]), h.Entries)
}

func (c *chamber) load(s *sheet) {
	j := c.job
	kind := "heated chamber"
	if j.Rules.Schedule.Freeze {
		kind = "freezer with a thermostat of its own"
	}
	ch := &c.st.Chamber
	s.line("chamber", "%s, %s, %.0f × %.0f × %.0f mm inside", c.st.Name, kind, ch.Length*1000, ch.Width*1000, ch.Height*1000)
	s.line("load", "%s", j.Order.Load)
	s.line("mass of the load", "%.1f kg, by the sizes configured", j.Plan.Load)
	for _, p := range j.Plan.Pieces {
		moisture := notRecorded
		if p.Moisture > 0 {
			moisture = fmt.Sprintf("%.0f %%", p.Moisture*100)
		}
		cover := "NOT covered by any probe"
		switch {
		case p.Probes > 0:
			cover = fmt.Sprintf("%d in its core", p.Probes)
		case p.CoveredBy != "":
			cover = "covered by " + p.CoveredBy
		}
		s.line("piece "+p.Name, "%s; moisture %s; probes: %s; core planned after %s", p.Material, moisture, cover, planned(p.There))
	}
	s.line("mapping of cold spots", "%s", j.Order.Mapping)
	if j.Order.NoResidents {
		s.line("animals that live there", "none, says the operator")
	}
	for _, r := range j.Order.Residents {
		s.line("animal "+r.Name, "during the treatment in: %s", r.Now)
	}
	s.line("typed before the start", "%q", j.Typed)
}

func (c *chamber) scheduleOf(s *sheet) {
	j := c.job
	sc := &j.Rules.Schedule
	way := "or above, the coldest reading minus its uncertainty"
	if sc.Freeze {
		way = "or below, the warmest reading plus its uncertainty"
	}
	s.line("schedule", "%s: %s %s, for %s, all probes together", sc.Name, treatment.Words(sc.Target), way, sc.Hold)
	s.line("meant for", "%s", sc.For)
	s.line("source", "%s", sc.Source)
	ours := sc.Ours
	if ours == "" {
		ours = "nothing"
	}
	s.line("our own choice in it", "%s", ours)
	if sc.Freeze {
		s.line("air planned", "%s, by the freezer's thermostat", both(j.Plan.AirC))
		s.line("limit of the load", "none in freezing")
		return
	}
	s.line("air planned", "%s, climbing at most %.0f K/h", both(j.Plan.AirC), j.Plan.RampK)
	limit := ""
	if j.Plan.LimitC != nil {
		limit = both(*j.Plan.LimitC)
	}
	s.line("limit of the load", "%s", limit)
}

func (c *chamber) probe(s *sheet, i int, shifts []shift) {
	p, judged, plan := &c.st.Probes[i], &c.judge.Probes[i], &c.job.Plan.Probes[i]
	cal := &p.Calibration
	where := plan.Role
	if p.Piece != "" {
		where += " of " + p.Piece
	}
	s.line("probe "+p.ROM, "%s", where)
	depth := ""
	if p.Depth >= 0 && p.Role == controller.RoleCore {
		depth = fmt.Sprintf("%.0f mm", p.Depth*1000)
	}
	if p.Role == controller.RoleCore {
		s.line("  depth", "%s", depth)
	}
	before := ""
	if cal.Done {
		before = fmt.Sprintf("%+.2f K, %s, on %s", float64(cal.Offset)/1e9, or(cal.Method), date(cal.Date))
		if c.looked.Trusted && cal.Overdue(c.looked.Wall) {
			before += ", OVERDUE"
		}
	}
	s.line("  calibration before", "%s", before)
	after := ""
	for _, a := range shifts {
		if strings.EqualFold(a.ROM, p.ROM) {
			after = fmt.Sprintf("%s, %s; shifted by %+.2f K", a.Offset, or(a.Method), float64(a.by)/1e9)
			if a.bad {
				after += ", MORE than its uncertainty"
			}
		}
	}
	s.line("  calibration after", "%s", after)
	s.line("  uncertainty", "%.2f K (k = 2)", float64(cal.Uncertainty)/1e9)
	if !judged.Known {
		s.line("  readings", "none")
		return
	}
	s.line("  readings", "%d, %s to %s", judged.Readings, treatment.Words(judged.Coldest), treatment.Words(judged.Hottest))
	arrived := "never"
	if judged.Arrived {
		arrived = fmt.Sprintf("after %s; planned after %s", span(judged.ArrivedAt-c.judge.Start), planned(plan.There))
	}
	s.line("  at the target", "%s", arrived)
	s.line("  longest at the target", "%s", span(judged.Longest.Length()))
	s.line("  largest gap", "%s", span(judged.LargestGap))
	switch {
	case judged.Dropped:
		s.line("  dropped", "after %s", span(judged.DroppedAt-c.judge.Start))
	case judged.Doubt != treatment.NoDoubt:
		s.line("  doubt", "after %s it %s", span(judged.DoubtAt-c.judge.Start), judged.Doubt)
	}
}

func (c *chamber) course(s *sheet) {
	j := c.job
	s.line("started", "%s", moment(j.Started, j.Started.Year() > 1970 && !j.Untrusted))
	clock := "trusted throughout"
	if j.Untrusted {
		clock = "NOT trusted throughout: moments may be off, spans are not"
	}
	s.line("clock", "%s", clock)
	interval := ""
	if n := j.Steps; n > 1 && c.judge.Begun {
		interval = fmt.Sprintf("%.1f s on average", (c.judge.Now-c.judge.Start).Seconds()/float64(n-1))
	}
	s.line("log interval", "%s", interval)
	s.line("largest gap", "%s; allowed %s", span(c.judge.LargestGap()), span(j.Rules.LongestGap))
	heat := ""
	if j.HeatFrom > 0 {
		heat = "after " + span(j.HeatFrom) + " of warning by buzzer"
	}
	what := "heat first allowed"
	if j.Rules.Schedule.Freeze {
		what = "judging began"
	}
	s.line(what, "%s", heat)
	took := ""
	if j.HeatFrom > 0 {
		took = fmt.Sprintf("%s; planned %s", span(j.EndedAt-j.HeatFrom), planned(j.Plan.Total))
	}
	s.line("took", "%s", took)
	s.line("longest together", "%s of %s", span(c.judge.Longest.Length()), span(j.Rules.Schedule.Hold))
	s.line("restarts of the clock", "%d", c.judge.Restarted)
	for _, r := range worth(c.judge.Restarts) {
		who := "all probes"
		if r.Probe >= 0 {
			who = j.Rules.Probes[r.Probe].Name
		}
		s.line("", "after %s: %s, %s; %s were held until then", span(r.At-c.judge.Start), r.Why, who, span(r.Lost))
	}
	if len(j.Deviations) == 0 {
		s.line("deviations", "none")
	}
	for i, d := range j.Deviations {
		name := ""
		if i == 0 {
			name = fmt.Sprintf("deviations (%d)", j.Devious)
		}
		s.line(name, "after %s: %s", span(d.At), d.Text)
	}
}

// worth are the restarts that lost a minute or more: a probe that flickers about
// the target as it arrives makes many that lost nothing.
func worth(all []treatment.Restart) []treatment.Restart {
	var list []treatment.Restart
	for _, r := range all {
		if r.Lost >= time.Minute {
			list = append(list, r)
		}
	}
	return list
}

func (c *chamber) lethality(s *sheet) {
	if c.job.Rules.Schedule.Freeze {
		s.line("lethality", "not worked out in freezing: no constants are published")
		return
	}
	l := &c.job.Rules.Lethality
	for i := range c.judge.Probes {
		p := &c.judge.Probes[i]
		s.line(c.job.Rules.Probes[i].Name, "%.4g min; %.4g min with its uncertainty taken off", p.Lethality, p.Least)
	}
	s.line("reference", "%s", treatment.Words(l.Reference))
	s.line("z", "%.0f K below it, %.0f K above it", float64(l.Below)/1e9, float64(l.Above)/1e9)
	s.line("species", "%s", l.Species)
	s.line("source", "%s", l.Source)
	s.line("mind", "%s", treatment.NoCurve)
}

func (c *chamber) curve(s *sheet) {
	j := c.job
	fmt.Fprintf(s, "  %10s", "after")
	for i := range c.st.Probes {
		name := j.Plan.Probes[i].Role
		if p := c.st.Probes[i].Piece; p != "" {
			name = p
		}
		fmt.Fprintf(s, "  %14.14s", name)
	}
	s.WriteString("\n")
	for _, p := range j.Curve {
		fmt.Fprintf(s, "  %10s", span(p.At))
		for _, v := range p.C {
			if v == noPoint {
				fmt.Fprintf(s, "  %14s", "—")
			} else {
				fmt.Fprintf(s, "  %14.2f", float64(v)/100)
			}
		}
		s.WriteString("\n")
	}
}

// now writes what the probes read at the release.
func (c *chamber) now(hand map[int]physic.Temperature) string {
	var list []string
	for i, r := range c.values {
		name := c.name(i)
		if t, ok := hand[i]; ok {
			list = append(list, fmt.Sprintf("%s %s by a hand thermometer", name, treatment.Words(t)))
			continue
		}
		list = append(list, fmt.Sprintf("%s %s", name, treatment.Words(r.Value)))
	}
	return strings.Join(list, ", ")
}

func or(s string) string {
	if s == "" {
		return notRecorded
	}
	return s
}

func date(t time.Time) string {
	if t.IsZero() {
		return "a day " + notRecorded
	}
	return t.Format(time.DateOnly)
}

func moment(t time.Time, trusted bool) string {
	text := t.UTC().Format(time.RFC3339)
	if !trusted {
		text += " (clock not trusted)"
	}
	return text
}

func planned(s *float64) string {
	if s == nil {
		return "never"
	}
	return span(time.Duration(*s * float64(time.Second)))
}

func span(d time.Duration) string { return d.Round(time.Second).String() }

func both(c float64) string { return fmt.Sprintf("%.1f °C (%.1f °F)", c, c*9/5+32) }
