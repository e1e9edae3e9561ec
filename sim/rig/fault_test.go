package rig

import (
	"math"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/sim"
)

func TestUnknownKindListsTheKnown(t *testing.T) {
	_, err := FaultKind("pad on fire").Spec()
	if err == nil {
		t.Fatal("an unknown kind was taken")
	}
	for _, k := range FaultKinds {
		if !strings.Contains(err.Error(), string(k.Kind)) {
			t.Errorf("%q is not among the known: %v", k.Kind, err)
		}
	}
}

// Every kind: its example is good, a target too many or too few is refused, and
// so are amounts outside the bounds.
func TestEveryKindIsChecked(t *testing.T) {
	for _, k := range FaultKinds {
		good := Fault{Kind: k.Kind, Amount: (k.Low + k.High) / 2}
		if k.Target != NoTarget {
			good.Target = "something"
		}
		if k.Kind == ProbeOutOfWater {
			good.Where = "air"
		}
		if err := good.Check(); err != nil {
			t.Errorf("%s: %v", k.Kind, err)
		}
		if (k.Unit != "") != (k.Example() != "") {
			t.Errorf("%s: unit %q, example %q", k.Kind, k.Unit, k.Example())
		}
		if k.Words == "" {
			t.Errorf("%s says nothing to a person", k.Kind)
		}
		wrong := map[string]func(*Fault){
			"too little":   func(f *Fault) { f.Amount = k.Low - 1 },
			"too much":     func(f *Fault) { f.Amount = k.High + 1 },
			"not a number": func(f *Fault) { f.Amount = math.NaN() },
			"target":       func(f *Fault) { f.Target = map[bool]string{true: "", false: "something"}[f.Target != ""] },
			"early":        func(f *Fault) { f.At = -time.Second },
			"backwards":    func(f *Fault) { f.At, f.Until = time.Minute, time.Second },
		}
		for name, change := range wrong {
			f := good
			change(&f)
			if err := f.Check(); err == nil {
				t.Errorf("%s, %s: taken", k.Kind, name)
			} else if !strings.Contains(err.Error(), string(k.Kind)) {
				t.Errorf("%s, %s: the error does not name the kind: %v", k.Kind, name, err)
			}
		}
	}
	if err := (&Fault{Kind: ProbeOutOfWater, Target: "a/control", Where: "ceiling"}).Check(); err == nil || !strings.Contains(err.Error(), "air, floor or pad") {
		t.Errorf("a place that does not exist: %v", err)
	}
}

func TestActiveFromItsBeginningToBeforeItsEnd(t *testing.T) {
	f := Fault{At: 10 * time.Second, Until: 20 * time.Second}
	for second, want := range map[int]bool{9: false, 10: true, 19: true, 20: false} {
		if f.Active(time.Duration(second)*time.Second) != want {
			t.Errorf("at %d s: %v", second, !want)
		}
	}
	f.Until = 0
	if !f.Active(1000 * time.Hour) {
		t.Error("a fault without an end ended")
	}
}

func TestTargetsAreFoundOrNamed(t *testing.T) {
	w := standWiring()
	for _, c := range []struct {
		kind   FaultKind
		target string
		want   aim
	}{
		{RelayWelded, "series-south", aim{seriesSouth, -1, -1, -1, -1}},
		{BusHung, "cabinet", aim{-1, 1, -1, -1, -1}},
		{PadDead, "south", aim{-1, -1, 1, -1, -1}},
		{ProbesSwapped, "south, north", aim{-1, -1, 1, 0, -1}},
		{ProbeSilent, "south/floor", aim{-1, -1, 1, -1, 2}},
		{ProbeSilent, "cabinet/air", aim{-1, -1, 2, -1, 1}},
		{CardFull, "", aim{-1, -1, -1, -1, -1}},
	} {
		got, err := w.aim(&Fault{Kind: c.kind, Target: c.target})
		if err != nil || got != c.want {
			t.Errorf("%s %q: %v, %v", c.kind, c.target, got, err)
		}
	}
	for kind, targets := range map[FaultKind][]string{
		RelayWelded: {"", "pad", "north"}, BusHung: {"", "header"}, PadDead: {"", "west"},
		ProbesSwapped: {"north", "north,north", "north,west", "west,north"},
		ProbeSilent:   {"north", "north/", "west/control", "north/core", "cabinet/control"},
	} {
		for _, target := range targets {
			_, err := w.aim(&Fault{Kind: kind, Target: target})
			if err == nil || !strings.Contains(err.Error(), string(kind)) || !strings.Contains(err.Error(), "write") {
				t.Errorf("%s %q: %v", kind, target, err)
			}
		}
	}
	if _, err := w.aim(&Fault{Kind: "pad on fire"}); err == nil {
		t.Error("an unknown kind has an aim")
	}
}

// Everything that is wrong with a wiring is said at once.
func TestWiringTellsAllItsMistakes(t *testing.T) {
	w := standWiring(Fault{Kind: PadDead, Target: "west"}, Fault{Kind: "pad on fire"})
	w.Stations[0].Pad = 6
	w.Stations[1].Series = -2
	w.Stations[1].Chamber = &sim.ChamberSpec{}
	w.Stations[2].Probes[0].Bus = 2
	_, err := NewBench(w)
	if err == nil {
		t.Fatal("it was built")
	}
	for _, want := range []string{"relay 6 of 6", "relay -2 of 6", "south must be a tub or a chamber", "bus 2 of 2", `no "west"`, "pad on fire"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("nothing about %q in: %v", want, err)
		}
	}
	w = standWiring()
	w.Stations[0].Tub.Depth = 3
	if _, err := NewBench(w); err == nil || !strings.Contains(err.Error(), "north") {
		t.Errorf("an impossible tub: %v", err)
	}
	w = standWiring()
	w.Stations[2].Chamber.Pieces[0].Material = "cheese"
	if _, err := NewBench(w); err == nil || !strings.Contains(err.Error(), "cabinet") {
		t.Errorf("an impossible chamber: %v", err)
	}
	w = standWiring()
	w.Stations[0].Probes[0].Spec.Address = 0
	if _, err := NewBench(w); err == nil {
		t.Error("a probe without an address was hung")
	}
}

func TestRolesHaveTheNamesOfTargets(t *testing.T) {
	for role, want := range map[controller.Role]string{
		controller.RoleControl: "control", controller.RoleGuard: "guard", controller.RoleFloor: "floor", controller.RoleRoom: "room",
		controller.RoleCore: "core", controller.RoleSurface: "surface", controller.RoleAir: "air", controller.Role(200): "",
	} {
		if RoleName(role) != want {
			t.Errorf("role %d is %q, wanted %q", role, RoleName(role), want)
		}
	}
	for k := NoTarget; k <= AtStationPair; k++ {
		if k.String() == "" {
			t.Errorf("target %d has no words", k)
		}
	}
}

// A chamber has several cores: a target says which, and a wrong one is told
// what there is.
func TestTargetsNameOneProbeOfMany(t *testing.T) {
	probes := []Named{
		{controller.RoleAir, addressOf(familyB20, 0x21)}, {controller.RoleCore, addressOf(familyB20, 0x22)},
		{controller.RoleCore, addressOf(familyB20, 0xABC)}, {controller.Role(200), addressOf(familyB20, 0x24)},
	}
	for word, want := range map[string]int{
		"air": 0, "core": 1, "core-1": 1, "core-2": 2, "28-000000000abc": 2, "28-000000000ABC": 2, "28-000000000024": 3,
	} {
		if got, err := FindProbe(probes, word); err != nil || got != want {
			t.Errorf("%q: %d, %v; want %d", word, got, err, want)
		}
	}
	for _, word := range []string{"", "core-3", "core-0", "core-", "air-1", "surface", "28-000000000023"} {
		_, err := FindProbe(probes, word)
		if err == nil || !strings.Contains(err.Error(), "write one of air (or 28-000000000021), core-1 (or 28-000000000022), core-2 (or 28-000000000abc)") {
			t.Errorf("%q: %v", word, err)
		}
	}
	if _, err := FindProbe(nil, "core"); err == nil {
		t.Error("found in nothing")
	}
}
