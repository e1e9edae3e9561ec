package treat

import (
	"fmt"
	"strings"

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
	c.mu.Lock()
	defer c.mu.Unlock()
	j := c.job
	switch {
	case j == nil:
		return nil, none, fmt.Errorf("no treatment is in %s", r.Station)
	case j.Stage < Ending:
		return nil, none, fmt.Errorf("treatment %s is under way (%s): stop it first", j.Number, j.Stage.Words(j.Rules.Schedule.Freeze))
	case !c.safe():
		return nil, none, fmt.Errorf("%s is not safe to open: it waits for %s", r.Station, c.unsafe())
	}
	for i := range shifts {
		if s := &shifts[i]; s.bad {
			j.deviate("%s shifted by %.2f K, more than its uncertainty", s.ROM, float64(s.by)/1e9)
			j.Result = treatment.Fail
			j.Reason = fmt.Sprintf("%s shifted by %.2f K between the calibrations, more than its uncertainty; %s", s.ROM, float64(s.by)/1e9, j.Reason)
		}
	}
	j.Stage = Closed
	text := c.record(r, shifts)
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
