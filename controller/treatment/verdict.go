package treatment

import (
	"fmt"
	"slices"
	"time"

	"soakwarden/controller"
)

// Result is what came of a treatment. The zero value is open: never a PASS.
type Result uint8

// The results.
const (
	Open Result = iota
	Fail
	Pass
)

// String is the result as a record prints it.
func (r Result) String() string {
	switch r {
	case Fail:
		return "FAIL"
	case Pass:
		return "PASS"
	}
	return "open"
}

// Verdict is what the judge says at one moment.
type Verdict struct {
	Held   bool // the schedule was held, together and without a break
	Review bool // a probe cannot have been in its core: a person must look
	Reason string
}

// Rules are those that the judge goes by.
func (j *Judge) Rules() Rules { return j.rules }

// Verdict judges what was seen so far.
func (j *Judge) Verdict() Verdict {
	s := &j.rules.Schedule
	for i := range j.Probes {
		if p := &j.Probes[i]; p.Doubt != NoDoubt {
			return Verdict{Review: true, Reason: fmt.Sprintf("for review: %s %s", j.rules.Probes[i].Name, p.Doubt)}
		}
	}
	longest := j.Longest.Length()
	if longest >= s.Hold {
		return Verdict{Held: true, Reason: fmt.Sprintf("%s at %s or %s, together for %s of the %s asked for", j.who(), Words(s.Target), s.direction(), longest, s.Hold)}
	}
	why := ""
	i, behind := j.Limiting()
	switch {
	case !j.Begun:
		return Verdict{Reason: "there are no readings"}
	case i >= 0 && !j.Probes[i].Known:
		why = j.rules.Probes[i].Name + " gave no reading"
	case i >= 0 && !j.Probes[i].Arrived:
		why = fmt.Sprintf("%s never got there, %s was missing in the end", j.rules.Probes[i].Name, kelvin(behind))
	case j.Restarted > 0:
		r := j.LastRestart
		who := "all"
		if r.Probe >= 0 {
			who = j.rules.Probes[r.Probe].Name
		}
		why = fmt.Sprintf("the clock was restarted, the last time at %s by %s (%s)", r.At, r.Why, who)
	default:
		why = "it ended too early"
	}
	return Verdict{Reason: fmt.Sprintf("together at %s or %s for %s of the %s asked for: %s", Words(s.Target), s.direction(), longest, s.Hold, why)}
}

func (s *Schedule) direction() string {
	if s.Freeze {
		return "below"
	}
	return "above"
}

// who names the probes that the verdict is about.
func (j *Judge) who() string {
	n, dropped := 0, 0
	for i := range j.Probes {
		switch {
		case j.counts(i):
			n++
		case j.Probes[i].Dropped:
			dropped++
		}
	}
	if dropped > 0 {
		return fmt.Sprintf("all %d remaining probes (%d dropped)", n, dropped)
	}
	if n == 1 {
		return "the probe"
	}
	return fmt.Sprintf("all %d probes", n)
}

// Limiting is the probe that is farthest behind: one that gave no reading, then
// one that never arrived, then the one with the least in hand. −1 for none.
func (j *Judge) Limiting() (probe int, behind controller.Difference) {
	probe, rank := -1, -1
	for i := range j.Probes {
		p := &j.Probes[i]
		if !j.counts(i) {
			continue
		}
		r := 0
		switch {
		case !p.Known:
			r = 2
		case !p.Arrived:
			r = 1
		}
		d := j.rules.Schedule.Behind(p.Last.Value, j.rules.Probes[i].Uncertainty)
		if !p.Known {
			d = 0
		}
		if r > rank || r == rank && d > behind {
			probe, rank, behind = i, r, d
		}
	}
	return probe, behind
}

// LargestGap is the longest time for which a probe that counts gave no data.
func (j *Judge) LargestGap() time.Duration {
	var g time.Duration
	for i := range j.Probes {
		if j.rules.Probes[i].Place != Air {
			g = max(g, j.Probes[i].LargestGap)
		}
	}
	return g
}

// Copy is the judge's memory, for keeping.
func (j *Judge) Copy() State {
	s := j.State
	s.Restarts, s.Probes = slices.Clone(s.Restarts), slices.Clone(s.Probes)
	return s
}

// Resume makes a judge who remembers. The error says what of it cannot be.
func Resume(rules Rules, s State) (*Judge, error) {
	j, err := NewJudge(rules)
	if err != nil {
		return nil, err
	}
	if len(s.Probes) != len(rules.Probes) {
		return nil, fmt.Errorf("the kept judgement has %d probes and the treatment %d", len(s.Probes), len(rules.Probes))
	}
	if s.Longest.Length() < 0 || s.Longest.To > s.Now || s.Start > s.Now {
		return nil, fmt.Errorf("the kept judgement lies after its own end")
	}
	for i := range s.Probes {
		p := &s.Probes[i]
		if p.Last.At > s.Now || p.Run.To > s.Now || p.Run.Length() < 0 || p.Longest.Length() < 0 {
			return nil, fmt.Errorf("the kept judgement of %s lies after its own end", rules.Probes[i].Name)
		}
	}
	j.State = s
	j.State = j.Copy()
	return j, nil
}
