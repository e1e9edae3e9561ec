package treat

import (
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/loop"
)

// View is a fresh picture of the treatment, nil when there is none.
func (c *chamber) View() *loop.TreatmentView {
	c.mu.Lock()
	defer c.mu.Unlock()
	j := c.job
	if j == nil {
		return nil
	}
	s := &j.Rules.Schedule
	v := &loop.TreatmentView{
		Number: j.Number, Schedule: s.Name, Stage: j.Stage.Words(s.Freeze), Freeze: s.Freeze, Running: j.Stage < Ending, Awaits: j.Stage == Closed,
		Target: s.Target, Hold: s.Hold, Longest: c.judge.Longest.Length(), Elapsed: j.At, Slowest: -1,
		Result: j.Result.String(), Failed: j.Result == treatment.Fail, Reason: j.Reason, Waits: c.waits(),
	}
	if t, on := c.judge.Together(); on {
		v.Together = t.Length()
	}
	if c.judge.Begun {
		v.Slowest, v.Behind = c.judge.Limiting()
	} else {
		v.Slowest, v.Behind = c.behind()
	}
	if v.Slowest >= 0 {
		v.Piece = c.st.Probes[v.Slowest].Piece
	}
	switch {
	case j.Stage == Holding:
		v.Left = max(s.Hold-v.Together, 0)
	case j.Stage == Coming && j.Plan.Total != nil:
		v.Left = max(time.Duration(*j.Plan.Total)*time.Second-(j.At-j.HeatFrom), s.Hold)
	case j.Stage == Warning && j.Plan.Total != nil:
		v.Left = warningLong - min(j.At-j.WarnedAt, warningLong) + time.Duration(*j.Plan.Total)*time.Second
	}
	return v
}

// behind is the probe that is farthest from the target before the judge begins.
func (c *chamber) behind() (probe int, behind controller.Difference) {
	probe = -1
	for i, r := range c.read {
		p := &c.job.Rules.Probes[i]
		if !r.Good || p.Place == treatment.Air {
			continue
		}
		if d := c.job.Rules.Schedule.Behind(r.Value, p.Uncertainty); probe < 0 || d > behind {
			probe, behind = i, d
		}
	}
	return probe, behind
}

// waits says what the treatment waits for.
func (c *chamber) waits() string {
	j, l := c.job, &c.looked
	door := c.st.DoorInput != "" && l.Health.DoorOpen
	switch j.Stage {
	case Warning:
		switch left := warningLong - (j.At - j.WarnedAt); {
		case door:
			return "the door to be closed; then ten minutes of warning"
		case c.mute && !j.Rules.Schedule.Freeze:
			return "the buzzer, which cannot be switched on: look at its line; then ten minutes of warning"
		case left > 0:
			return fmt.Sprintf("the end of the warning, %s", left.Round(time.Second))
		case !c.aired:
			return "the air to move: look at the fan"
		case l.Reason != controller.NoCause:
			return fmt.Sprintf("%s to clear", l.Reason)
		}
		return "the next tick"
	case Coming, Holding:
		switch {
		case door:
			return "the door to be closed"
		case l.Reason != controller.NoCause:
			return fmt.Sprintf("%s to clear", l.Reason)
		case j.Stage == Holding:
			t, _ := c.judge.Together()
			return fmt.Sprintf("the time: %s of %s", t.Length().Round(time.Second), j.Rules.Schedule.Hold)
		}
		i, behind := c.judge.Limiting()
		if i < 0 {
			return "the first readings"
		}
		return fmt.Sprintf("%s, %.1f K from the target", c.name(i), float64(behind)/1e9)
	case Ending:
		for i, r := range c.values {
			if r.Quality != controller.Good {
				return fmt.Sprintf("%s, which gives no reading: look at its plug; if it is dead, %s", c.name(i), byHand(j.Rules.Schedule.Freeze, c.st.Probes[i].ROM))
			}
		}
		if j.Rules.Schedule.Freeze {
			return "every probe to be above " + treatment.Words(safeCold)
		}
		return "every probe to be under " + treatment.Words(safeHot)
	}
	return "a named person to release it"
}

// byHand says how a chamber is released whose probe is dead.
func byHand(freeze bool, rom string) string {
	first := "unplug the heater, open the chamber with care"
	if freeze {
		first = "switch the freezer off, open it"
	}
	return fmt.Sprintf("%s, hold a thermometer to its place, and release with --hand %s=TEMPERATURE", first, rom)
}

// name is what a person calls a probe.
func (c *chamber) name(i int) string {
	if p := c.st.Probes[i].Piece; p != "" {
		return p
	}
	return c.job.Rules.Probes[i].Name
}

// Deviations are those of the treatment that is under way, in words.
func (d *Desk) Deviations(station string) (list []string) {
	c := d.chamber(station)
	if c == nil {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job == nil {
		return nil
	}
	for _, v := range c.job.Deviations {
		list = append(list, fmt.Sprintf("after %s: %s", span(v.At), v.Text))
	}
	for _, r := range worth(c.judge.Restarts) {
		list = append(list, fmt.Sprintf("the clock was restarted after %s by %s", span(r.At-c.judge.Start), r.Why))
	}
	return list
}
