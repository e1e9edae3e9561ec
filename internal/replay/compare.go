package replay

import (
	"encoding/json"
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/entry"
)

// longestPause is the time between two blocks that ordinary lateness explains.
const longestPause = 5 * time.Second

// station replays one station through one run.
func (rep *Report) station(s *Station, t *taking, core string) {
	c, why := t.begin(core)
	s.NotComparable = why
	var last time.Duration
	for _, body := range t.blocks {
		e, err := entry.Decode(body)
		if err != nil {
			s.NotComparable = err.Error() // it was decoded once before
			return
		}
		b := e.Body.(*entry.Ticks)
		// A pause inside a block was one; a pause between two may be a block
		// that a power cut took.
		if first := time.Duration(b.Columns[entry.ColNow][0]); s.Ticks > 0 && first-last > longestPause {
			t.holeAt(first)
		}
		last = e.Now
		for i := range b.Len() {
			s.Ticks++
			if s.NotComparable != "" {
				continue
			}
			in := journal.InputOf(b, i)
			if t.hole >= 0 && in.Now >= t.hole {
				s.NotComparable = "inputs are missing from here on"
				continue
			}
			if why := rep.tick(s, c, &in, journal.OutputOf(b, i), t.events[in.Now]); why != "" {
				s.NotComparable = why
			}
		}
	}
}

// begin makes the station as it was when the run began, or says why not.
func (t *taking) begin(core string) (*controller.Station, string) {
	switch {
	case t.settings == nil:
		return nil, "the settings of the station are not in the record"
	case t.settings.Core != core:
		return nil, fmt.Sprintf("recorded by core %s, this is core %s", t.settings.Core, core)
	case t.again != "":
		return nil, t.again
	}
	var set controller.Settings
	if err := json.Unmarshal(t.settings.JSON, &set); err != nil {
		return nil, fmt.Sprintf("the settings cannot be read: %v", err)
	}
	c, err := controller.New(set)
	if err != nil {
		return nil, fmt.Sprintf("the settings are not taken: %v", err)
	}
	state := t.restored
	if len(state) == 0 {
		state = nil
	}
	// A state that the core does not take latched the station then, and does so
	// now.
	_ = c.Restore(state)
	return c, ""
}

// tick runs one decision. A panic in the core is a difference: the recorded one
// came to an end.
func (rep *Report) tick(s *Station, c *controller.Station, in *controller.Input, want controller.Output, events []entry.Event) (why string) {
	now := in.Now.Seconds()
	differ := func(what string, recorded, replayed any) {
		if len(rep.Differences) < mostDifferences {
			rep.Differences = append(rep.Differences, Difference{Run: s.Run, Station: s.Name, NowS: now,
				What: what, Recorded: fmt.Sprint(recorded), Replayed: fmt.Sprint(replayed)})
		}
	}
	defer func() {
		if p := recover(); p != nil {
			s.Different++
			differ("the core stopped", "a decision", p)
			why = "the core stopped before"
		}
	}()
	got := c.Step(in)
	s.Compared++
	before := len(rep.Differences)
	different := false
	compare := func(what string, recorded, replayed any) {
		if recorded != replayed {
			different = true
			differ(what, recorded, replayed)
		}
	}
	compare("command", want.Command, got.Command)
	compare("permitted", want.Permitted, got.Permitted)
	compare("reason", want.Reason, got.Reason)
	compare("shared series relay opened", want.OpenShared, got.OpenShared)
	compare("effective set point, nK", int64(want.Effective), int64(got.Effective))
	compare("governing probe", want.Governing, got.Governing)
	compare("number of events", len(events), len(got.Events))
	for i := 0; i < len(events) && i < len(got.Events); i++ {
		compare("event", events[i], journal.EventOf(&got.Events[i]))
	}
	if different {
		s.Different++
	}
	if s.Different > mostDifferences && len(rep.Differences) == before {
		return "too much differs before"
	}
	return ""
}
