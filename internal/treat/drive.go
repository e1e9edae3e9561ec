package treat

import (
	"encoding/json"
	"fmt"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
)

// What a treatment keeps to.
const (
	warningLong = 10 * time.Minute
	keepEvery   = 100 * time.Second // of the state; under a third of the usual gap
	behindMost  = 5 * controller.Kelvin
	limitShy    = 500 * controller.MilliKelvin // of the load's limit: no more heat
	safeHot     = physic.ZeroCelsius + 30*physic.Kelvin
	safeCold    = physic.ZeroCelsius + 15*physic.Kelvin
	overBy      = 1.5 // of the planned time: an alarm
	overMost    = 4   // of the planned time: over
	overLeast   = time.Hour
)

// noHeat is a target that no air is under: the fan runs, the heater does not.
const noHeat = 1 * physic.NanoKelvin

// Drive is asked in each tick.
func (c *chamber) Drive(l loop.Looked) loop.Drive {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.values) != len(l.Readings) {
		c.values = make([]controller.Reading, len(l.Readings))
	}
	copy(c.values, l.Readings)
	l.Readings = nil
	first := !c.begun
	c.looked, c.begun = l, true
	j := c.job
	if j == nil {
		return loop.Drive{}
	}
	if first {
		c.resume()
	}
	dt := c.from + l.Now - c.base - j.At
	j.At = c.from + l.Now - c.base
	j.Wall, j.Trusted = l.Wall, l.Trusted
	j.Untrusted = j.Untrusted || !l.Trusted
	for i, r := range c.values {
		c.read[i] = treatment.Reading{At: c.from + r.At - c.base, Value: r.Value, Good: r.Quality == controller.Good}
		if c.read[i].Good || first {
			c.spoke[i] = j.At
		}
	}
	if !first && dt > j.Rules.LongestGap && !j.Rules.Schedule.Freeze && (j.Stage == Coming || j.Stage == Holding) {
		j.deviate("the program stood still for %s", dt.Round(time.Second))
		c.warnAnew("the program stood still")
	}
	c.notice()
	if j.Stage != Closed {
		j.plot(c.read) // what waits for days would thin the curve of what was treated
	}
	d := c.stage(dt)
	if j.At-c.savedAt >= keepEvery {
		c.keep("")
	}
	return d
}

// resume finds out how long nobody watched, at the first tick of a program that
// took up a treatment. A length that a trusted clock measured on both sides is
// known, and the rule about gaps judges it. Any other restarts the clock.
func (c *chamber) resume() {
	j := c.job
	gap := c.looked.Wall.Sub(j.Wall)
	known := j.Trusted && c.looked.Trusted && gap >= 0
	j.Interrupts++
	c.base = c.looked.Now
	if known {
		c.from = j.At + gap
		j.At = c.from
		j.deviate("the program did not run; it was watched again after %s", gap.Round(time.Second))
	} else {
		// Past the rule, so that nothing is credited for a time nobody knows.
		c.from = j.At + j.Rules.LongestGap + time.Second
		j.At = c.from
		j.deviate("the program did not run, and for how long is not known: the clock restarts")
	}
	// Without the program the fan stood still and nothing heated: in heating the
	// clock restarts after any stop.
	if !j.Rules.Schedule.Freeze || !known || gap > j.Rules.LongestGap {
		c.judge.Interrupt(j.At)
	}
	// A chamber that stood dark was watched by nobody, not even for as long as it
	// takes to open it; and a warning that nobody sounded warned nobody. A freezer
	// freezes whatever the program does.
	switch {
	case j.Stage == Warning || j.Stage < Ending && !j.Rules.Schedule.Freeze:
		j.Stage, j.WarnedAt = Warning, j.At
	case j.Stage == Holding:
		j.Stage = Coming
	}
	c.desk.o.Record.GapRule(c.st.Name, j.Rules.LongestGap)
	c.keep("taken up again")
}

// notice notes what is not as it should be.
func (c *chamber) notice() {
	j, l := c.job, &c.looked
	if j.Stage != Coming && j.Stage != Holding {
		c.door, c.off = false, controller.NoCause
		return
	}
	if open := c.st.DoorInput != "" && l.Health.DoorOpen; open != c.door {
		c.door = open
		if open {
			j.deviate("the door was opened")
			if !j.Rules.Schedule.Freeze {
				c.warnAnew("the door was opened")
			}
		}
	}
	if l.Reason != c.off {
		c.off = l.Reason
		if l.Reason != controller.NoCause {
			j.deviate("heat was withheld: %s", l.Reason)
		}
	}
	for i := range c.judge.Probes {
		p := &c.judge.Probes[i]
		if p.Dropped != c.dropped[i] {
			c.dropped[i] = p.Dropped
			if p.Dropped {
				j.deviate("%s was dropped: silent, and it had led the limiting one throughout", j.Rules.Probes[i].Name)
			}
		}
		if doubt := p.Doubt != treatment.NoDoubt; doubt && !c.doubted[i] {
			c.doubted[i] = true
			j.deviate("%s %s", j.Rules.Probes[i].Name, p.Doubt)
		}
	}
}

// warnAnew ends the heat and what was held: nobody watched, and something may
// have come in, alive or untreated.
func (c *chamber) warnAnew(why string) {
	j := c.job
	c.judge.Interrupt(j.At)
	j.Stage, j.WarnedAt = Warning, j.At
	c.keep("warning anew: " + why)
}

// stage does what the stage asks for.
func (c *chamber) stage(dt time.Duration) loop.Drive {
	j := c.job
	switch j.Stage {
	case Warning:
		return c.warn()
	case Coming, Holding:
		return c.run(dt)
	case Ending:
		if c.safe() {
			j.Stage = Closed
			c.keep("at a safe temperature")
		}
		return loop.Drive{Treatment: controller.Treatment{Running: true, Target: noHeat}}
	}
	return loop.Drive{}
}

// warn sounds the buzzer and proves the air flow. An open door begins it anew,
// and so does a buzzer that did not sound, where something will heat.
func (c *chamber) warn() loop.Drive {
	j, l := c.job, &c.looked
	d := loop.Drive{Treatment: controller.Treatment{Running: true, Target: noHeat}, Buzzer: true}
	if j.HeatFrom > 0 {
		c.take() // warned anew, and what the probes say still counts
	}
	if c.st.DoorInput != "" && l.Health.DoorOpen {
		j.WarnedAt, c.asked = j.At, false
		return loop.Drive{}
	}
	if mute := c.asked && !l.Warned; mute != c.mute {
		c.mute = mute
		if mute {
			j.deviate("the buzzer could not be switched on")
		}
	}
	if c.asked = true; !l.Warned && !j.Rules.Schedule.Freeze {
		j.WarnedAt = j.At
	}
	c.aired = c.st.AirflowInput == "" || l.Last.Fan && l.Health.AirflowSeen
	if j.At-j.WarnedAt >= warningLong && c.aired && l.Reason == controller.NoCause && !l.Stopped {
		j.Stage = Coming
		c.asked = false
		if j.HeatFrom == 0 {
			j.HeatFrom = j.At
		}
		j.Effective = controller.Difference(c.air())
		c.keep("the warning is over")
	}
	return d
}

// air is the hottest good reading of the air, else of any probe.
func (c *chamber) air() physic.Temperature {
	var any, free physic.Temperature
	for i, r := range c.read {
		if !r.Good {
			continue
		}
		any = max(any, r.Value)
		if c.job.Rules.Probes[i].Place == treatment.Air {
			free = max(free, r.Value)
		}
	}
	if free > 0 {
		return free
	}
	return any
}

// take shows the judge the readings.
func (c *chamber) take() {
	c.judge.Take(c.job.At, c.read)
	c.job.Steps++
	if c.unsound() {
		c.judge.Interrupt(c.job.At)
	}
}

// run shows the judge the readings and says what the air should have.
func (c *chamber) run(dt time.Duration) loop.Drive {
	j := c.job
	c.take()
	_, together := c.judge.Together()
	stage := Coming
	if together {
		stage = Holding
	}
	if stage != j.Stage {
		j.Stage = stage
		c.keep("")
	}
	took, total := j.At-j.HeatFrom, max(time.Duration(*j.Plan.Total)*time.Second, overLeast)
	longest, v := c.judge.Longest.Length(), c.judge.Verdict()
	switch {
	case longest >= j.Rules.Schedule.Hold:
		c.end("")
	case took > overMost*total:
		c.end(fmt.Sprintf("over time: not held after %s, %d times what was planned", took.Round(time.Minute), overMost))
	}
	if j.Stage == Ending {
		return loop.Drive{Treatment: controller.Treatment{Running: true, Target: noHeat}}
	}
	t := controller.Treatment{
		Running: true, Target: c.ramp(dt), OutOfPiece: v.Review,
		OverTime: float64(took) > overBy*float64(total),
	}
	if j.Plan.LimitC != nil && c.hottest() >= physic.ZeroCelsius+physic.Temperature(*j.Plan.LimitC*1e9)-physic.Temperature(limitShy) {
		t.Target = noHeat
	}
	return loop.Drive{Treatment: t}
}

// unsound says whether the chamber heats in a way that nobody planned: then
// what its probes say proves nothing for the corners between them. In a freezer
// nothing is heated and the probes are all there is.
func (c *chamber) unsound() bool {
	if c.job.Rules.Schedule.Freeze {
		return false
	}
	r := c.looked.Reason
	return c.looked.Latched || r == controller.AirflowLost || r == controller.OverLimit
}

// ramp moves what the air should have towards the plan's temperature, no faster
// than the furnishings are to be warmed.
func (c *chamber) ramp(dt time.Duration) physic.Temperature {
	j := c.job
	if j.Rules.Schedule.Freeze {
		return noHeat // a freezer has no heater
	}
	top, air := j.Plan.Target(), c.air()
	half := c.st.Differential / 2
	j.Effective += controller.Difference(int64(c.st.RampPerHour) / 3600 * min(dt, 5*time.Second).Milliseconds() / 1000)
	// Air that fell far behind (a power cut, a door) is warmed again at the same
	// pace.
	j.Effective = min(j.Effective, controller.Difference(air)+behindMost)
	return min(physic.Temperature(j.Effective)+physic.Temperature(half), top)
}

// hottest is the hottest good reading.
func (c *chamber) hottest() (t physic.Temperature) {
	for _, r := range c.read {
		if r.Good {
			t = max(t, r.Value)
		}
	}
	return t
}

// safe says whether every probe is at a temperature at which the chamber may be
// opened. A probe that says nothing is not safe.
func (c *chamber) safe() bool {
	for _, r := range c.values {
		if !c.opens(r) {
			return false
		}
	}
	return true
}

// opens says whether one place is at a temperature at which the chamber may be
// opened.
func (c *chamber) opens(r controller.Reading) bool {
	switch {
	case r.Quality != controller.Good:
		return false
	case c.job.Rules.Schedule.Freeze:
		return r.Value > safeCold
	}
	return r.Value < safeHot
}

// end ends the treatment: why it failed, or empty for the judge to say.
func (c *chamber) end(why string) journal.Receipt {
	j, v := c.job, c.judge.Verdict()
	j.Result, j.Reason = treatment.Fail, v.Reason
	if v.Held {
		j.Result = treatment.Pass
	} else if why != "" {
		j.Reason = why + "; " + v.Reason
	}
	j.Stage, j.EndedAt = Ending, j.At
	return c.keep("over: " + j.Result.String())
}

// keep puts the treatment into the store, and a step of it into the journal
// when it is one.
func (c *chamber) keep(step string) journal.Receipt {
	r := c.desk.o.Record
	k := kept{Count: c.count}
	if c.job != nil {
		c.job.Judge = c.judge.Copy()
		data, err := c.job.pack()
		if err != nil {
			c.desk.o.Tell(c.st.Name, fmt.Errorf("treatment %s cannot be kept: %w", c.job.Number, err))
			return journal.Receipt{}
		}
		k.Job = data
		c.savedAt = c.job.At
	}
	data, err := json.Marshal(k)
	if err != nil {
		c.desk.o.Tell(c.st.Name, err)
		return journal.Receipt{}
	}
	receipt := r.SaveState(key(c.st.Name), data)
	if step != "" && c.job != nil {
		return c.write(c.document(step))
	}
	return receipt
}

// write puts one step into the journal.
func (c *chamber) write(doc map[string]any) journal.Receipt {
	data, err := json.Marshal(doc)
	if err != nil {
		c.desk.o.Tell(c.st.Name, err)
		return journal.Receipt{}
	}
	return c.desk.o.Record.Document(c.st.Name, "treatment", c.job.Number, data)
}

// document is one step as the journal keeps it.
func (c *chamber) document(step string) map[string]any {
	j := c.job
	doc := map[string]any{
		"step": step, "at_s": j.At.Seconds(), "stage": j.Stage.Words(j.Rules.Schedule.Freeze), "schedule": j.Rules.Schedule.Name,
		"result": j.Result.String(), "reason": j.Reason, "longest_together_s": c.judge.Longest.Length().Seconds(), "restarts": c.judge.Restarted,
	}
	doc["says"] = step + ", " + doc["stage"].(string)
	if j.Reason != "" {
		doc["says"] = step + ": " + j.Reason
	}
	switch j.Stage {
	case Warning:
		doc["order"], doc["typed"], doc["plan"] = j.Order, j.Typed, j.Plan
	case Ending:
		// The whole record as far as it goes, for a treatment that nobody
		// releases; the release makes it anew.
		doc["record"] = c.record(Release{}, nil, nil)
	}
	return doc
}
