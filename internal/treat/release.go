package treat

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
)

// Release is what a person says who opens a chamber after a treatment.
type Release struct {
	Station  string  `json:"station"`
	Who      string  `json:"who"`
	Reviewer string  `json:"reviewer,omitempty"`
	Label    string  `json:"label,omitempty"`   // on the load
	Storage  string  `json:"storage,omitempty"` // where it is kept from now on
	After    []After `json:"after,omitempty"`   // calibrations after the treatment
	Hand     []Hand  `json:"hand,omitempty"`    // for probes that are dead
}

// Hand is what a person read on a hand thermometer who opened the chamber, at
// the place of a probe that is dead.
type Hand struct {
	ROM  string `json:"rom"`
	Read string `json:"read"` // "24.5C"
}

// After is one calibration after a treatment: what has to be added to the
// probe now, as before.
type After struct {
	ROM    string `json:"rom"`
	Offset string `json:"offset"` // "+0.15K"
	Method string `json:"method"`
}

// Released is what a release answers.
type Released struct {
	Number string `json:"number"`
	Result string `json:"result"`
	Reason string `json:"reason"`
	Record string `json:"record"` // the text
}

// shift is a calibration after with what it says.
type shift struct {
	After
	by  controller.Difference
	bad bool // by more than the uncertainty
}

// Release closes a treatment at a safe temperature and makes its record.
func (d *Desk) Release(r Release) (*Released, journal.Receipt, error) {
	var none journal.Receipt
	c, err := d.find(r.Station)
	if err != nil {
		return nil, none, err
	}
	for _, w := range []struct {
		what, text string
		needed     bool
	}{{"the name of who releases it", r.Who, true}, {"the reviewer", r.Reviewer, false}, {"the label", r.Label, false}, {"the storage", r.Storage, false}} {
		if err := words(w.what, w.text, w.needed); err != nil {
			return nil, none, err
		}
	}
	shifts, err := c.shifts(r.After)
	if err != nil {
		return nil, none, err
	}
	hand, err := c.hand(r.Hand)
	if err != nil {
		return nil, none, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	j := c.job
	switch {
	case j == nil:
		return nil, none, fmt.Errorf("no treatment is in %s", r.Station)
	case j.Stage < Ending:
		return nil, none, fmt.Errorf("treatment %s is under way (%s): stop it first", j.Number, j.Stage.Words(j.Rules.Schedule.Freeze))
	case len(hand) > 0:
		if err := c.safeByHand(hand); err != nil {
			return nil, none, err
		}
	case !c.safe():
		return nil, none, fmt.Errorf("%s is not safe to open: it waits for %s", r.Station, c.unsafe())
	}
	for i, p := range c.st.Probes {
		if t, ok := hand[i]; ok {
			j.deviate("%s gave no reading at the release: %s opened the chamber and read %s there on a hand thermometer", p.ROM, r.Who, treatment.Words(t))
		}
	}
	for i := range shifts {
		if s := &shifts[i]; s.bad {
			j.deviate("%s shifted by %.2f K, more than its uncertainty", s.ROM, float64(s.by)/1e9)
			j.Result = treatment.Fail
			j.Reason = fmt.Sprintf("%s shifted by %.2f K between the calibrations, more than its uncertainty; %s", s.ROM, float64(s.by)/1e9, j.Reason)
		}
	}
	j.Stage = Closed
	text := c.record(r, shifts, hand)
	out := &Released{Number: j.Number, Result: j.Result.String(), Reason: j.Reason, Record: text}
	c.last, c.lastNo = text, j.Number
	doc := c.document("released")
	doc["release"], doc["record"] = r, text
	receipt := c.write(doc)
	c.job, c.judge = nil, nil
	c.desk.o.Record.GapRule(c.st.Name, 0)
	c.keep("")
	return out, receipt, nil
}

// unsafe names the first probe that keeps the chamber shut.
func (c *chamber) unsafe() string {
	stage := c.job.Stage
	defer func() { c.job.Stage = stage }()
	c.job.Stage = Ending
	return c.waits()
}

// deadAfter is how long a probe says nothing before a hand thermometer may
// speak for it: one that flickers is no dead one.
const deadAfter = time.Minute

// hand reads what was measured by hand, by the index of the probe.
func (c *chamber) hand(list []Hand) (map[int]physic.Temperature, error) {
	out := map[int]physic.Temperature{}
	for _, h := range list {
		i := slices.IndexFunc(c.st.Probes, func(p config.Probe) bool { return strings.EqualFold(p.ROM, h.ROM) })
		if i < 0 {
			return nil, fmt.Errorf("by hand: %s has no probe %q", c.st.Name, h.ROM)
		}
		t, err := config.ParseTemperature(strings.TrimSpace(h.Read))
		if err != nil {
			return nil, fmt.Errorf("by hand at %s: %w", h.ROM, err)
		}
		if c := t.Celsius(); c < -40 || c > 100 {
			return nil, fmt.Errorf("by hand at %s: %s is no reading of a chamber: write −40 to 100 °C", h.ROM, treatment.Words(t))
		}
		if _, twice := out[i]; twice {
			return nil, fmt.Errorf("by hand: %s is named twice", h.ROM)
		}
		out[i] = t
	}
	return out, nil
}

// safeByHand says what keeps a chamber shut of which some probes are dead. What
// a probe says itself no hand overrules.
func (c *chamber) safeByHand(hand map[int]physic.Temperature) error {
	for i, p := range c.st.Probes {
		if _, by := hand[i]; by && (c.values[i].Quality == controller.Good || c.job.At-c.spoke[i] < deadAfter) {
			return fmt.Errorf("probe %s speaks, or spoke less than a minute ago: a hand thermometer speaks only for a dead one", p.ROM)
		}
	}
	for i, p := range c.st.Probes {
		r := c.values[i]
		if t, by := hand[i]; by {
			r = controller.Reading{Value: t, Quality: controller.Good}
		}
		switch {
		case c.opens(r):
		case r.Quality != controller.Good:
			return fmt.Errorf("%s is not safe to open: %s gives no reading either; %s", c.st.Name, p.ROM, byHand(c.job.Rules.Schedule.Freeze, p.ROM))
		default:
			return fmt.Errorf("%s is not safe to open: %s at %s", c.st.Name, treatment.Words(r.Value), p.ROM)
		}
	}
	return nil
}

// shifts reads the calibrations after.
func (c *chamber) shifts(list []After) ([]shift, error) {
	var out []shift
	for _, a := range list {
		found := false
		for i := range c.st.Probes {
			p := &c.st.Probes[i]
			if !strings.EqualFold(p.ROM, a.ROM) {
				continue
			}
			found = true
			now, err := config.ParseDifference(strings.TrimSpace(a.Offset))
			if err != nil {
				return nil, fmt.Errorf("calibration of %s after: %w", a.ROM, err)
			}
			if err := words("the method of the calibration", a.Method, false); err != nil {
				return nil, err
			}
			by := now - p.Calibration.Offset
			out = append(out, shift{After: a, by: by, bad: max(by, -by) > p.Calibration.Uncertainty})
		}
		if !found {
			return nil, fmt.Errorf("calibration after: %s has no probe %q", c.st.Name, a.ROM)
		}
	}
	return out, nil
}

// Record is the text of the last treatment that was released; empty for none
// since the program started.
func (d *Desk) Record(station string) (number, text string, err error) {
	c, err := d.find(station)
	if err != nil {
		return "", "", err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.lastNo, c.last, nil
}
