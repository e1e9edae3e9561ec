package rehearsal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/BurntSushi/toml"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim/rig"
)

// Bounds of a scenario. A run of a year takes a minute; a longer one is
// more likely a mistyped unit.
const (
	shortestRun = time.Minute
	longestRun  = 366 * 24 * time.Hour
)

// EventKind is what somebody does in a scenario.
type EventKind string

// The kinds of event.
const (
	WaterChanged EventKind = "water changed"
	AnimalIn     EventKind = "animal in"
	AnimalOut    EventKind = "animal out"
	RoundDone    EventKind = "round done"
	LidOpened    EventKind = "lid opened"
	LidClosed    EventKind = "lid closed"

	TreatmentStarted  EventKind = "treatment started" // needs a schedule
	TreatmentStopped  EventKind = "treatment stopped"
	TreatmentReleased EventKind = "treatment released"
	DoorOpened        EventKind = "door opened"
	DoorClosed        EventKind = "door closed"
)

var eventKinds = []EventKind{
	WaterChanged, AnimalIn, AnimalOut, RoundDone, LidOpened, LidClosed,
	TreatmentStarted, TreatmentStopped, TreatmentReleased, DoorOpened, DoorClosed,
}

// Event is one thing that somebody does at a station.
type Event struct {
	At       time.Duration
	Kind     EventKind
	Target   string
	Water    physic.Temperature // of a water change; zero means lukewarm, at the set point
	Attended bool               // announced at the board first
	Schedule string             // of a treatment
}

// Scenario is one story to rehearse.
type Scenario struct {
	Name      string // of the file, without its ending
	Config    *config.Config
	Duration  time.Duration
	Seed      uint64
	Room      physic.Temperature // mean
	RoomSwing controller.Difference
	Trusted   bool // the board's clock is right, over a power cut too
	Faults    []rig.Fault
	Events    []Event
	// Drawn is the real bench of a run that a campaign drew; nil for one that is
	// near what the configuration says.
	Drawn *Drawn
}

// file is a scenario as it is written.
type file struct {
	Config    string      `toml:"config"`
	Duration  string      `toml:"duration"`
	Seed      int64       `toml:"seed"`
	Room      string      `toml:"room"`
	RoomSwing string      `toml:"room_swing"`
	Trusted   bool        `toml:"clock_trusted"`
	Drawn     *int64      `toml:"drawn"`
	Probes    string      `toml:"probes"`
	Nuisances bool        `toml:"nuisances"`
	Faults    []fileFault `toml:"fault"`
	Events    []fileEvent `toml:"event"`
}

type fileFault struct {
	At     string `toml:"at"`
	Until  string `toml:"until"`
	Kind   string `toml:"kind"`
	Target string `toml:"target"`
	Amount string `toml:"amount"`
}

type fileEvent struct {
	At       string `toml:"at"`
	Kind     string `toml:"kind"`
	Target   string `toml:"target"`
	Water    string `toml:"water"`
	Attended bool   `toml:"attended"`
	Schedule string `toml:"schedule"`
}

// LoadScenario reads a scenario and the configuration beside it. The error
// joins every mistake that was found.
func LoadScenario(path string) (*Scenario, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return ParseScenario(path, data, os.ReadFile)
}

// ParseScenario reads a scenario from memory; read opens the configuration.
func ParseScenario(path string, data []byte, read func(string) ([]byte, error)) (*Scenario, error) {
	var f file
	meta, err := toml.Decode(string(data), &f)
	if err != nil {
		var syntax toml.ParseError
		if errors.As(err, &syntax) {
			return nil, fmt.Errorf("%s:%d:%d: %s", path, syntax.Position.Line, syntax.Position.Col, syntax.Message)
		}
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	c := &checker{path: path, meta: meta}
	for _, key := range meta.Undecoded() {
		c.add("%s is not a key of a scenario: write config, duration, seed, room, room_swing, clock_trusted, drawn, probes, nuisances, [[fault]] or [[event]]", key)
	}
	s := &Scenario{Name: strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)), Seed: uint64(f.Seed)}
	if f.Seed < 0 {
		c.add("seed is %d: write 0 or more", f.Seed)
	}
	s.Config = c.config(f.Config, read)
	s.Duration = c.duration("duration", f.Duration, 24*time.Hour)
	if s.Duration < shortestRun || s.Duration > longestRun {
		c.add("duration is %s: write one from 1m to 366d", s.Duration)
	}
	s.Room = c.temperature("room", f.Room, physic.ZeroCelsius+20*physic.Kelvin)
	s.RoomSwing = c.difference("room_swing", f.RoomSwing, 0)
	if s.RoomSwing < 0 || s.RoomSwing > 20*controller.Kelvin {
		c.add("room_swing is %q: write one from 0K to 20K, from the mean to the peak", f.RoomSwing)
	}
	s.Trusted = f.Trusted
	c.drawn(&f, s)
	for i, ff := range f.Faults {
		s.Faults = append(s.Faults, c.fault(i, ff, s))
	}
	for i, fe := range f.Events {
		s.Events = append(s.Events, c.event(i, fe, s))
	}
	sort.SliceStable(s.Events, func(i, j int) bool { return s.Events[i].At < s.Events[j].At })
	if err := errors.Join(c.errs...); err != nil {
		return nil, err
	}
	return s, nil
}

// checker collects mistakes, so that all are told at once.
type checker struct {
	path string
	meta toml.MetaData
	errs []error
}

func (c *checker) add(format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf(c.path+": "+format, args...))
}

// drawn draws the real bench of a failing run again.
func (c *checker) drawn(f *file, s *Scenario) {
	if f.Drawn == nil {
		if f.Probes != "" || f.Nuisances {
			c.add("probes and nuisances belong to a scenario with drawn")
		}
		return
	}
	d, err := drawTub(uint64(*f.Drawn), ProbeSet(f.Probes))
	if err != nil {
		c.add("drawn: %v", err)
		return
	}
	if !f.Nuisances {
		d.Nuisances = rig.Nuisances{}
	}
	s.Drawn = d
}

func (c *checker) config(name string, read func(string) ([]byte, error)) *config.Config {
	if name == "" {
		c.add("config is missing: write the name of a configuration beside this file")
		return nil
	}
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(c.path), name)
	}
	data, err := read(path)
	if err != nil {
		c.add("config: %v", err)
		return nil
	}
	cfg, problems := config.Parse(path, data)
	for _, p := range problems {
		if p.Severity == config.Error {
			c.errs = append(c.errs, fmt.Errorf("%s:%d:%d: %s", path, p.Line, p.Column, p.Message))
		}
	}
	if cfg == nil && len(c.errs) == 0 {
		c.add("config %s cannot be used", name)
	}
	return cfg
}

func (c *checker) duration(what, text string, missing time.Duration) time.Duration {
	if text == "" {
		return missing
	}
	d, err := config.ParseDuration(text)
	if err != nil {
		c.add("%s: %v", what, err)
		return missing
	}
	return d
}

func (c *checker) temperature(what, text string, missing physic.Temperature) physic.Temperature {
	if text == "" {
		return missing
	}
	t, err := config.ParseTemperature(text)
	if err != nil {
		c.add("%s: %v", what, err)
	}
	return t
}

func (c *checker) difference(what, text string, missing controller.Difference) controller.Difference {
	if text == "" {
		return missing
	}
	d, err := config.ParseDifference(text)
	if err != nil {
		c.add("%s: %v", what, err)
	}
	return d
}

func (c *checker) fault(i int, ff fileFault, s *Scenario) rig.Fault {
	what := fmt.Sprintf("fault %d", i+1)
	f := rig.Fault{
		Kind: rig.FaultKind(ff.Kind), Target: ff.Target,
		At: c.duration(what+": at", ff.At, 0), Until: c.duration(what+": until", ff.Until, 0),
	}
	spec, err := f.Kind.Spec()
	if err != nil {
		c.add("%s: %v", what, err)
		return f
	}
	if ff.At == "" {
		c.add("%s: at is missing: write when it begins, such as at = \"2h\"", what)
	}
	c.amount(what, ff.Amount, spec, &f)
	if err := f.Check(); err != nil {
		c.add("%s: %v", what, err)
	} else if err := targetExists(s.Config, spec.Target, f.Target); err != nil {
		c.add("%s: %v", what, err)
	}
	return f
}

// ParseFault reads a fault that begins at once: its kind, target and amount as a
// scenario writes them.
func ParseFault(kind, target, amount string) (rig.Fault, error) {
	f := rig.Fault{Kind: rig.FaultKind(kind), Target: target}
	spec, err := f.Kind.Spec()
	if err != nil {
		return f, err
	}
	c := &checker{path: kind}
	c.amount("amount", amount, spec, &f)
	if err := errors.Join(c.errs...); err != nil {
		return f, err
	}
	return f, f.Check()
}

// amount reads the amount of a fault in the unit of its kind.
func (c *checker) amount(what, text string, spec rig.FaultSpec, f *rig.Fault) {
	text = strings.TrimSpace(text)
	switch {
	case spec.Unit == "" && text != "":
		c.add("%s: %s takes no amount: leave it out", what, spec.Kind)
	case spec.Unit == "":
	case spec.Kind == rig.ProbeOutOfWater:
		f.Where = text
		if text == "" {
			f.Where = "air"
		}
	case text == "":
		c.add("%s: %s needs an amount in %s", what, spec.Kind, spec.Unit)
	case spec.Unit == "s":
		f.Amount = c.duration(what+": amount", text, 0).Seconds()
	case spec.Unit == "K":
		f.Amount = float64(c.difference(what+": amount", text, 0)) / 1e9
	default:
		number, ok := strings.CutSuffix(text, spec.Unit)
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if !ok || err != nil {
			c.add("%s: amount %q: write a number with the unit %s", what, text, spec.Unit)
			return
		}
		f.Amount = v
	}
}

func (c *checker) event(i int, fe fileEvent, s *Scenario) Event {
	what := fmt.Sprintf("event %d", i+1)
	e := Event{
		At: c.duration(what+": at", fe.At, 0), Kind: EventKind(fe.Kind), Target: fe.Target, Attended: fe.Attended,
		Water: c.temperature(what+": water", fe.Water, 0), Schedule: fe.Schedule,
	}
	known := false
	names := make([]string, len(eventKinds))
	for i, k := range eventKinds {
		known = known || k == e.Kind
		names[i] = string(k)
	}
	switch {
	case !known:
		c.add("%s: no such event %q: write one of %s", what, fe.Kind, strings.Join(names, ", "))
	case fe.At == "":
		c.add("%s: at is missing: write when it happens, such as at = \"2h\"", what)
	case e.Kind != WaterChanged && fe.Water != "":
		c.add("%s: only a water change has a water temperature", what)
	case (e.Kind == TreatmentStarted) != (e.Schedule != ""):
		c.add("%s: %s and schedule belong together, such as schedule = \"core-56-30min\"", what, TreatmentStarted)
	case s.Config != nil && len(s.Config.Stations) == 1 && e.Target == "":
		e.Target = s.Config.Stations[0].Name
	default:
		if err := targetExists(s.Config, rig.AtStation, e.Target); err != nil {
			c.add("%s: %v", what, err)
		}
	}
	return e
}

// Roles are the roles of probes by the names that configurations use.
var Roles = map[string]controller.Role{
	"control": controller.RoleControl, "guard": controller.RoleGuard, "floor": controller.RoleFloor,
	"room": controller.RoleRoom, "core": controller.RoleCore, "surface": controller.RoleSurface, "air": controller.RoleAir,
}

// named are the probes of a station as a fault's target calls them.
func named(st *config.Station) []rig.Named {
	list := make([]rig.Named, len(st.Probes))
	for i, p := range st.Probes {
		list[i] = rig.Named{Role: p.Role, Address: p.Address}
	}
	return list
}

// ProbeNames are the names that a fault's target has for the probes of a
// station, in their order.
func ProbeNames(st *config.Station) []string { return rig.ProbeNames(named(st)) }

// targetExists says whether the bench has what a fault or event is aimed at.
func targetExists(cfg *config.Config, kind rig.TargetKind, target string) error {
	if cfg == nil {
		return nil // already told
	}
	switch kind {
	case rig.AtRelay:
		if cfg.RelayIndex(target) < 0 {
			return fmt.Errorf("the configuration has no relay %q", target)
		}
	case rig.AtBus:
		if _, ok := cfg.Bus(target); !ok {
			return fmt.Errorf("the configuration has no bus %q", target)
		}
	case rig.AtStation:
		if cfg.Station(target) < 0 {
			return fmt.Errorf("the configuration has no station %q", target)
		}
	case rig.AtStationPair:
		a, b, ok := strings.Cut(target, ",")
		if !ok {
			return fmt.Errorf("%q names no two stations: write them with a comma between, such as \"north,south\"", target)
		}
		for _, name := range []string{strings.TrimSpace(a), strings.TrimSpace(b)} {
			if cfg.Station(name) < 0 {
				return fmt.Errorf("the configuration has no station %q", name)
			}
		}
	case rig.AtProbe:
		name, word, ok := strings.Cut(target, "/")
		i := cfg.Station(name)
		if !ok || i < 0 {
			return fmt.Errorf("%q names no probe: write station/role, such as \"north/control\"", target)
		}
		if _, err := rig.FindProbe(named(&cfg.Stations[i]), word); err != nil {
			return fmt.Errorf("station %q has %w", name, err)
		}
	}
	return nil
}
