package daemon

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/config"
)

func TestOffWithoutAStateFolder(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	r := Off(OffOptions{File: filepath.Join(dir, "tub.toml")})
	if !r.AllOff() || len(r.Lines) != 2 || len(r.Problems) != 1 {
		t.Errorf("%+v", r)
	}
	if get(t, dir, "pad") != "1" || get(t, dir, "series") != "0" {
		t.Error("not off")
	}
}

func TestOffWithNothingKnown(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	r := Off(OffOptions{File: filepath.Join(dir, "missing"), State: filepath.Join(dir, "none")})
	if r.AllOff() || len(r.Lines) != 0 || len(r.Problems) != 2 {
		t.Errorf("%+v", r)
	}
}

// Outputs that do not heat are remembered as well: a heartbeat left high would
// hold the external relay.
func TestOffKnowsOutputs(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	d := running(t, dir)
	if err := d.Stop(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"beat", "lamp", "buzzer"} {
		put(t, dir, name, "1")
	}
	if r := Off(OffOptions{State: filepath.Join(dir, "state")}); !r.AllOff() || len(r.Lines) != 5 {
		t.Errorf("%+v", r)
	}
	for _, name := range []string{"beat", "lamp", "buzzer"} {
		if get(t, dir, name) != "0" {
			t.Errorf("%s is on", name)
		}
	}
}

func TestSurvey(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	probe(t, dir, "0000000000b9", 21)              // not in the configuration
	put(t, dir, "w1/28-0000000000a2/w1_slave", "") // does not answer
	put(t, dir, "w1/01-0000000000c1/id", "")       // a serial number chip: no probe
	cfg, problems := config.Parse("tub.toml", []byte(strings.Replace(get(t, dir, "tub.toml"), "0000000000a1", "0000000000a9", 1)))
	if cfg == nil {
		t.Fatal(problems)
	}
	all := Survey(t.Context(), cfg, 10*time.Second)
	if len(all) != 1 || all[0].Err != nil {
		t.Fatalf("%+v", all)
	}
	type seen struct {
		present, configured bool
		quality             controller.Quality
	}
	got := map[string]seen{}
	for _, p := range all[0].Probes {
		s := seen{present: p.Present, configured: p.Probe != nil}
		if p.Sample != nil {
			s.quality = p.Sample.Reading.Quality
		}
		got[p.ROM] = s
	}
	for rom, want := range map[string]seen{
		"28-0000000000a1": {true, false, controller.Good}, // was renamed in the configuration
		"28-0000000000a2": {true, true, controller.Bad},
		"28-0000000000a9": {false, true, controller.Bad},
		"28-0000000000b9": {true, false, controller.Good},
		"01-0000000000c1": {true, false, controller.Unknown},
	} {
		if got[rom] != want {
			t.Errorf("%s: %+v, want %+v", rom, got[rom], want)
		}
	}
	if len(got) != 5 {
		t.Errorf("%d probes: %v", len(got), got)
	}
	// A folder that is not there is an answer about the bus.
	cfg.Buses[0].Path = filepath.Join(dir, "none")
	if all := Survey(t.Context(), cfg, 5*time.Second); all[0].Err == nil {
		t.Error("a missing driver was not noticed")
	}
}
