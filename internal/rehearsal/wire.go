package rehearsal

import (
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/plan"
	"soakwarden/internal/sizing"
	"soakwarden/sensors"
	"soakwarden/sim"
	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// How far a real bench is from what the program was told. A keeper measures
// depth with a ruler and believes the pad's label.
const (
	padOff    = 0.05 // of its power
	depthOff  = 0.05 // of the depth
	readsOff  = 0.05 // K, what a calibration leaves
	probeLag  = 12 * time.Second
	probeWalk = 200 * time.Second
)

// Stage builds the world of a scenario: the bench, and its buses with the
// configured probes. wire, when not nil, changes the bench before it is built.
func (s *Scenario) Stage(wire func(*rig.Wiring)) (*rig.Bench, []*sensors.Bus, error) {
	w, err := s.wiring()
	if err != nil {
		return nil, nil, err
	}
	if wire != nil {
		wire(&w)
	}
	bench, err := rig.NewBench(w)
	if err != nil {
		return nil, nil, err
	}
	var buses []*sensors.Bus
	for i, b := range s.Config.Buses {
		line := bench.Buses()[i]
		bus, err := sensors.NewBus(sensors.Options{
			Name: b.Name, Source: sensors.NewOneWire(line), Probes: plan.Probes(s.Config, b.Name), Wait: line.Wait,
		})
		if err != nil {
			return nil, nil, err
		}
		buses = append(buses, bus)
	}
	return bench, buses, nil
}

// wiring draws the real bench of a scenario from its seed, near what the
// configuration says.
func (s *Scenario) wiring() (rig.Wiring, error) {
	w := rig.Wiring{
		Seed: s.Seed, Faults: s.Faults,
		Room: rig.Room{Mean: celsius(s.Room), Swing: float64(s.RoomSwing) / 1e9, From: float64(epoch.Hour())},
	}
	for _, r := range s.Config.Relays {
		w.Relays = append(w.Relays, r.Name)
	}
	for _, b := range s.Config.Buses {
		w.Buses = append(w.Buses, b.Name)
	}
	for i := range s.Config.Stations {
		st := &s.Config.Stations[i]
		draw := num.NewNoise(s.Seed, 0x7AB0+uint64(i))
		sw, err := s.station(st, draw, w.Buses)
		if err != nil {
			return w, fmt.Errorf("station %s: %w", st.Name, err)
		}
		w.Stations = append(w.Stations, sw)
	}
	return w, nil
}

func (s *Scenario) station(st *config.Station, draw *num.Noise, buses []string) (rig.StationWiring, error) {
	sw := rig.StationWiring{
		Name: st.Name, Pad: s.Config.RelayIndex(st.PadRelay),
		Series: s.Config.RelayIndex(st.SeriesRelay), Fan: s.Config.RelayIndex(st.FanRelay),
	}
	if st.Kind == controller.Tub {
		spec := sizing.TubSpec(st.Tub)
		spec.PadPower = float64(spec.PadPower * draw.Between(1-padOff, 1+padOff))
		spec.Depth = min(max(float64(spec.Depth*draw.Between(1-depthOff, 1+depthOff)), 0.010), 0.150)
		sw.Tub = &spec
		// Poured from a tap that runs as cold as the room.
		sw.Start = sim.Start{Water: celsius(s.Room), Room: celsius(s.Room)}
	} else {
		spec := sizing.ChamberSpec(st)
		sw.Chamber = &spec
	}
	for k := range st.Probes {
		p := &st.Probes[k]
		sw.Probes = append(sw.Probes, rig.ProbeWiring{
			Role: p.Role, Bus: position(buses, p.Bus), Place: place(st, p), Inner: inner(st, p),
			Spec: rig.ThermometerSpec{
				Address: p.Address, TimeConstant: probeLag,
				// What the calibration adds the real probe lacks.
				Offset: -float64(p.Calibration.Offset)/1e9 + draw.Between(-readsOff, readsOff),
				Noise:  0.03, Local: 0.02, LocalTime: probeWalk,
			},
		})
	}
	return sw, nil
}

func position(names []string, name string) int {
	for i, n := range names {
		if n == name {
			return i
		}
	}
	return -1
}

// place is where a probe hangs: as configured, or the control probe in the
// lower third and the guard at the lowest level that a leak may leave.
func place(st *config.Station, p *config.Probe) sim.Place {
	height := p.Height
	switch p.Role {
	case controller.RoleControl:
		if height < 0 {
			height = st.Tub.Depth / 3
		}
		return sim.Place{Kind: sim.InWater, Height: height}
	case controller.RoleGuard:
		if height < 0 {
			height = 0.7 * st.Tub.Depth
		}
		return sim.Place{Kind: sim.InWater, Height: height}
	case controller.RoleFloor:
		return sim.Place{Kind: sim.OnFloor}
	}
	return sim.Place{Kind: sim.RoomAir}
}

// inner is where a probe of a chamber lies.
func inner(st *config.Station, p *config.Probe) sim.ChamberPlace {
	at := sim.ChamberPlace{Kind: sim.ChamberAir}
	for i := range st.Pieces {
		if st.Pieces[i].Name == p.Piece {
			at.Piece = i
			switch {
			case p.Role == controller.RoleSurface:
				at.Kind = sim.OnPiece
			case p.Depth >= 0:
				at.Kind, at.Depth = sim.InPiece, p.Depth
			default:
				at.Kind = sim.PieceCore
			}
			return at
		}
	}
	return at
}
