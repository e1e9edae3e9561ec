package rehearsal

import (
	"math"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/sim"
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
	waterless  = 0.005         // m of water under which a tub is empty: half of the shallowest promised
	floorBound = 35.0          // °C of the contact surface that no configuration may pass
	bareCools  = 30 * time.Minute
	litreHeat  = 4180 // J/K of a litre of water
	roomBelow  = 3.0  // K that the room must lie under the set point for the steady promise
)

// watcher judges one run: the model's truth for water and heat, the loop's
// events for trips and alarms.
type watcher struct {
	run      *Run
	lastTick time.Duration
	stations []watched
	excuse   bool // faults that leave nothing to cut the heat are excused when a person was told in time
}

// watched is what the judge saw of one station.
type watched struct {
	tub           bool
	fused         bool   // has a series relay
	inWater       [2]int // the probes of a tub, one twice when there is one
	index         int
	set           float64 // °C
	cutoff        float64 // °C
	judge         *sim.Judge
	agreeing      bool          // the in-water probes, as the program read them
	ready         time.Duration // when the program said so
	steadyFrom    time.Duration
	away          bool    // the water was disturbed and has not come back yet
	steadyWorst   float64 // K away from the set point while judged
	steadySeconds int
	worstByUs     float64       // K over the set point, heat from outside excepted
	lent          float64       // K that came from outside since the water was last at the set point
	sunHeat       float64       // J of sun until now
	dryFloor      float64       // °C, the hottest contact surface while the tub was empty
	lost          float64       // J to the room until now
	sunny         time.Duration // the last second of sun
	told          bool          // a person was told to pull the plug
	toldAt        float64       // °C of the water then
	trips         []Trip
	alarms        []Alarm
	low           int // low alarms at night
	falseTrips    int
	raised        []raisedCause // every cause that began to act
	unpermitted   int           // s in which the command asked for heat without permission
}

func newWatcher(r *Run) *watcher {
	w := &watcher{run: r}
	for i := range r.scenario.Config.Stations {
		station := &r.scenario.Config.Stations[i]
		s := watched{
			tub: station.Kind == controller.Tub, fused: station.SeriesRelay != "",
			index: i, set: celsius(station.SetPoint), cutoff: celsius(station.Cutoff),
			judge: sim.NewJudge(celsius(station.SetPoint), steadyBand),
		}
		found := 0
		for k := range station.Probes {
			if role := station.Probes[k].Role; role == controller.RoleControl || role == controller.RoleGuard {
				if found++; found == 1 {
					s.inWater[0] = k
				}
				s.inWater[1] = k
			}
		}
		w.stations = append(w.stations, s)
	}
	return w
}

// step looks at the truth of one second.
//
//go:noinline
func (w *watcher) step(now time.Duration) {
	b := w.run.bench
	_, faulty := b.FirstEffect()
	room := b.Room()
	for i := range w.stations {
		s := &w.stations[i]
		if !s.tub {
			continue
		}
		s.judge.Second(b.Observe(i, s.agreeing))
		water := b.Water(i)
		over := water - s.set
		sunny, changing := b.Sunny(i), w.run.keeper.Changing(i)
		if sunny {
			s.sunny = now
		}
		if s.ready == 0 || faulty || sunny || changing || room > s.set-roomBelow || b.LidOff(i) {
			s.away, s.steadyFrom = true, now+settle
		} else {
			s.steady(now, math.Abs(over))
		}
		depth, sun, lost := b.Bath(i)
		if depth < waterless {
			w.dry(s, now, room)
		} else if s.lent != 0 || sun != s.sunHeat || changing || room > s.set {
			s.lend(sun-s.sunHeat, lost-s.lost, b.Litres(i)*litreHeat, water, room, changing)
		}
		s.sunHeat, s.lost = sun, lost
		if over -= s.lent; over > s.worstByUs && depth >= waterless {
			s.worstByUs = over
		}
	}
}

// steady judges the band: only with the lid on, a room well below, no fault and
// nobody's hands in, and some time after all that.
func (s *watched) steady(now time.Duration, off float64) {
	// New water may be hours from the band: it is judged some time after it
	// came back, and from then on it must stay.
	if s.away {
		s.away = off > steadyBand
		s.steadyFrom = now + settle
		return
	}
	if now >= s.steadyFrom {
		if off > s.steadyWorst {
			s.steadyWorst = off
		}
		s.steadySeconds++
	}
}

// dry looks at a tub without water. An animal in it lies on the floor: that is
// what counts. The sun heats the bare floor far over any bound; it has cooled
// soon after.
func (w *watcher) dry(s *watched, now time.Duration, room float64) {
	if now-s.sunny > bareCools && room < s.set {
		truth := w.run.bench.Truth(s.index)
		s.dryFloor = max(s.dryFloor, truth.Floor, truth.Contact)
	}
	s.lent = 0
}

// lend says how much of the warmth is not our heat's. What sun, a room above the
// set point or a warm pour really brought is lent: it goes to the room as fast
// as the tub loses heat for each kelvin, and it is gone when the water has come
// back. What the pad adds to it is not lent. Vapour takes more for each further
// kelvin than for the first, so the lent part shrinks rather too slowly.
//
// sun and lost are in J, the water's capacity in J/K.
func (s *watched) lend(sun, lost, capacity, water, room float64, changing bool) {
	s.lent += sun / capacity
	if warmer := water - room; warmer > 1 && lost > 0 {
		s.lent -= s.lent * lost / (warmer * capacity)
	}
	switch {
	case room > s.set || changing:
		s.lent = max(s.lent, water-s.set)
	case water <= s.set+steadyBand/2:
		s.lent = 0
	}
}

// tick listens to one tick of the program.
func (w *watcher) tick(now time.Duration, res *loop.Result) {
	w.lastTick = now
	for i := range w.stations {
		s, r := &w.stations[i], &res.Stations[i]
		s.agreeing = s.tub && s.agree(r.Input.Readings)
		if out := r.Output; !out.Permitted && out.Command.Heat(s.fused) {
			s.unpermitted++
		}
	}
	if res.Quiet {
		return
	}
	for i := range w.stations {
		events := res.Stations[i].Output.Events
		for k := range events {
			w.event(&w.stations[i], now, &events[k])
		}
	}
}

// atCutoff says that the warmer half of the water really stands at the cutoff,
// as far as a calibrated probe can tell. Sun does that to a small tub, and then
// no trip is false.
func (w *watcher) atCutoff(s *watched) bool {
	const told = 0.2 // K, the expanded uncertainty that campaigns configure
	t := w.run.bench.Truth(s.index)
	return max(t.Lower, t.Upper) >= s.cutoff-told
}

func (w *watcher) event(s *watched, now time.Duration, e *controller.Event) {
	switch e.Kind {
	case controller.Ready:
		if s.ready == 0 {
			s.ready = now
		}
	case controller.Latched:
		w.hear(s, e.Cause)
		s.raised = append(s.raised, raisedCause{cause: e.Cause, at: now, since: w.since(now), exposed: w.run.bench.Exposed().Seconds()})
		right := e.Cause == controller.OverCutoff && w.atCutoff(s)
		s.trips = append(s.trips, Trip{Cause: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now), Latched: true, right: right})
		if _, faulty := w.run.bench.FirstEffect(); !faulty && !right {
			s.falseTrips++
		}
	case controller.CauseRaised:
		w.hear(s, e.Cause)
		s.raised = append(s.raised, raisedCause{cause: e.Cause, at: now, since: w.since(now), exposed: w.run.bench.Exposed().Seconds()})
		if rule := e.Cause.Rule(); rule.Severity == controller.HeatOff {
			s.trips = append(s.trips, Trip{Cause: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now)})
		}
	case controller.CauseCleared:
		for k := range s.raised {
			if r := &s.raised[k]; r.cause == e.Cause && r.since == nil && w.since(now) == nil {
				r.over = true
			}
		}
	case controller.AlarmChanged:
		if alarm.State(e.To) != alarm.Unacknowledged {
			return
		}
		s.alarms = append(s.alarms, Alarm{Name: e.Cause.String(), AtS: now.Seconds(), SinceFaultS: w.since(now)})
		hour := epoch.Add(now).Hour()
		if night := hour >= nightFrom || hour < nightTo; night && e.Cause.Rule().Severity < controller.Warning {
			s.low++
		}
	}
}

// hear notes the first call to pull the plug.
func (w *watcher) hear(s *watched, cause controller.Cause) {
	if s.told || !callsForPlug(cause) {
		return
	}
	for i := range w.stations {
		if &w.stations[i] == s {
			s.told, s.toldAt = true, w.run.bench.Water(i)
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

// agree says whether the in-water readings are good and lie together: half a
// kelvin is what two calibrated probes in still water may differ by.
func (s *watched) agree(readings []controller.Reading) bool {
	a, b := &readings[s.inWater[0]], &readings[s.inWater[1]]
	apart := a.Value - b.Value
	return a.Quality == controller.Good && b.Quality == controller.Good &&
		apart <= 500*physic.MilliKelvin && -apart <= 500*physic.MilliKelvin
}

func (w *watcher) stationOutcome(i int) StationOutcome {
	s := &w.stations[i]
	o := StationOutcome{
		Name: w.run.scenario.Config.Stations[i].Name, Trips: append([]Trip{}, s.trips...), Alarms: append([]Alarm{}, s.alarms...),
	}
	if w.run.scenario.Config.Stations[i].Kind != controller.Tub {
		return o
	}
	j := s.judge.Judgement()
	o.WaterMaxC, o.FloorMaxC = &j.WaterMax, &j.FloorMax
	o.HeatOnRatio, o.EnergyWh, o.WaterLostL = j.HeatOnRatio, j.EnergyWh, j.WaterLost
	if j.Ready {
		at := float64(j.ReadyAt)
		o.ReadyS, o.WaterMinC = &at, &j.WaterMin
	}
	if j.Touched {
		o.OvershootK = &j.Overshoot
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
