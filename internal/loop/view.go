package loop

import (
	"sort"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// coldest is colder than any chamber: a target under it is none.
const coldest = physic.ZeroCelsius - 60*physic.Celsius

// Snapshot makes the immutable picture of the last tick. Call it from the
// goroutine that calls Tick; the journal's part is the caller's to fill in.
func (l *Loop) Snapshot() *Snapshot {
	r := &l.result
	snap := &Snapshot{
		Name: l.plan.Name, Version: l.plan.Version, Config: l.plan.Config, Demo: l.plan.Demo, Speed: l.plan.Speed,
		Wall: r.Wall, Trusted: r.Trusted, Now: r.Now, Tick: l.tick, Missed: l.health.Missed,
	}
	for _, s := range l.stations {
		snap.Stations = append(snap.Stations, l.stationView(s))
	}
	for _, b := range l.plan.Buses {
		v := BusView{Name: b.Name}
		if c := b.Bus.Latest(); c != nil {
			v.Cycle, v.At, v.Length, v.Devices, v.Fault = c.Seq, c.Started, c.Length(), len(c.Samples), c.Fault.String()
		}
		snap.Buses = append(snap.Buses, v)
	}
	for i, p := range l.plan.Relays {
		st := l.relays[i]
		snap.Relays = append(snap.Relays, RelayView{Name: p.Name, On: st.on, Written: st.written, Seen: l.plan.Relays[i].seen(), Cycles: st.cycles})
	}
	return snap
}

func (l *Loop) stationView(s *station) StationView {
	set, view := &s.plan.Settings, s.core.View()
	v := StationView{
		Name: s.plan.Name, Kind: set.Kind, Species: s.plan.Species, Stage: view.Stage.String(),
		SetPoint: set.SetPoint, Effective: s.output.Effective, Differential: set.Differential,
		TooCold: set.TooCold, Cutoff: set.Cutoff,
		HeatOn: s.heats, Command: s.output.Command,
		Permitted: s.output.Permitted, Reason: s.output.Reason,
		Attended: view.Attended, AnimalIn: set.Kind == controller.Tub && view.Animal != controller.AnimalIsOut, OutOfService: view.OutOfService, NeverAlone: s.plan.NeverAlone, WaterLeft: view.WaterLeft, ReadyAt: view.ReadyAt,
		Governing: s.output.Governing, Tub: s.plan.Tub,
	}
	for i, p := range s.plan.Probes {
		reading := s.input.Readings[i]
		probe := ProbeView{
			Role: set.Probes[i].Role, Bus: l.plan.Buses[p.Bus].Name, ROM: p.ROM, Reading: reading,
			Uncertainty: set.Probes[i].Uncertainty, Calibrated: set.Probes[i].Calibrated, Errors: s.slots[i].sample.Errors,
		}
		if reading.Quality != controller.Unknown {
			probe.Age = max(l.result.Now-reading.At, 0)
		}
		v.Probes = append(v.Probes, probe)
	}
	for c := controller.NoCause + 1; int(c) < controller.CauseCount; c++ {
		st := s.core.Cause(c)
		if st.Alarm == alarm.Normal {
			continue
		}
		v.Alarms = append(v.Alarms, AlarmView{
			Cause: c, State: st.Alarm, Severity: st.Severity, SinceNow: st.Since,
			Since: l.result.Wall.Add(st.Since - l.result.Now), Latched: st.Latched, Value: st.Value,
		})
	}
	sort.SliceStable(v.Alarms, func(i, j int) bool { return v.Alarms[i].Severity > v.Alarms[j].Severity })
	if set.Kind == controller.Tub { // nothing proves a chamber's relays but their feedback
		for kind, p := range view.Proofs {
			proof := ProofView{Name: controller.ProofKind(kind).String(), Passed: p.Passed}
			if p.Passed || p.Failed {
				proof.At = l.result.Wall.Add(-p.Age)
			}
			v.Proofs = append(v.Proofs, proof)
		}
	}
	if set.Kind == controller.Chamber && v.Effective < coldest {
		v.Effective = 0 // a treatment that wants the fan and no heat
	}
	if set.Kind == controller.Chamber {
		v.Stage = "no treatment"
	}
	if s.plan.Treat != nil {
		if v.Treatment = s.plan.Treat.View(); v.Treatment != nil {
			v.Stage = v.Treatment.Stage
		}
	}
	if s.plan.Truth != nil {
		v.Truth = s.plan.Truth()
	}
	return v
}
