package rehearsal

import (
	"fmt"
	"slices"
	"strings"

	"soakwarden/controller"
)

// PairsTable tells of the pairs of faults: how warm each set of probes let the
// water get, which pairs got past the limit of a single fault, and those that
// leave nothing to cut the heat with.
func (o *Campaigned) PairsTable() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d runs over %d pairs, %.1f tub-years:\n%s\n", o.Runs, len(allPairs), o.TubYears, o.commands())
	b.WriteString("| probes | runs | pairs tried | warmest over the set point | runs in which a judge objects |\n|---|---|---|---|---|\n")
	for _, set := range probeSets {
		runs, tried, objections := 0, 0, 0
		var worst *float64
		for i := range o.Faults {
			row := &o.Faults[i]
			if row.Probes != string(set) {
				continue
			}
			runs, tried = runs+row.Runs, tried+1
			objections += o.objections(row.Fault, row.Probes)
			if row.WorstOver != nil && (worst == nil || *row.WorstOver > *worst) {
				worst = row.WorstOver
			}
		}
		fmt.Fprintf(&b, "| %s | %d | %d | %s | %d |\n", probeWords[set], runs, tried, over(worst), objections)
	}
	b.WriteString("\nPairs that let the water past the 1 K of a single fault. The judge is content when it stayed under the cutoff + 0.5 K, when nothing was left to cut with and a person was told in time, and when the only probe in the water lies:\n\n| pair | probes | warmest over the set point | judge |\n|---|---|---|---|\n")
	none := true
	for i := range o.Faults {
		row := &o.Faults[i]
		if row.WorstOver == nil || *row.WorstOver <= faultRise {
			continue
		}
		none = false
		judge := "content"
		if n := o.objections(row.Fault, row.Probes); n > 0 {
			judge = fmt.Sprintf("**objects in %d of %d runs**", n, row.Runs)
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", row.Fault, probeWords[ProbeSet(row.Probes)], over(row.WorstOver), judge)
	}
	if none {
		b.WriteString("| none | | | |\n")
	}
	b.WriteString("\nPairs that leave nothing to cut the heat with. The judge asks that a person was told to unplug while the water was still under the cutoff:\n\n| first | second | why |\n|---|---|---|\n")
	for _, h := range uncuttablePairs {
		fmt.Fprintf(&b, "| %s (%s) | %s (%s) | %s |\n", h.one.Kind, h.one.Target, h.two.Kind, h.two.Target, h.why)
	}
	return b.String()
}

// AgainstTable puts the program beside a plain limit on the same tubs with two
// probes in the water.
func (o *Campaigned) AgainstTable(plain *Campaigned) string {
	var b strings.Builder
	fmt.Fprintf(&b, "The program on tubs with two probes, and a plain limit (one probe, %s, cutoff) on the same tubs with the same faults:\n%s%s\n",
		"the same differential", o.commands(), plain.commands())
	b.WriteString("| fault | warmest over the set point | plain limit | found, median | plain limit |\n|---|---|---|---|---|\n")
	for _, p := range compare(o, plain) {
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", p.fault, over(p.ours.WorstOver), over(p.plain.WorstOver), p.ours.noticed(), p.plain.noticed())
	}
	return b.String()
}

// noticed is how often and how soon.
func (row *FaultRow) noticed() string {
	whole := row.Acted - row.Standing
	if row.Found == 0 {
		return fmt.Sprintf("never in %d", whole)
	}
	return fmt.Sprintf("%s in %s", share(row.Found, whole), span(row.MedianS))
}

// beside is one fault with both controls.
type beside struct {
	fault       string
	ours, plain *FaultRow
}

// compare pairs the rows with two probes, in the order of the list of faults.
func compare(ours, plain *Campaigned) []beside {
	var list []beside
	for k := range campaignFaults {
		name := string(campaignFaults[k].kind)
		a, b := ours.row(name, string(TwoProbes)), plain.row(name, string(TwoProbes))
		if a != nil && b != nil {
			list = append(list, beside{name, a, b})
		}
	}
	return list
}

// FreeTable tells of the tubs without a fault: what a person was told for
// nothing, with each set of probes.
func (o *Campaigned) FreeTable() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%.1f tub-years without a fault, lids, sun, draughts and water changes always on:\n%s\n"+
		"| false trips | trips at the cutoff that sun or room really brought about | runs with a low alarm at night | alarms a tub-day |\n"+
		"|---|---|---|---|\n| %d | %d | %d of %d | %.2f |\n\n"+
		"| alarm, in a tub-day |", o.TubYears, o.commands(), o.FalseTrips, len(o.Outside), o.LowAtNight, o.Runs, o.AlarmsADay)
	sets := []ProbeSet{OneProbe, TwoProbes, FloorProbe}
	rates := make(map[string][3]float64)
	var names []string
	for _, set := range sets {
		fmt.Fprintf(&b, " %s |", probeWords[set])
	}
	b.WriteString("\n|---|---|---|---|\n")
	var all [3]float64
	for _, a := range o.Alarms {
		row, known := rates[a.Name]
		if !known {
			names = append(names, a.Name)
		}
		k := slices.Index(sets, ProbeSet(a.Probes))
		row[k] += a.ATubDay
		all[k] += a.ATubDay
		rates[a.Name] = row
	}
	slices.Sort(names)
	for _, name := range names {
		row := rates[name]
		fmt.Fprintf(&b, "| %s | %.3f | %.3f | %.3f |\n", name, row[0], row[1], row[2])
	}
	fmt.Fprintf(&b, "| all | %.2f | %.2f | %.2f |\n", all[0], all[1], all[2])
	return b.String()
}

// Kinds lists the faults that campaigns draw, for those who hold results
// against them.
func Kinds() []string {
	var list []string
	for k := range campaignFaults {
		list = append(list, string(campaignFaults[k].kind))
	}
	return list
}

// Causes are the right causes of a kind of fault.
func Causes(kind string) []controller.Cause {
	for k := range campaignFaults {
		if string(campaignFaults[k].kind) == kind {
			return campaignFaults[k].right
		}
	}
	return nil
}
