package loop

import (
	"errors"
	"fmt"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/sensors"
)

// Bus gives the last complete cycle of a 1-Wire bus. It never blocks and may
// return nil while there was none.
type Bus interface{ Latest() *sensors.Cycle }

// Feedback is an auxiliary contact of a relay.
type Feedback interface{ Seen() controller.Contact }

// Switch is a digital input. Closed means active: the door is open, the air
// moves. A door that is not clearly inactive counts as open.
type Switch interface{ Seen() controller.Contact }

// NoRelay is the index of a relay that is not wired.
const NoRelay = -1

// RelayPlan is one relay of the bench. Pin.Out(gpio.High) closes it: polarity
// stays inside the pin.
type RelayPlan struct {
	Name string
	Pin  gpio.PinOut
	Seen Feedback // nil when there is none
	// Tells says that it is a buzzer, which heats nothing: one that cannot be
	// written is told, and endangers nobody who is warm.
	Tells bool
}

// seen is what the feedback says.
func (r *RelayPlan) seen() controller.Contact {
	if r.Seen == nil {
		return controller.ContactUnknown
	}
	return r.Seen.Seen()
}

// BusPlan is one bus of the bench.
type BusPlan struct {
	Name string
	Bus  Bus
}

// ProbePlan is where one probe of a station is read.
type ProbePlan struct {
	Bus     int // index in Plan.Buses
	Address onewire.Address
	ROM     string // as a person writes it
}

// StationPlan is one station of the bench.
type StationPlan struct {
	Name       string
	Species    string
	Settings   controller.Settings
	NeverAlone string // why a person must be present, for the keeper to read; Settings.AttendedOnly decides
	Saved      []byte // what Save gave before the last stop; nil for a first start
	Pad        int    // index in Plan.Relays; heat relay of a chamber
	Series     int    // NoRelay when there is none
	Fan        int
	Buzzer     int
	Door       Switch // nil when there is none
	Airflow    Switch
	Probes     []ProbePlan // in the order of Settings.Probes
	Treat      Driver      // drives a chamber's treatments; nil: it never heats
	Tub        TubView
	Truth      func() *TruthView // the model's truth, nil on hardware
}

// Plan is the whole bench as the loop sees it.
type Plan struct {
	Name     string
	Version  string
	Config   string // checksum, hex
	Demo     bool
	Speed    float64
	Buses    []BusPlan
	Relays   []RelayPlan
	Stations []StationPlan
}

// check returns what is wrong with a plan; the daemon built it from a checked
// configuration, so each of these is a mistake in the program.
func (p *Plan) check() error {
	var errs []error
	relay := func(station, what string, i int) {
		if i < NoRelay || i >= len(p.Relays) {
			errs = append(errs, fmt.Errorf("station %s: %s is relay %d of %d", station, what, i, len(p.Relays)))
		}
	}
	for _, r := range p.Relays {
		if r.Pin == nil {
			errs = append(errs, fmt.Errorf("relay %s has no pin", r.Name))
		}
	}
	for _, b := range p.Buses {
		if b.Bus == nil {
			errs = append(errs, fmt.Errorf("bus %s has no source", b.Name))
		}
	}
	for _, s := range p.Stations {
		relay(s.Name, "pad relay", s.Pad)
		relay(s.Name, "series relay", s.Series)
		relay(s.Name, "fan relay", s.Fan)
		relay(s.Name, "buzzer", s.Buzzer)
		if len(s.Probes) != len(s.Settings.Probes) {
			errs = append(errs, fmt.Errorf("station %s: %d probes are wired and %d are set", s.Name, len(s.Probes), len(s.Settings.Probes)))
		}
		for _, probe := range s.Probes {
			if probe.Bus < 0 || probe.Bus >= len(p.Buses) {
				errs = append(errs, fmt.Errorf("station %s: probe %s is on bus %d of %d", s.Name, probe.ROM, probe.Bus, len(p.Buses)))
			}
		}
	}
	return errors.Join(errs...)
}
