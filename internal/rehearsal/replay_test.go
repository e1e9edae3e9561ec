package rehearsal

import (
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/loop"
	"soakwarden/internal/replay"
)

// Every scenario is recorded whole, through every death of the program, and
// decided again from its record: each decision must come out the same.
func TestScenariosDecideTheSameAgain(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(scenarios, "*.toml"))
	if err != nil || len(files) < 10 {
		t.Fatal(files, err)
	}
	var died atomic.Bool
	t.Cleanup(func() {
		if !died.Load() {
			t.Error("the program died twice in no scenario")
		}
	})
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			s, err := LoadScenario(file)
			if err != nil {
				t.Fatal(err)
			}
			record := journal.NewMemory(journal.Options{})
			if _, err := s.Run(Options{Recorder: record}); err != nil {
				t.Fatal(err)
			}
			if err := record.Close(); err != nil {
				t.Fatal(err)
			}
			report, err := replay.Run(record, controller.Core())
			if err != nil {
				t.Fatal(err)
			}
			for _, st := range report.Stations {
				if st.Compared == 0 || st.Compared != st.Ticks || st.Different != 0 {
					t.Errorf("%+v", st)
				}
			}
			if !report.OK || len(report.Stations) == 0 {
				t.Errorf("%+v", report.Differences)
			}
			if rep, err := verify.Check(record); err != nil || !rep.OK {
				t.Errorf("the record does not verify: %v %q", err, rep.Problems)
			}
			if report.Stations[len(report.Stations)-1].Run >= 3 {
				died.Store(true)
			}
		})
	}
}

// Single faults, pairs and swarms of faults are decided again as they were.
func TestCampaignsDecideTheSameAgain(t *testing.T) {
	for _, c := range []Campaign{
		{Runs: 9, Seed: 20, Replay: true},
		{Runs: 3, Seed: 21, Pairs: true, Replay: true},
		{Runs: 3, Seed: 22, Swarm: true, Replay: true},
	} {
		out, err := c.Run()
		if err != nil {
			t.Fatal(err)
		}
		if out.Replayed < uint64(c.Runs)*5*3600 {
			t.Errorf("%s: %d decisions were compared", c.Command(), out.Replayed)
		}
		for _, v := range out.Violations {
			if v.Judge == "record" {
				t.Errorf("%s: %s", c.Command(), v.Text)
			}
		}
	}
}

// A record that holds an input which the core never saw is an objection.
func TestChangedRecordIsAnObjection(t *testing.T) {
	c := Campaign{Runs: 1, Seed: 20, Replay: true}
	k, err := c.Case(0)
	if err != nil {
		t.Fatal(err)
	}
	record := journal.NewMemory(journal.Options{})
	r, err := k.Scenario.NewRun(Options{Wire: k.Drawn.Wire, Recorder: record, Observe: func(res *loop.Result) {
		// One tick more than the core was shown.
		if res.Now == time.Hour {
			record.Tick(res)
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	for r.Bench().Now() < 2*time.Hour {
		if err := r.Step(); err != nil {
			t.Fatal(err)
		}
	}
	var res result
	if err := k.again(record, &res); err != nil || len(res.problems) != 1 {
		t.Errorf("a tick that was recorded twice: %v %+v", err, res.problems)
	}
}
