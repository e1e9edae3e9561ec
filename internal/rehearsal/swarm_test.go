package rehearsal

import (
	"reflect"
	"testing"

	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

func TestSwarmGivesEachRunItsOwnCharacter(t *testing.T) {
	const runs = 300
	without, often := map[rig.FaultKind]int{}, map[rig.FaultKind]bool{}
	passing, lasting := 0, 0
	for seed := range uint64(runs) {
		list := swarm(FloorProbe, num.NewNoise(seed, 1))
		if again := swarm(FloorProbe, num.NewNoise(seed, 1)); !reflect.DeepEqual(list, again) {
			t.Fatalf("seed %d gave two swarms", seed)
		}
		if len(list) > swarmMost {
			t.Fatalf("%d faults", len(list))
		}
		count := map[rig.FaultKind]int{}
		for i, f := range list {
			if err := f.Check(); err != nil {
				t.Fatalf("seed %d: %v", seed, err)
			}
			if i > 0 && f.At < list[i-1].At || f.At < learning || f.At >= learning+faultSpan+aftermath {
				t.Fatalf("seed %d: fault %d at %v", seed, i, f.At)
			}
			if count[f.Kind]++; count[f.Kind] >= 3 {
				often[f.Kind] = true
			}
			if f.Until > 0 {
				passing++
			} else {
				lasting++
			}
		}
		for _, k := range campaignFaults {
			if count[k.kind] == 0 {
				without[k.kind]++
			}
		}
	}
	for _, k := range campaignFaults {
		if without[k.kind] < runs*4/10 || without[k.kind] > runs*9/10 {
			t.Errorf("%s: absent from %d of %d runs", k.kind, without[k.kind], runs)
		}
		if !often[k.kind] {
			t.Errorf("%s never comes three times in a run", k.kind)
		}
	}
	if passing == 0 || lasting == 0 {
		t.Errorf("%d faults pass and %d stay", passing, lasting)
	}
}

func TestNuisancesOfASwarmAreWild(t *testing.T) {
	none, wilder := 0, 0
	for seed := range uint64(200) {
		n := wild(num.NewNoise(seed, 2))
		if n.LidsPerDay == 0 {
			none++
		}
		if n.LidsPerDay > 3*rig.Busy.LidsPerDay {
			wilder++
		}
		if n.LidsPerDay > 5*rig.Busy.LidsPerDay {
			t.Errorf("seed %d: %g lids a day", seed, n.LidsPerDay)
		}
	}
	if none < 30 || none > 90 || wilder < 5 {
		t.Errorf("of 200 runs %d have no lids and %d have many", none, wilder)
	}
}

func TestPairsAreAllPairs(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range allPairs {
		if seen[p.String()] {
			t.Errorf("%s twice", p)
		}
		seen[p.String()] = true
	}
	for i := range campaignFaults {
		for j := range campaignFaults[:i] {
			if !seen[pair{&campaignFaults[j], &campaignFaults[i]}.String()] {
				t.Errorf("no pair of %s and %s", campaignFaults[j].kind, campaignFaults[i].kind)
			}
		}
	}
	for _, set := range probeSets {
		for i, p := range allPairs {
			list := p.draw(set, num.NewNoise(uint64(i), 3))
			if len(list) != 2 {
				t.Fatalf("%s: %v", p, list)
			}
			for _, f := range list {
				if err := f.Check(); err != nil {
					t.Errorf("%s with %s: %v", p, set, err)
				}
				if !has(set, f.Target) {
					t.Errorf("%s with %s aims at %s", p, set, f.Target)
				}
			}
			if set == FloorProbe && p.one == p.two && list[0].Target == list[1].Target {
				t.Errorf("%s: the same thing breaks twice: %v", p, list)
			}
		}
	}
}

func TestWhatLeavesNothingToCutWith(t *testing.T) {
	fault := func(k rig.FaultKind, target string) rig.Fault { return rig.Fault{Kind: k, Target: target} }
	for _, h := range uncuttablePairs {
		if uncuttable([]rig.Fault{h.two, fault(rig.LidOff, "tub"), h.one}) != h.why {
			t.Errorf("%v and %v leave something", h.one, h.two)
		}
		if uncuttable([]rig.Fault{h.one}) != "" || uncuttable([]rig.Fault{h.two, h.two}) != "" {
			t.Errorf("one of %v and %v alone leaves nothing", h.one, h.two)
		}
	}
	if uncuttable([]rig.Fault{fault(rig.RelayWelded, "pad"), fault(rig.RelayOpen, "series")}) != "" {
		t.Error("a series relay that never closes cuts the heat")
	}
}
