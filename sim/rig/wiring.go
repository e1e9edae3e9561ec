package rig

import (
	"errors"
	"fmt"
	"strings"

	"soakwarden/controller"
	"soakwarden/sim"
)

// NoRelay is the index of a relay that is not wired.
const NoRelay = -1

// Room is the air around the bench: a mean, and a daily swing with its peak in
// the afternoon. Celsius and kelvin.
type Room struct {
	Mean  float64
	Swing float64 // mean to peak
	From  float64 // hours since midnight at which the bench begins
}

// ProbeWiring is one probe as it really hangs.
type ProbeWiring struct {
	Role  controller.Role
	Bus   int // index in Wiring.Buses
	Spec  ThermometerSpec
	Place sim.Place        // in a tub
	Inner sim.ChamberPlace // in a chamber
}

// StationWiring is one station as it really is, which may differ from what the
// program was told. Exactly one of Tub and Chamber is given.
type StationWiring struct {
	Name    string
	Tub     *sim.TubSpec
	Start   sim.Start // of a tub
	Chamber *sim.ChamberSpec
	Pad     int // index in Wiring.Relays
	Series  int // NoRelay when there is none
	Fan     int
	Probes  []ProbeWiring
}

// Wiring is a whole bench as it really is.
type Wiring struct {
	Seed      uint64
	Room      Room
	Nuisances Nuisances
	Relays    []string
	Buses     []string
	Stations  []StationWiring
	Faults    []Fault
}

// check says everything that is wrong with the wiring.
func (w *Wiring) check() error {
	var errs []error
	for _, s := range w.Stations {
		if (s.Tub == nil) == (s.Chamber == nil) {
			errs = append(errs, fmt.Errorf("station %s must be a tub or a chamber", s.Name))
		}
		for _, r := range []int{s.Pad, s.Series, s.Fan} {
			if r < NoRelay || r >= len(w.Relays) {
				errs = append(errs, fmt.Errorf("station %s is wired to relay %d of %d", s.Name, r, len(w.Relays)))
			}
		}
		for _, p := range s.Probes {
			if p.Bus < 0 || p.Bus >= len(w.Buses) {
				errs = append(errs, fmt.Errorf("station %s has a probe on bus %d of %d", s.Name, p.Bus, len(w.Buses)))
			}
		}
	}
	for i := range w.Faults {
		f := &w.Faults[i]
		if err := f.Check(); err != nil {
			errs = append(errs, err)
		} else if _, err := w.aim(f); err != nil {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// aim is what a fault is aimed at, as indices; −1 where it does not apply.
type aim struct {
	relay, bus, station, other, probe int
}

// roleNames are the roles as a target writes them.
var roleNames = [...]string{"", "control", "guard", "floor", "room", "core", "surface", "air"}

// RoleName is the name that a target uses for a role.
func RoleName(r controller.Role) string {
	if int(r) < len(roleNames) {
		return roleNames[r]
	}
	return ""
}

func index(names []string, name string) int {
	for i, n := range names {
		if n == name {
			return i
		}
	}
	return -1
}

func (w *Wiring) station(name string) int {
	for i := range w.Stations {
		if w.Stations[i].Name == strings.TrimSpace(name) {
			return i
		}
	}
	return -1
}

// aim finds the target of a fault.
func (w *Wiring) aim(f *Fault) (aim, error) {
	a := aim{-1, -1, -1, -1, -1}
	spec, err := f.Kind.Spec()
	if err != nil {
		return a, err
	}
	missing := fmt.Errorf("%s: the bench has no %q: write %s", f.Kind, f.Target, spec.Target)
	switch spec.Target {
	case AtRelay:
		a.relay = index(w.Relays, f.Target)
		if a.relay < 0 {
			return a, missing
		}
	case AtBus:
		a.bus = index(w.Buses, f.Target)
		if a.bus < 0 {
			return a, missing
		}
	case AtStation:
		a.station = w.station(f.Target)
		if a.station < 0 {
			return a, missing
		}
	case AtStationPair:
		one, two, _ := strings.Cut(f.Target, ",")
		a.station, a.other = w.station(one), w.station(two)
		if a.station < 0 || a.other < 0 || a.station == a.other {
			return a, missing
		}
	case AtProbe:
		name, word, _ := strings.Cut(f.Target, "/")
		a.station = w.station(name)
		if a.station < 0 {
			return a, missing
		}
		s := &w.Stations[a.station]
		named := make([]Named, len(s.Probes))
		for i, p := range s.Probes {
			named[i] = Named{p.Role, p.Spec.Address}
		}
		if a.probe, err = FindProbe(named, word); err != nil {
			return a, fmt.Errorf("%s: %s has %w", f.Kind, s.Name, err)
		}
	}
	return a, nil
}
