package sim

// Judge looks at the truth of a tub once a second and keeps what a scenario
// reports. The zero value is not ready: use NewJudge.
type Judge struct {
	setPoint, band float64
	r              Judgement
	seconds        int
	inBand         int // seconds in a row
	touched        bool
	on             int
	joules         float64
}

// readyAfter is how long the water must be in band before the tub is ready, s.
const readyAfter = 600

// Judgement is what the judge has found. Seconds count from the first Second.
type Judgement struct {
	Seconds     int
	Ready       bool
	ReadyAt     int     // s, the end of ten minutes in band with the probes agreeing
	WaterMin    float64 // °C, volume mean, from ready; without ready, from the start
	WaterMax    float64 // °C, from the start
	WaterMaxAt  int     // s
	Touched     bool    // the water was at the set point − 0.3 K
	Overshoot   float64 // K over the set point from that touch on, at least 0
	FloorMax    float64 // °C, contact surface, animal or none, from the start
	HeatOnRatio float64 // share of the seconds in which heat flowed
	EnergyWh    float64 // from the pad
	WaterLost   float64 // L that evaporated or leaked
	OverBy      float64 // K, the most that the water was over the set point, from the start; negative when never
}

// Observation is one second of truth.
type Observation struct {
	Water    float64 // °C, volume mean
	Floor    float64 // °C, the hotter of open and covered contact surface
	Watts    float64 // that flow into the pad
	Lost     float64 // L evaporated and leaked since the start
	Agreeing bool    // the in-water probes agree, as the caller finds it
}

// NewJudge returns a judge for a set point, °C, and a band of ± band K about it.
func NewJudge(setPoint, band float64) *Judge {
	return &Judge{setPoint: setPoint, band: band}
}

// Observe returns this second's observation of a tub.
func (t *Tub) Observe(agreeing bool) Observation {
	hot := t.t[floor]
	if t.hold.animal > 0 {
		hot = max(hot, t.t[patch])
	}
	return Observation{
		Water: t.Water(), Floor: hot, Watts: t.drive.Pad * t.spec.PadPower,
		Lost: t.account.Evaporated + t.film + t.leaked + t.leak, Agreeing: agreeing,
	}
}

// Move tells the judge that the set point changed.
func (j *Judge) Move(setPoint float64) { j.setPoint = setPoint }

// Second takes in one second.
func (j *Judge) Second(o Observation) {
	r := &j.r
	if j.seconds == 0 {
		r.WaterMin, r.WaterMax, r.FloorMax, r.OverBy = o.Water, o.Water, o.Floor, o.Water-j.setPoint
		r.WaterMaxAt = 1
	}
	j.seconds++
	if o.Water > r.WaterMax {
		r.WaterMax, r.WaterMaxAt = o.Water, j.seconds
	}
	// Comparisons, because max also looks for what no temperature is.
	over := o.Water - j.setPoint
	if over > r.OverBy {
		r.OverBy = over
	}
	if o.Floor > r.FloorMax {
		r.FloorMax = o.Floor
	}
	if o.Water >= j.setPoint-0.3 {
		j.touched = true
	}
	if j.touched && over > r.Overshoot {
		r.Overshoot = over
	}
	if magnitude(over) <= j.band && o.Agreeing {
		j.inBand++
	} else {
		j.inBand = 0
	}
	if !r.Ready && j.inBand >= readyAfter {
		r.Ready, r.ReadyAt = true, j.seconds
		r.WaterMin = o.Water
	}
	if o.Water < r.WaterMin {
		r.WaterMin = o.Water
	}
	if o.Watts > 0 {
		j.on++
		j.joules += o.Watts
	}
	r.WaterLost = o.Lost
}

// Judgement returns what was found until now.
func (j *Judge) Judgement() Judgement {
	r := j.r
	r.Seconds, r.Touched = j.seconds, j.touched
	if j.seconds > 0 {
		r.HeatOnRatio = float64(j.on) / float64(j.seconds)
	}
	r.EnergyWh = j.joules / 3600
	return r
}
