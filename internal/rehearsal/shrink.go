package rehearsal

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"soakwarden/sim/rig"
)

// Check says what is wrong with the campaign's own settings.
func (c *Campaign) Check() error {
	switch c.Probes {
	case "", OneProbe, TwoProbes, FloorProbe:
	default:
		return fmt.Errorf("--probes is %q: write one, two or floor", c.Probes)
	}
	if c.Runs < 1 || c.Runs > 10_000_000 {
		return fmt.Errorf("--runs is %d: write 1 to 10000000", c.Runs)
	}
	kinds := 0
	for _, chosen := range []bool{c.NoFaults, c.Pairs, c.Swarm, c.Fault != ""} {
		if chosen {
			kinds++
		}
	}
	if kinds > 1 {
		return fmt.Errorf("--no-faults, --pairs, --swarm and --fault exclude each other: write one of them")
	}
	if c.Plain && (c.Replay || c.Journals != "") {
		return fmt.Errorf("--plain does not go with --replay and --journals: a plain limit records nothing")
	}
	if c.Longest < 0 {
		return fmt.Errorf("--longest is %v: write a time like 5m, or 0 for no limit", c.Longest)
	}
	if c.First < 0 {
		return fmt.Errorf("--first is %d: write 0 or more", c.First)
	}
	if c.Fault == "" {
		return nil
	}
	names := make([]string, 0, len(campaignFaults))
	for _, k := range campaignFaults {
		if k.kind == c.Fault {
			return nil
		}
		names = append(names, string(k.kind))
	}
	return fmt.Errorf("--fault is %q: write one of %s", c.Fault, strings.Join(names, ", "))
}

// Command is the command that makes this campaign again. Workers do not change
// what is found, so they are not part of it.
func (c *Campaign) Command() string {
	s := fmt.Sprintf("soakwarden campaign --runs %d --seed %d", c.Runs, c.Seed)
	if c.First > 0 {
		s += fmt.Sprintf(" --first %d", c.First)
	}
	if c.Fault != "" {
		s += fmt.Sprintf(" --fault %q", c.Fault)
	}
	if c.Probes != "" {
		s += " --probes " + string(c.Probes)
	}
	for _, f := range []struct {
		on   bool
		flag string
	}{{c.Pairs, "pairs"}, {c.Swarm, "swarm"}, {c.NoFaults, "no-faults"}, {c.Plain, "plain"}, {c.Unprotected, "unprotected"}, {c.Replay, "replay"}} {
		if f.on {
			s += " --" + f.flag
		}
	}
	return s + " --json"
}

// shrink makes a failing case smaller while the same judge still objects: no
// nuisances, one fault less, a shorter run.
func (k *Case) shrink(judge string) *Case {
	fails := func(try *Case) bool {
		res, err := try.run()
		if err != nil {
			return false
		}
		for _, v := range res.problems {
			if v.Judge == judge {
				return true
			}
		}
		return false
	}
	best := *k
	keep := func(change func(*Case)) {
		try := best
		scenario, drawn := *best.Scenario, *best.Drawn
		scenario.Faults = append([]rig.Fault(nil), scenario.Faults...)
		try.Scenario, try.Drawn = &scenario, &drawn
		change(&try)
		if fails(&try) {
			best = try
		}
	}
	keep(func(c *Case) { c.Drawn.Nuisances = rig.Nuisances{} })
	for i := len(best.Scenario.Faults) - 1; i >= 0; i-- {
		keep(func(c *Case) { c.Scenario.Faults = append(c.Scenario.Faults[:i], c.Scenario.Faults[i+1:]...) })
	}
	for range 6 {
		keep(func(c *Case) { c.Scenario.Duration = max(c.Scenario.Duration*3/4, time.Hour) })
	}
	return &best
}

// WriteFailing runs the case of a violation again, shrinks it and writes it as a
// configuration and a scenario beside it.
func (c *Campaign) WriteFailing(folder string, v Violation) error {
	k, err := c.Case(v.Run)
	if err != nil {
		return err
	}
	k = k.shrink(v.Judge)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	name := fmt.Sprintf("failing-%d", k.Seed)
	if err := os.WriteFile(filepath.Join(folder, name+"-config.toml"), []byte(k.Drawn.Text), 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, name+".toml"), []byte(k.text(name, v)), 0o644)
}

// text writes the case as a scenario.
func (k *Case) text(name string, v Violation) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s: %s\n# Drawn by a campaign. Invented.\n", v.Judge, v.Text)
	fmt.Fprintf(&b, "config = %q\nduration = %q\nseed = %d\nroom = \"%.1fC\"\nroom_swing = \"%.1fK\"\n",
		name+"-config.toml", k.Scenario.Duration, k.Scenario.Seed, k.Drawn.Room.Mean, k.Drawn.Room.Swing)
	fmt.Fprintf(&b, "drawn = %d\nprobes = %q\nnuisances = %t\n", k.Seed, k.Probes, k.Drawn.Nuisances != rig.Nuisances{})
	for _, f := range k.Scenario.Faults {
		fmt.Fprintf(&b, "\n[[fault]]\nat = %q\nkind = %q\n", f.At, f.Kind)
		if f.Until > 0 {
			fmt.Fprintf(&b, "until = %q\n", f.Until)
		}
		if f.Target != "" {
			fmt.Fprintf(&b, "target = %q\n", f.Target)
		}
		spec, err := f.Kind.Spec()
		switch {
		case err != nil || spec.Unit == "":
		case f.Where != "":
			fmt.Fprintf(&b, "amount = %q\n", f.Where)
		default:
			fmt.Fprintf(&b, "amount = \"%.9f%s\"\n", f.Amount, spec.Unit)
		}
	}
	return b.String()
}
