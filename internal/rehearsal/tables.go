package rehearsal

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"soakwarden/sim/rig"
)

// LoadCampaigned reads results that `campaign --json` printed and adds them up:
// the parts of one campaign that was run in pieces.
func LoadCampaigned(pattern string) (*Campaigned, error) {
	paths, err := filepath.Glob(pattern)
	if err != nil {
		return nil, err
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("no result of a campaign at %s", pattern)
	}
	sort.Strings(paths)
	all := &Campaigned{}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		var part Campaigned
		if err := json.Unmarshal(data, &part); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		if part.Runs < 1 || part.Command == "" {
			return nil, fmt.Errorf("%s: not the result of a campaign: it has no runs or no command", path)
		}
		all.add(&part)
	}
	all.settle()
	return all, nil
}

// addAlarms weighs the rates of two campaigns by their length. The sets of
// probes take turns, so each has its share of both.
func (o *Campaigned) addAlarms(part *Campaigned) {
	all := o.TubYears + part.TubYears
	if all == 0 {
		return
	}
	for i := range o.Alarms {
		o.Alarms[i].ATubDay *= o.TubYears / all
	}
	for _, a := range part.Alarms {
		k := slices.IndexFunc(o.Alarms, func(b AlarmRate) bool { return b.Name == a.Name && b.Probes == a.Probes })
		if k < 0 {
			k = len(o.Alarms)
			o.Alarms = append(o.Alarms, AlarmRate{Name: a.Name, Probes: a.Probes})
		}
		o.Alarms[k].ATubDay += a.ATubDay * part.TubYears / all
	}
	sortAlarms(o.Alarms)
}

// add adds another campaign's figures. The commands stand one below the other.
func (o *Campaigned) add(part *Campaigned) {
	days, more := o.freeDays(), part.freeDays()
	if days+more > 0 {
		o.AlarmsADay = (o.AlarmsADay*days + part.AlarmsADay*more) / (days + more)
	}
	o.addAlarms(part)
	o.Command = strings.TrimPrefix(o.Command+"\n"+part.Command, "\n")
	o.Runs += part.Runs
	o.TubYears += part.TubYears
	o.FalseTrips += part.FalseTrips
	o.Tripped = append(o.Tripped, part.Tripped...)
	o.Outside = append(o.Outside, part.Outside...)
	o.LowAtNight += part.LowAtNight
	o.WallSeconds += part.WallSeconds
	o.Violations = append(o.Violations, part.Violations...)
	for i := range part.Faults {
		from := &part.Faults[i]
		to := o.row(from.Fault, from.Probes)
		if to == nil {
			o.Faults = append(o.Faults, FaultRow{Fault: from.Fault, Probes: from.Probes})
			to = &o.Faults[len(o.Faults)-1]
		}
		to.Runs += from.Runs
		to.Acted += from.Acted
		to.Found += from.Found
		to.Standing += from.Standing
		to.Missed += from.Missed
		to.TimesS = append(to.TimesS, from.TimesS...)
		to.ExposedS = append(to.ExposedS, from.ExposedS...)
		for _, by := range from.By {
			to.foundBy(by.Cause, by.Runs)
		}
		if from.WorstOver != nil && (to.WorstOver == nil || *from.WorstOver > *to.WorstOver) {
			worst := *from.WorstOver
			to.WorstOver = &worst
		}
	}
}

// freeDays are the tub-days without a fault of a result that was read.
func (o *Campaigned) freeDays() float64 {
	if len(o.Faults) > 0 {
		return 0
	}
	return o.TubYears * year / 86400
}

// row is the row of a fault and a set of probes, nil when there is none.
func (o *Campaigned) row(fault, probes string) *FaultRow {
	for i := range o.Faults {
		if o.Faults[i].Fault == fault && o.Faults[i].Probes == probes {
			return &o.Faults[i]
		}
	}
	return nil
}

// objections counts the runs of a row in which a judge objects.
func (o *Campaigned) objections(fault, probes string) int {
	runs := make(map[int]bool)
	for _, v := range o.Violations {
		if v.Fault == fault && v.Probes == probes {
			runs[v.Run] = true
		}
	}
	return len(runs)
}

// remedies say what to add where a fault is not always found, by the set of
// probes: the first for one probe, the second for two, the third with a floor
// probe as well.
var remedies = map[rig.FaultKind][3]string{
	rig.RelayWelded:     {"a floor probe", "a floor probe", "the relay's feedback contact"},
	rig.RelayOpen:       {"a floor probe", "a floor probe", "the relay's feedback contact"},
	rig.RelayChatters:   {"the relay's feedback contact", "the relay's feedback contact", "the relay's feedback contact"},
	rig.PadDead:         {"a floor probe", "a floor probe", "a look at the pad"},
	rig.PadsLost:        {"a floor probe", "a floor probe", "a look at the plug"},
	rig.ProbeFrozen:     {"a second probe", "a floor probe", "a look at the probe"},
	rig.ProbeDrifts:     {"a second probe", "a check against a thermometer", "a check against a thermometer"},
	rig.ProbeOffset:     {"a second probe", "a check against a thermometer", "a check against a thermometer"},
	rig.ProbeOutOfWater: {"a second probe", "a cable clip", "a cable clip"},
	rig.TubLeaking:      {"a second probe at the lowest permitted level", "a floor probe", "a look at the level"},
	rig.DaemonKilled:    {"somebody who misses the heartbeat", "somebody who misses the heartbeat", "somebody who misses the heartbeat"},
	rig.DaemonPaused:    {"somebody who misses the heartbeat", "somebody who misses the heartbeat", "somebody who misses the heartbeat"},
}

// probeSets are the sets in the order of the tables.
var probeSets = [...]ProbeSet{OneProbe, TwoProbes, FloorProbe}

// probeWords says a set in words.
var probeWords = map[ProbeSet]string{OneProbe: "one", TwoProbes: "two", FloorProbe: "two and floor"}

// SinglesTable is the table of single faults: how each is found, how fast, how
// warm the water got, and what to add where it is not always found.
func (o *Campaigned) SinglesTable() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d runs, %.1f tub-years:\n%s\n", o.Runs, o.TubYears, o.commands())
	b.WriteString("| fault | probes | acted | found | median | 99th percentile | visible until found, median | 99th | found by | warmest over the set point | not found, and what to add |\n|---|---|---|---|---|---|---|---|---|---|---|\n")
	for k := range campaignFaults {
		kind := campaignFaults[k].kind
		for i, set := range probeSets {
			row := o.row(string(kind), string(set))
			if row == nil {
				if campaignFaults[k].needs == TwoProbes && set == OneProbe {
					fmt.Fprintf(&b, "| %s | %s | | never | | | | | nothing | as far as the error | everything: %s |\n", kind, probeWords[set], remedies[kind][i])
				}
				continue
			}
			lacks := "—"
			if row.Missed > 0 || len(campaignFaults[k].right) == 0 {
				lacks = fmt.Sprintf("%d: %s", row.Missed, remedies[kind][i])
			}
			if n := o.objections(string(kind), string(set)); n > 0 {
				lacks += fmt.Sprintf(" **A judge objects in %d runs.**", n)
			}
			fmt.Fprintf(&b, "| %s | %s | %d | %s | %s | %s | %s | %s | %s | %s | %s |\n", kind, probeWords[set], row.Acted, share(row.Found, row.Acted-row.Standing),
				span(row.MedianS), span(row.P99S), span(row.ExposedMedianS), span(row.ExposedP99S), row.by(), over(row.WorstOver), lacks)
		}
	}
	return b.String()
}

// commands are the commands that made the figures, as a block of text.
func (o *Campaigned) commands() string { return "\n```sh\n" + o.Command + "\n```\n" }

// by names the causes that found a fault, the most frequent first.
func (row *FaultRow) by() string {
	if len(row.By) == 0 {
		return "—"
	}
	var list []string
	for _, by := range row.By {
		list = append(list, fmt.Sprintf("%s (%d)", by.Cause, by.Runs))
	}
	return strings.Join(list, ", ")
}

func share(part, whole int) string {
	if whole == 0 {
		return "—"
	}
	// Cut, not rounded: a hundred per cent means all of them.
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(part)/float64(whole)))
}

// span is a time in the unit that suits it.
func span(s *float64) string {
	switch {
	case s == nil:
		return "—"
	case *s < 120:
		return fmt.Sprintf("%.0f s", *s)
	case *s < 7200:
		return fmt.Sprintf("%.0f min", *s/60)
	}
	return fmt.Sprintf("%.1f h", *s/3600)
}

func over(k *float64) string {
	if k == nil {
		return "—"
	}
	return fmt.Sprintf("%.2f K", *k)
}
