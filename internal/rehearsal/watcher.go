package rehearsal

import (
	"math"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
)

// Bounds that the judges hold a run to. They are written here a second time, on
// purpose: a judge that asked the controller would forgive its mistakes.
const (
	faultRise  = 1.0 // K over the set point that any single fault may cost
	steadyBand = 0.3 // K about the set point that the water is held in
	nearing    = 0.3 // K under the set point from which overshoot counts
	nightFrom  = 22  // hours of the wall clock in which a low alarm wakes nobody
	nightTo    = 7
	settle     = 2 * time.Hour // after ready, a water change or a fault, before the band is judged
	roomBelow  = 3.0           // K that the room must lie under the set point for the steady promise
)

// watcher judges one run: the model's truth for water and heat, the loop's
// events for trips and alarms.
type watcher struct {
	run      *Run
	lastTick time.Duration
	stations []watched
}

// watched is what the judge saw of one station.
type watched struct {
	set             float64 // °C
	ready           time.Duration
	min, max, floor float64
	touched         bool
	overshoot       float64
	heat            int // seconds in which current flowed
	seconds         int
	steadyFrom      time.Duration
	steadyWorst     float64 // K away from the set point while judged
	steadySeconds   int
	worstByUs       float64 // K over the set point while or after our own heat
	trips           []Trip
	alarms          []Alarm
	low             int // low alarms at night
	falseTrips      int
	outside         bool // heat from outside was there: sun, or a room at the set point
	outsideUntil    time.Duration
}

func newWatcher(r *Run) *watcher {
	w := &watcher{run: r}
	for i := range r.scenario.Config.Stations {
		w.stations = append(w.stations, watched{
			set: celsius(r.scenario.Config.Stations[i].SetPoint),
			min: math.Inf(1), max: math.Inf(-1), floor: math.Inf(-1), overshoot: math.Inf(-1),
		})
	}
	return w
}

// step looks at the truth of one second.
func (w *watcher) step(now time.Duration) {
	b := w.run.bench
	for i := range w.stations {
		s := &w.stations[i]
		if w.run.scenario.Config.Stations[i].Kind != controller.Tub {
			continue
		}
		water := b.Water(i)
		s.seconds++
		if b.Heats(i) {
			s.heat++
		}
		s.max, s.floor = max(s.max, water), max(s.floor, b.Floor(i))
		s.touched = s.touched || water >= s.set-nearing
		if s.touched {
			s.overshoot = max(s.overshoot, water-s.set)
		}
		if s.ready > 0 {
			s.min = min(s.min, water)
		}
		w.steady(s, i, now, water)
		if b.Sunny(i) || b.Room() > s.set {
			s.outsideUntil = now + time.Hour
		}
		if now >= s.outsideUntil {
			s.worstByUs = max(s.worstByUs, water-s.set)
		}
	}
}

// steady judges the band: only with the lid on, a room well below, no fault and
// nobody's hands in, and some time after all that.
func (w *watcher) steady(s *watched, i int, now time.Duration, water float64) {
	b := w.run.bench
	_, faulty := b.FirstEffect()
	if s.ready == 0 || faulty || b.LidOff(i) || b.Sunny(i) || b.Room() > s.set-roomBelow || w.run.keeper.Changing(i) {
		s.steadyFrom = now + settle
		return
	}
	if now >= s.steadyFrom {
		s.steadyWorst = max(s.steadyWorst, math.Abs(water-s.set))
		s.steadySeconds++
	}
}

// tick listens to one tick of the program.
func (w *watcher) tick(now time.Duration, res *loop.Result) {
	w.lastTick = now
	for i := range res.Stations {
		s := &w.stations[i]
		events := res.Stations[i].Output.Events
		for k := range events {
			w.event(s, now, &events[k])
		}
	}
}

func (w *watcher) event(s *watched, now time.Duration, e *controller.Event) {
	switch e.Kind {
	case controller.Ready:
		if s.ready == 0 {
			s.ready = now
		}
	case controller.Latched:
		s.trips = append(s.trips, Trip{Cause: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now), Latched: true})
		if _, faulty := w.run.bench.FirstEffect(); !faulty {
			s.falseTrips++
		}
	case controller.CauseRaised:
		if rule := e.Cause.Rule(); rule.Severity == controller.HeatOff {
			s.trips = append(s.trips, Trip{Cause: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now)})
		}
	case controller.AlarmChanged:
		if alarm.State(e.To) != alarm.Unacknowledged || alarm.State(e.From) == alarm.Returned {
			return
		}
		s.alarms = append(s.alarms, Alarm{Name: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now)})
		hour := epoch.Add(now).Hour()
		if night := hour >= nightFrom || hour < nightTo; night && e.Cause.Rule().Severity < controller.Warning {
			s.low++
		}
	}
}

// since is the time from the first effect of a fault, nil before any.
func (w *watcher) since(now time.Duration) *float64 {
	at, ok := w.run.bench.FirstEffect()
	if !ok {
		return nil
	}
	v := (now - at).Seconds()
	return &v
}

// Outcome tells what was found so far.
func (r *Run) Outcome() *Outcome {
	o := &Outcome{
		Scenario: r.scenario.Name, Seed: r.scenario.Seed, SimulatedSeconds: r.bench.Now().Seconds(),
		Stations: []StationOutcome{}, Promises: []Promise{},
	}
	for i := range r.watcher.stations {
		o.Stations = append(o.Stations, r.watcher.stationOutcome(i))
	}
	o.Promises = r.watcher.promises()
	return o
}

// finite is v, or nil when nothing was ever measured.
func finite(v float64) *float64 {
	if math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func (w *watcher) stationOutcome(i int) StationOutcome {
	s := &w.stations[i]
	truth := w.run.bench.Truth(i)
	o := StationOutcome{
		Name:      w.run.scenario.Config.Stations[i].Name,
		WaterMinC: finite(s.min), WaterMaxC: finite(s.max), FloorMaxC: finite(s.floor), OvershootK: finite(s.overshoot),
		EnergyWh: truth.PadHeat / 3600, WaterLostL: truth.Evaporated + truth.Leaked + truth.Overflowed,
		Trips: append([]Trip{}, s.trips...), Alarms: append([]Alarm{}, s.alarms...),
	}
	if s.ready > 0 {
		v := s.ready.Seconds()
		o.ReadyS = &v
	}
	if s.seconds > 0 {
		o.HeatOnRatio = float64(s.heat) / float64(s.seconds)
	}
	return o
}

// promises says which of the design's promises this run can show, and whether
// it kept them.
func (w *watcher) promises() []Promise {
	var list []Promise
	_, faulty := w.run.bench.FirstEffect()
	for i := range w.stations {
		s := &w.stations[i]
		station := w.run.scenario.Config.Stations[i]
		if station.Kind != controller.Tub {
			continue
		}
		name := station.Name + ": "
		list = append(list, Promise{name + "water at most 1.0 K over the set point, heat from outside excepted", s.worstByUs <= faultRise})
		if s.steadySeconds > 0 {
			list = append(list, Promise{name + "steady water within 0.3 K of the set point", s.steadyWorst <= steadyBand})
		}
		if !faulty {
			list = append(list,
				Promise{name + "no trip without a fault", s.falseTrips == 0},
				Promise{name + "no low alarm at night", s.low == 0},
			)
		}
	}
	return list
}
