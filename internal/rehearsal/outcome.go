package rehearsal

// Outcome is what a rehearsal found, as `simulate --json` prints it. A thing
// that never happened is null. Water is the model's volume mean.
type Outcome struct {
	Scenario         string           `json:"scenario"`
	Seed             uint64           `json:"seed"`
	SimulatedSeconds float64          `json:"simulated_seconds"`
	WallSeconds      float64          `json:"wall_seconds"`
	Stations         []StationOutcome `json:"stations"`
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
