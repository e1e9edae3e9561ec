package demo

import (
	"testing"
	"time"

	"soakwarden/configs"
	"soakwarden/internal/config"
	"soakwarden/sim/rig"
)

func newStage(t *testing.T) *stage {
	t.Helper()
	cfg, problems := config.Parse("bench.toml", configs.Bench)
	if cfg == nil {
		t.Fatalf("the bench of the demonstration is refused: %+v", problems)
	}
	b, err := build(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return b.Demo.(*stage)
}

// Every fault that the page offers can be given to every target that it offers.
func TestEveryOfferedFaultCanBeGiven(t *testing.T) {
	s := newStage(t)
	for _, kind := range s.Kinds() {
		spec, err := rig.FaultKind(kind.Name).Spec()
		if err != nil {
			t.Fatal(err)
		}
		targets := kind.Targets
		if spec.Target == rig.NoTarget {
			targets = []string{""}
		} else if len(targets) == 0 {
			t.Errorf("%s is offered without a target", kind.Name)
		}
		for _, target := range targets {
			if err := s.Inject(kind.Name, target, kind.Example); err != nil {
				t.Errorf("%s at %q: %v", kind.Name, target, err)
				continue
			}
			s.advance(s.bench.Now() + 2*time.Second)
			if len(s.Active()) != 1 {
				t.Errorf("%s at %q: active are %v", kind.Name, target, s.Active())
			}
			s.Clear()
			if len(s.Active()) != 0 {
				t.Errorf("%s at %q cannot be mended", kind.Name, target)
			}
		}
	}
}

func TestWhatMakesNoSenseIsRefused(t *testing.T) {
	s := newStage(t)
	for _, bad := range [][3]string{
		{"relay melted", "pad-north", ""}, {"relay welded", "pad-west", ""}, {"probe offset", "north/control", "3"},
		{"probe silent", "north/tail", ""}, {"pad dead", "", ""},
	} {
		if err := s.Inject(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}

// The model's time follows the daemon's, also after a tick that was late.
func TestTheWorldDoesNotWait(t *testing.T) {
	s := newStage(t)
	s.advance(10 * time.Second)
	s.advance(25 * time.Second)
	if s.bench.Now() != 25*time.Second {
		t.Errorf("the model stands at %v", s.bench.Now())
	}
	if v := s.truth(0); v.Water < 20 || v.Depth <= 0 {
		t.Errorf("the truth of the first tub is %+v", v)
	}
}
