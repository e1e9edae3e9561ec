package treat

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"strings"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/sizing"
)

// Options is what a Desk is made of.
type Options struct {
	Config  *config.Config
	Record  journal.Recorder
	Version string
	// Saved is what the store holds from before; the entries of treatments are
	// found by their keys. Trouble with one is told and its treatment is lost.
	Saved map[string][]byte
	Tell  func(station string, err error)
	// Unplaced names animals of running cases whose place nobody named; nil means
	// that no cases run here.
	Unplaced func() []string
	// Code makes what a person must type anew each time; nil takes four random
	// digits.
	Code func() string
}

// Desk is where treatments are announced, started, stopped and released. Its
// methods may be called from any goroutine.
type Desk struct {
	o        Options
	chambers []*chamber
}

// chamber is one chamber. It is a loop.Driver.
type chamber struct {
	desk  *Desk
	index int
	st    *config.Station

	mu        sync.Mutex
	job       *job // nil while none is under way
	judge     *treatment.Judge
	proposed  *job // announced and not started
	code      string
	codeUntil time.Duration
	count     int    // treatments that this chamber has begun
	last      string // the record of the last one that was released
	lastNo    string
	lost      string // why a treatment before could not be taken up again; empty when none was

	begun   bool
	from    time.Duration // job.At at base
	base    time.Duration // on the loop's clock
	looked  loop.Looked
	values  []controller.Reading
	savedAt time.Duration
	aired   bool
	asked   bool // for the buzzer, in the tick before
	mute    bool // it was asked for and did not sound
	door    bool
	off     controller.Cause
	dropped []bool
	doubted []bool
	read    []treatment.Reading
	spoke   []time.Duration // on the treatment's clock, when each probe last gave a good reading
}

// key is where a chamber's treatment is kept in the store of states.
func key(station string) string { return "treatment of " + station }

// kept is what the store holds of a chamber.
type kept struct {
	Count int    `json:"count"`
	Job   []byte `json:"job"` // nil when none is under way
}

// NewDesk makes a desk for the chambers of a configuration.
func NewDesk(o Options) *Desk {
	d := &Desk{o: o}
	if d.o.Code == nil {
		d.o.Code = fourDigits
	}
	if d.o.Tell == nil {
		d.o.Tell = func(string, error) {}
	}
	for i := range o.Config.Stations {
		st := &o.Config.Stations[i]
		if st.Kind != controller.Chamber {
			continue
		}
		c := &chamber{desk: d, index: i, st: st}
		if data, ok := o.Saved[key(st.Name)]; ok {
			if err := c.restore(data); err != nil {
				d.o.Tell(st.Name, err)
				c.lose(err)
			}
		}
		d.chambers = append(d.chambers, c)
	}
	return d
}

func fourDigits() string {
	n, err := rand.Int(rand.Reader, big.NewInt(9000))
	if err != nil {
		panic("no random numbers: " + err.Error()) // never on Linux
	}
	return fmt.Sprint(1000 + n.Int64())
}

// Driver is what the loop asks for the station; nil when it is no chamber.
func (d *Desk) Driver(station string) loop.Driver {
	if c := d.chamber(station); c != nil {
		return c
	}
	return nil
}

func (d *Desk) chamber(station string) *chamber {
	for _, c := range d.chambers {
		if c.st.Name == station {
			return c
		}
	}
	return nil
}

// find is the chamber of that name, or what to write instead.
func (d *Desk) find(station string) (*chamber, error) {
	if c := d.chamber(station); c != nil {
		return c, nil
	}
	var names []string
	for _, c := range d.chambers {
		names = append(names, c.st.Name)
	}
	if d.o.Config.Station(station) >= 0 {
		return nil, fmt.Errorf("%s is a tub: a treatment runs in a chamber, and never where an animal lives", station)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("there is no chamber %q: the configuration has none", station)
	}
	return nil, fmt.Errorf("there is no chamber %q: write one of %s", station, strings.Join(names, ", "))
}

// restore takes up what was kept. The length of the stop is found out at the
// first tick, which brings a clock.
func (c *chamber) restore(data []byte) error {
	var k kept
	if err := json.Unmarshal(data, &k); err != nil {
		return fmt.Errorf("the kept treatment cannot be read: %w", err)
	}
	c.count = k.Count
	if k.Job == nil {
		return nil
	}
	j, err := unpack(k.Job)
	if err != nil {
		return err
	}
	if len(j.Rules.Probes) != len(c.st.Probes) {
		return fmt.Errorf("treatment %s had %d probes and the configuration has %d: it is ended", j.Number, len(j.Rules.Probes), len(c.st.Probes))
	}
	for i := range j.Rules.Probes {
		// What one probe held says nothing of another.
		if rom, _, _ := strings.Cut(j.Rules.Probes[i].Name, " "); rom != c.st.Probes[i].ROM {
			return fmt.Errorf("treatment %s was judged by %s and the configuration has %s in its place: it is ended", j.Number, rom, c.st.Probes[i].ROM)
		}
	}
	judge, err := treatment.Resume(j.Rules, j.Judge)
	if err != nil {
		return fmt.Errorf("treatment %s: %w", j.Number, err)
	}
	c.job, c.judge = j, judge
	c.prepare()
	return nil
}

// lose writes down that a treatment which was under way cannot be taken up
// again. What it treated counts as not treated.
func (c *chamber) lose(why error) {
	c.lost = fmt.Sprintf("a treatment before is a FAIL, because it could not be taken up again: %v. Mind that the chamber may be hot or cold", why)
	if c.desk.o.Record == nil {
		return
	}
	data, err := json.Marshal(map[string]any{"step": "lost", "result": treatment.Fail.String(), "reason": why.Error()})
	if err == nil {
		c.desk.o.Record.Document(c.st.Name, "treatment", fmt.Sprintf("%s-%04d", c.st.Name, c.count), data)
	}
	c.keep("")
}

// prepare makes room for what is followed in each tick.
func (c *chamber) prepare() {
	n := len(c.st.Probes)
	c.spoke = make([]time.Duration, n)
	c.dropped, c.doubted, c.read = make([]bool, n), make([]bool, n), make([]treatment.Reading, n)
}

// Challenge is what an announcement answers: the plan, and what a person must
// type to start.
type Challenge struct {
	Number string       `json:"number"`
	Type   string       `json:"type"` // exactly this line
	Plan   *sizing.Plan `json:"plan"`
}

// challengeFor is how long it stands.
const challengeFor = 10 * time.Minute

// everyAnimalHasAPlace refuses while nobody said where an animal of a running
// case is. It is asked again at the start: a case may begin in between.
func (d *Desk) everyAnimalHasAPlace() error {
	if d.o.Unplaced == nil {
		return nil
	}
	if names := d.o.Unplaced(); len(names) > 0 {
		return fmt.Errorf("nobody has said where %s is now: name its place first (soakwarden stage STATION place --text WHERE)", strings.Join(names, ", "))
	}
	return nil
}

// Announce checks an order and plans it. Nothing happens at the chamber.
func (d *Desk) Announce(o Order) (*Challenge, error) {
	c, err := d.find(o.Station)
	if err != nil {
		return nil, err
	}
	o.Operator = strings.TrimSpace(o.Operator)
	if err := o.check(); err != nil {
		return nil, err
	}
	if err := d.everyAnimalHasAPlace(); err != nil {
		return nil, err
	}
	s, err := o.schedule(c.st.Chamber.Freeze)
	if err != nil {
		return nil, err
	}
	gap, err := o.gap()
	if err != nil {
		return nil, err
	}
	start, err := c.ready()
	if err != nil {
		return nil, err
	}
	if !s.Freeze && d.o.Config.Notify.Buzzer == "" {
		return nil, fmt.Errorf("nothing would sound before %s heats: name an output as buzzer in the configuration ([notify] buzzer = ...)", c.st.Name)
	}
	p, err := sizing.PlanTreatment(c.st, s, start)
	if err != nil {
		return nil, err
	}
	if !p.Fits {
		return nil, fmt.Errorf("the plan does not fit: %s", strings.Join(p.Reasons, "; "))
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job != nil {
		return nil, c.busy()
	}
	c.proposed = &job{Order: o, Plan: p, Rules: rules(c.st, s, p, gap), CurveStep: time.Minute}
	c.code, c.codeUntil = d.o.Code(), c.looked.Now+challengeFor
	c.proposed.Number = fmt.Sprintf("%s-%04d", c.st.Name, c.count+1)
	return &Challenge{Number: c.proposed.Number, Type: c.sentence(), Plan: p}, nil
}

// sentence is what must be typed.
func (c *chamber) sentence() string {
	return fmt.Sprintf("nothing alive is inside %s %s", c.st.Name, c.code)
}

func (c *chamber) busy() error {
	return fmt.Errorf("treatment %s is in %s (%s): stop it, or release it first", c.job.Number, c.st.Name, c.job.Stage.Words(c.job.Rules.Schedule.Freeze))
}

// ready says what keeps a treatment from being announced now, and the
// temperature of the load.
func (c *chamber) ready() (start float64, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job != nil {
		return 0, c.busy()
	}
	if !c.begun {
		return 0, errors.New("starting: no tick was run yet; ask again in a moment")
	}
	if c.st.DoorInput != "" && c.looked.Health.DoorOpen {
		return 0, fmt.Errorf("the door of %s is open: look once more that nothing alive is inside, and close it", c.st.Name)
	}
	if c.looked.Stopped {
		return 0, fmt.Errorf("%s is out of service", c.st.Name)
	}
	if c.looked.Latched {
		return 0, fmt.Errorf("%s is latched on %q: find out why and reset it first", c.st.Name, c.looked.Reason)
	}
	if c.st.AirflowInput != "" && c.looked.Health.AirflowSeen && !c.looked.Last.Fan {
		return 0, fmt.Errorf("the airflow input of %s says that air moves while its fan is off: wait a minute, then look whether its contact sticks or the fan's relay is welded", c.st.Name)
	}
	sum, n := 0.0, 0
	for i, p := range c.st.Probes {
		r := c.values[i]
		if r.Quality != controller.Good {
			return 0, fmt.Errorf("probe %s gives no good reading: look at its plug, or take it out of the configuration", p.ROM)
		}
		if p.Role == controller.RoleCore {
			sum, n = sum+r.Value.Celsius(), n+1
		}
	}
	if n == 0 {
		return 0, fmt.Errorf("%s has no core probe: air alone proves nothing", c.st.Name)
	}
	return min(max(sum/float64(n), -39), 59), nil
}

// rules are those of the judge, with what the plan expects of each probe.
func rules(st *config.Station, s treatment.Schedule, p *sizing.Plan, gap time.Duration) treatment.Rules {
	r := treatment.Rules{Schedule: s, LongestGap: gap, Lethality: treatment.Usual()}
	counted := 0
	for i := range st.Probes {
		probe, plan := &st.Probes[i], &p.Probes[i]
		out := treatment.Probe{Name: probe.ROM, Place: treatment.Air, Uncertainty: probe.Calibration.Uncertainty}
		if probe.Piece != "" {
			out.Name = fmt.Sprintf("%s (%s of %s)", probe.ROM, plan.Role, probe.Piece)
		}
		switch probe.Role {
		case controller.RoleSurface:
			out.Place = treatment.Surface
			counted++
		case controller.RoleCore:
			out.Place = treatment.Core
			counted++
			if plan.There != nil {
				out.Planned = time.Duration(*plan.There) * time.Second
			}
			out.Lag, out.Steepest = difference(plan.LagK), difference(plan.SteepestK)
		}
		r.Probes = append(r.Probes, out)
	}
	r.Required = min(counted, required)
	return r
}

// required is how many probes must hold to the end; only those that led may be
// dropped over it.
const required = 2

func difference(k float64) controller.Difference { return controller.Difference(k * 1e9) }

// Start begins a treatment that was announced. typed must be the sentence of
// its challenge, letter for letter.
func (d *Desk) Start(station, typed string) (number string, receipt journal.Receipt, err error) {
	c, err := d.find(station)
	if err != nil {
		return "", receipt, err
	}
	if _, err := c.ready(); err != nil {
		return "", receipt, err
	}
	if err := d.everyAnimalHasAPlace(); err != nil {
		return "", receipt, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.proposed == nil || c.looked.Now > c.codeUntil:
		c.proposed = nil
		return "", receipt, fmt.Errorf("no treatment of %s is announced: announce it first; an announcement stands for %s", station, challengeFor)
	case typed != c.sentence():
		c.code = d.o.Code() // whoever guesses does not guess twice
		c.proposed = nil
		return "", receipt, fmt.Errorf("%q is not what had to be typed: nothing was started. Look inside, and announce it anew", typed)
	}
	judge, err := treatment.NewJudge(c.proposed.Rules)
	if err != nil {
		return "", receipt, err
	}
	j := c.proposed
	c.proposed = nil
	j.Stage, j.Typed, j.Started = Warning, typed, c.looked.Wall
	j.Untrusted = !c.looked.Trusted
	c.lost = ""
	c.count++
	c.job, c.judge = j, judge
	c.base, c.from = c.looked.Now, 0
	c.aired, c.asked, c.mute = false, false, false
	c.prepare()
	d.o.Record.GapRule(station, j.Rules.LongestGap)
	return j.Number, c.keep("started"), nil
}

// Stop ends a treatment: heat off, FAIL unless its schedule was held before.
func (d *Desk) Stop(station, who, why string) (journal.Receipt, error) {
	c, err := d.find(station)
	if err != nil {
		return journal.Receipt{}, err
	}
	if err := errors.Join(words("who stops it", who, true), words("why", why, false)); err != nil {
		return journal.Receipt{}, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job == nil || c.job.Stage >= Ending {
		return journal.Receipt{}, fmt.Errorf("no treatment is under way in %s", station)
	}
	text := "stopped by " + who
	if why != "" {
		text += ": " + why
	}
	c.job.deviate("%s", text)
	return c.end(text), nil
}
