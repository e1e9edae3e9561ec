package rehearsal

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// Outcome is what a rehearsal found, as `simulate --json` prints it. A thing
// that never happened is null. Water is the model's volume mean.
type Outcome struct {
	Scenario         string           `json:"scenario"`
	Seed             uint64           `json:"seed"`
	SimulatedSeconds float64          `json:"simulated_seconds"`
	WallSeconds      float64          `json:"wall_seconds"`
	Stations         []StationOutcome `json:"stations"`
	Treatments       []Treatment      `json:"treatments,omitempty"`
	Promises         []Promise        `json:"promises"`
}

// StationOutcome is one station's part. Temperatures are °C of the model.
type StationOutcome struct {
	Name        string   `json:"name"`
	ReadyS      *float64 `json:"ready_s"`     // in band for ten minutes, both probes agreeing
	WaterMinC   *float64 `json:"water_min_c"` // from ready on
	WaterMaxC   *float64 `json:"water_max_c"` // from the start
	OvershootK  *float64 `json:"overshoot_k"` // over the set point, from its first touch − 0.3 K
	FloorMaxC   *float64 `json:"floor_max_c"`
	HeatOnRatio float64  `json:"heat_on_ratio"`
	EnergyWh    float64  `json:"energy_wh"`
	WaterLostL  float64  `json:"water_lost_l"`
	Trips       []Trip   `json:"trips"`
	Alarms      []Alarm  `json:"alarms"`
}

// Trip is one action of the protective control. SinceFaultS counts from the
// first second in which a fault had an effect, null without one.
type Trip struct {
	Cause       string   `json:"cause"`
	AtS         float64  `json:"at_s"`
	SinceFaultS *float64 `json:"since_fault_s"`
	Latched     bool     `json:"latched"`

	right bool // the water really stood at its cutoff
}

// Alarm is one alarm that was raised.
type Alarm struct {
	Name        string   `json:"name"`
	AtS         float64  `json:"at_s"`
	SinceFaultS *float64 `json:"since_fault_s"`
}

// Promise is one promise of the design that this run can show.
type Promise struct {
	Name string `json:"name"`
	Held bool   `json:"held"`
}

// Held says whether every promise was.
func (o *Outcome) Held() bool {
	for _, p := range o.Promises {
		if !p.Held {
			return false
		}
	}
	return true
}

// Print writes the outcome for a person.
func (o *Outcome) Print(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, seed %d: %s rehearsed in %.2f s\n", o.Scenario, o.Seed, seconds(o.SimulatedSeconds), o.WallSeconds)
	for _, s := range o.Stations {
		fmt.Fprintf(&b, "\n%s\n", s.Name)
		line := func(name, text string) { fmt.Fprintf(&b, "  %-22s %s\n", name, text) }
		line("ready", after(s.ReadyS))
		line("water", both(s.WaterMinC)+" to "+both(s.WaterMaxC))
		line("overshoot", kelvin(s.OvershootK))
		line("floor at most", both(s.FloorMaxC))
		line("heat on", fmt.Sprintf("%.1f %% of the time, %.0f Wh", 100*s.HeatOnRatio, s.EnergyWh))
		line("water lost", fmt.Sprintf("%.2f L", s.WaterLostL))
		for _, t := range s.Trips {
			held := "clears by itself"
			if t.Latched {
				held = "latched"
			}
			line("heat taken away", fmt.Sprintf("%s after %s%s, %s", t.Cause, seconds(t.AtS), since(t.SinceFaultS), held))
		}
		for _, a := range s.Alarms {
			line("alarm", fmt.Sprintf("%s after %s%s", a.Name, seconds(a.AtS), since(a.SinceFaultS)))
		}
	}
	for i := range o.Treatments {
		o.Treatments[i].print(&b)
	}
	b.WriteString("\npromises\n")
	for _, p := range o.Promises {
		word := "held"
		if !p.Held {
			word = "BROKEN"
		}
		fmt.Fprintf(&b, "  %-6s  %s\n", word, p.Name)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func seconds(s float64) string { return (time.Duration(s) * time.Second).String() }

func after(s *float64) string {
	if s == nil {
		return "never"
	}
	return "after " + seconds(*s)
}

func since(s *float64) string {
	if s == nil {
		return ""
	}
	return ", " + seconds(*s) + " after the fault first mattered"
}

func both(c *float64) string {
	if c == nil {
		return "—"
	}
	return fmt.Sprintf("%.2f °C (%.1f °F)", *c, *c*9/5+32)
}

func kelvin(k *float64) string {
	if k == nil {
		return "—"
	}
	return fmt.Sprintf("%+.2f K", *k)
}
