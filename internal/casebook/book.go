package casebook

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

// keyBegins is what the key of a saved case begins with; no station's key does.
const keyBegins = "case "

// saveEvery is how much of a running case a power cut may forget.
const saveEvery = 10 * time.Minute

// Moment is now on every clock that may outlive the program.
type Moment struct {
	Boot    string        // name of this run of the kernel, empty when it has none
	Up      time.Duration // time since that boot
	Wall    time.Time     // UTC
	Trusted bool          // the wall clock was set by something trustworthy
}

// Tub is what the book knows of a station.
type Tub struct {
	Name       string
	Species    string
	Upper      physic.Temperature
	AlwaysSeen bool    // it heats only while a person is present
	Volume     float64 // L
}

// Budget is what the heat budget of a station says.
type Budget struct {
	Verdict     string  // fits, needs cut-out, too weak or dangerous; empty when not known
	Evaporation float64 // L a day, 0 when not known
}

// Receipt says when something is on disk.
type Receipt interface {
	Done() <-chan struct{}
	Err() error
}

// Options is what a Book is made of. All but Released and Zone are required.
type Options struct {
	Tubs []Tub
	// Saved are the states that SaveState kept in earlier runs; keys of others
	// are left alone.
	Saved map[string][]byte
	// SaveState keeps a state under a key and does not wait.
	SaveState func(key string, state []byte) Receipt
	// Document keeps a value of the topic "case" and does not wait.
	Document func(station, id string, doc []byte) Receipt
	// Act hands an act to the loop and waits for its answer.
	Act func(loop.ActRequest) (loop.Answer, error)
	// Latest is the newest snapshot, nil before the first tick.
	Latest func() *loop.Snapshot
	Moment func() Moment
	// Budget works out the heat budget of a station, which may take a second.
	Budget func(station string) Budget
	// Released says whether the treatment of that number passed and was
	// released. Nil: none is known.
	Released func(number string) bool
	Zone     *time.Location // of the people; nil is the local one
}

// Book keeps the cases.
type Book struct {
	o      Options
	orders sync.Mutex // one order after another

	sizes sync.Mutex
	sized map[string]Budget

	mu    sync.Mutex
	cases []*running // in the order of their beginning
	heard time.Duration
	first bool // something was heard
}

// running is one case with what the book knows beside it.
type running struct {
	c       procedure.Case
	n       int // its number at the station
	saved   time.Duration
	tripped string // what was latched when last looked, empty for nothing
	bells   [procedure.MatterCount]bell
	unsure  outage
}

// outage is one whose length nobody knows yet: the last moment before it by a
// clock that was trusted, and how old the case was then. The zero value is none.
type outage struct {
	At  time.Time     `json:"at,omitzero"`
	Age time.Duration `json:"age,omitempty"`
}

// savedCase is how a case is kept.
type savedCase struct {
	Boot    string          `json:"boot"`
	Up      time.Duration   `json:"up"`
	Wall    time.Time       `json:"wall"`
	Trusted bool            `json:"trusted"`
	N       int             `json:"n"`
	Bells   []savedBell     `json:"alarms,omitempty"`
	Tripped string          `json:"tripped,omitempty"`
	Unsure  outage          `json:"unsure,omitzero"`
	Case    json.RawMessage `json:"case"`
}

// Open restores the cases of earlier runs. A case that cannot be restored is
// left out and named in the error; the book works nevertheless.
func Open(o Options) (*Book, error) {
	if o.Zone == nil {
		o.Zone = time.Local
	}
	b := &Book{o: o, sized: map[string]Budget{}}
	var keys []string
	for key := range o.Saved {
		if strings.HasPrefix(key, keyBegins) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	var errs []error
	for _, key := range keys {
		if err := b.restore(o.Saved[key]); err != nil {
			errs = append(errs, fmt.Errorf("%s cannot be restored: %w; look at the animal, and begin it anew", key, err))
		}
	}
	slices.SortFunc(b.cases, func(x, y *running) int {
		if d := strings.Compare(x.c.View().Station, y.c.View().Station); d != 0 {
			return d
		}
		return x.n - y.n
	})
	return b, errors.Join(errs...)
}

func (b *Book) restore(data []byte) error {
	var s savedCase
	if err := json.Unmarshal(data, &s); err != nil {
		return err
	}
	r := &running{n: s.N, tripped: s.Tripped, unsure: s.Unsure}
	if err := r.c.Restore(s.Case); err != nil {
		return err
	}
	r.restoreBells(s.Bells)
	before := r.c.View()
	off := b.away(&s)
	if off < 0 && s.Trusted {
		r.unsure = outage{s.Wall, before.Age}
	}
	r.c.Resume(off)
	b.cases = append(b.cases, r)
	if after := r.c.View(); !before.Stage.Over() && (off < 0 || off > time.Minute) {
		says := "The program starts; it was off for an unknown time."
		if off >= 0 {
			says = "The program starts; its last word was " + procedure.Clock(off) + " ago."
		}
		b.write(r, entryOf{Order: "restart", Says: says + pauseSays(after.Pause)})
	}
	return nil
}

// away is how long the program was not running; negative when nobody knows.
func (b *Book) away(s *savedCase) time.Duration {
	now := b.o.Moment()
	switch {
	case now.Boot != "" && now.Boot == s.Boot && now.Up >= s.Up:
		return now.Up - s.Up
	case now.Trusted && s.Trusted && !now.Wall.Before(s.Wall):
		return now.Wall.Sub(s.Wall)
	}
	return -1
}

func pauseSays(p procedure.Pause) string {
	if p == procedure.NoPause {
		return ""
	}
	return " " + p.Say()
}

// save keeps a case. The lock is held.
func (b *Book) save(r *running) Receipt {
	now := b.o.Moment()
	data, err := json.Marshal(savedCase{now.Boot, now.Up, now.Wall, now.Trusted, r.n, b.keepBells(r), r.tripped, r.unsure, r.c.Save()})
	if err != nil {
		return failed{err}
	}
	r.saved = b.heard
	return b.o.SaveState(keyBegins+r.c.ID(), data)
}

// failed is the receipt of what could not even be tried.
type failed struct{ err error }

func (f failed) Done() <-chan struct{} { c := make(chan struct{}); close(c); return c }
func (f failed) Err() error            { return f.err }

// Hear lets the cases follow their stations. Call it about once a second, from
// any one goroutine that is not the tick's.
func (b *Book) Hear(snap *loop.Snapshot) {
	if snap == nil {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	passed := snap.Now - b.heard
	if !b.first || passed < 0 {
		passed = 0
	}
	b.first, b.heard = true, snap.Now
	for _, r := range b.cases {
		r.c.Pass(passed)
		b.learn(r)
		if v := stationView(snap, r.c.Tub()); v != nil && atStation(r.c.Stage()) {
			b.follow(r, v)
		}
		if b.ring(r, false) {
			b.save(r)
		}
		b.keepNow(r)
	}
}

// learn answers the question how long the power was off, once the wall clock
// was set: a board without a clock of its own starts without the time and gets
// it from the network a little later.
func (b *Book) learn(r *running) {
	v, now := r.c.View(), b.o.Moment()
	switch {
	case r.unsure == outage{}:
		return
	case v.Pause != procedure.AskOutage:
		r.unsure = outage{}
		return
	case !now.Trusted:
		return
	}
	// What the case has grown older by since then, it knows already.
	off := now.Wall.Sub(r.unsure.At) - (v.Age - r.unsure.Age)
	if !r.c.Learn(off) {
		return
	}
	r.unsure = outage{}
	b.write(r, entryOf{Order: "restart", Says: "The clock is set: the program was off for " + procedure.Clock(off) + "." + pauseSays(r.c.View().Pause)})
	b.save(r)
}

func (b *Book) keepNow(r *running) {
	if !r.c.Stage().Over() && b.heard-r.saved >= saveEvery {
		b.save(r)
	}
}

// follow notes what the program itself sees: ready, a trip, its reset.
func (b *Book) follow(r *running, v *loop.StationView) {
	if cause := latched(v); cause != r.tripped {
		b.write(r, entryOf{Order: "trip", Says: tripSays(r.tripped, cause)})
		r.tripped = cause
		b.save(r)
	}
	if r.c.See(seen(v)) {
		says := "The tub is ready: in band for ten minutes."
		if r.c.Stage() != procedure.Ready {
			says = "The tub is not ready any more; it warms again."
		}
		b.write(r, entryOf{Order: "seen", Says: says})
		b.save(r)
	}
}

// tripSays tells what was latched before and is now.
func tripSays(before, now string) string {
	if now == "" {
		return "The trip was reset: " + before + "."
	}
	for _, name := range strings.Split(now, ", ") {
		if !slices.Contains(strings.Split(before, ", "), name) {
			return "The station tripped: " + now + ". Heat is off. Lift the snake out, dry box, look."
		}
	}
	return "A part of the trip was reset; still held: " + now + "."
}

func seen(v *loop.StationView) procedure.Station {
	return procedure.Station{Ready: v.ReadyAt != 0, Tripped: latched(v) != "", MayBeIn: v.AnimalIn}
}

// latched names what is latched at a station.
func latched(v *loop.StationView) string {
	var names []string
	for _, a := range v.Alarms {
		if a.Latched {
			names = append(names, a.Cause.Rule().Name)
		}
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

func stationView(s *loop.Snapshot, name string) *loop.StationView {
	for i := range s.Stations {
		if s.Stations[i].Name == name && s.Stations[i].Kind == controller.Tub {
			return &s.Stations[i]
		}
	}
	return nil
}

// budget asks once for each station. It is never called with mu held.
func (b *Book) budget(station string) Budget {
	b.sizes.Lock()
	defer b.sizes.Unlock()
	s, known := b.sized[station]
	if !known {
		s = b.o.Budget(station)
		b.sized[station] = s
	}
	return s
}

// atStation says whether a case in that stage has its tub.
func atStation(s procedure.Stage) bool {
	return s.AtTub() || s == procedure.DryRest || s == procedure.Rinse
}

// at is the case that has the tub of a station, nil when none has. The lock is
// held.
func (b *Book) at(station string) *running {
	for _, r := range b.cases {
		if v := r.c.Stage(); atStation(v) && r.c.Tub() == station {
			return r
		}
	}
	return nil
}

// find looks for a case by its number, or by the station: the one that has the
// tub, else the only one that is not over. The lock is held.
func (b *Book) find(name string) (*running, error) {
	if r := b.at(name); r != nil {
		return r, nil
	}
	var open []*running
	var ids []string
	for _, r := range b.cases {
		v := r.c.View()
		if v.ID == name {
			return r, nil
		}
		if v.Station == name && !v.Stage.Over() {
			open = append(open, r)
			ids = append(ids, v.ID)
		}
	}
	switch len(open) {
	case 1:
		return open[0], nil
	case 0:
		return nil, fmt.Errorf("no case runs at %q: begin one (soakwarden case begin), or write the number of one that soakwarden case list names", name)
	}
	return nil, fmt.Errorf("several cases belong to %q: write the number of one of %s", name, strings.Join(ids, ", "))
}

// Close saves every case, for an orderly end.
func (b *Book) Close() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range b.cases {
		if !r.c.Stage().Over() {
			b.save(r)
		}
	}
}

// Unplaced names the animals whose place nobody named: no treatment begins
// before that.
func (b *Book) Unplaced() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var all []*procedure.Case
	for _, r := range b.cases {
		all = append(all, &r.c)
	}
	return procedure.Unplaced(all)
}
