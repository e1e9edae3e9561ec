package page

import (
	"math"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
)

// The bench of these tests is invented: two tubs and a cabinet, no real
// animals, persons or places.

func celsius(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(math.Round(c*1000))*physic.MilliKelvin
}

// fixtureStart is an invented night in late autumn.
var fixtureStart = time.Date(2024, 11, 9, 19, 0, 0, 0, time.UTC)

func fixtureProbe(r controller.Role, rom string, c float64) loop.ProbeView {
	return loop.ProbeView{
		Role: r, Bus: "header", ROM: rom, Age: 2 * time.Second, Calibrated: true, Uncertainty: 500 * controller.MilliKelvin,
		Reading: controller.Reading{Value: celsius(c), Quality: controller.Good},
	}
}

// fixture is the bench at a moment after its start, with nothing abnormal.
func fixture(now time.Duration) *loop.Snapshot {
	wave := 0.12 * math.Sin(now.Seconds()/500)
	heat := math.Cos(now.Seconds()/500) > 0.2
	tub := func(name, species string, set float64) loop.StationView {
		return loop.StationView{
			Name: name, Kind: controller.Tub, Species: species, Stage: "soak", SetPoint: celsius(set), Effective: celsius(set),
			Differential: 280 * controller.MilliKelvin, TooCold: celsius(set - 2.78), Cutoff: celsius(set + 2.22),
			HeatOn: heat, Permitted: true, AnimalIn: true, ReadyAt: time.Hour,
			Probes: []loop.ProbeView{
				fixtureProbe(controller.RoleControl, "28-000000000001", set+wave),
				fixtureProbe(controller.RoleGuard, "28-000000000002", set+wave*0.8+0.05),
				fixtureProbe(controller.RoleFloor, "28-000000000003", set+1.9+wave*3),
				fixtureProbe(controller.RoleRoom, "28-000000000004", 19.4),
			},
			Tub:    loop.TubView{Length: 0.4, Width: 0.28, Depth: 0.06, PadPower: 20, Lid: true},
			Proofs: []loop.ProofView{{Name: "series relay", Passed: true, At: fixtureStart.Add(-30 * time.Hour)}},
		}
	}
	cabinet := loop.StationView{
		Name: "cabinet", Kind: controller.Chamber, Stage: "heating", SetPoint: celsius(45), Effective: celsius(45),
		Differential: 500 * controller.MilliKelvin, Cutoff: celsius(60), HeatOn: true, Permitted: true, Governing: 0,
		Probes: []loop.ProbeView{
			fixtureProbe(controller.RoleAir, "28-000000000011", 51.2),
			fixtureProbe(controller.RoleCore, "28-000000000012", 38.1),
			fixtureProbe(controller.RoleCore, "28-000000000013", 44.6),
			fixtureProbe(controller.RoleSurface, "28-000000000014", 49.8),
		},
	}
	return &loop.Snapshot{
		Name: "quarantine bench", Version: "0.1.0", Config: "9f2c4ab0d1e2f3a4b5c6d7e8", Speed: 1,
		Wall: fixtureStart.Add(now), Trusted: true, Now: now, Tick: uint64(now / time.Second),
		Stations: []loop.StationView{tub("north", "python", 29.44), tub("south", "colubrid", 28), cabinet},
		Buses:    []loop.BusView{{Name: "header", Cycle: 5, At: now - time.Second, Length: 900 * time.Millisecond, Devices: 12}},
		Relays:   []loop.RelayView{{Name: "pad-north", On: heat, Written: true, Cycles: 17}, {Name: "series-north", On: true, Written: true}},
		Journal:  loop.JournalView{OK: true, Entries: 4711, LastSync: fixtureStart.Add(now - 2*time.Second)},
	}
}

// tripped is the bench with the worst on north: over the cutoff and a silent
// guard probe; on south a warning that is over.
func tripped(now time.Duration) *loop.Snapshot {
	s := fixture(now)
	n := &s.Stations[0]
	n.HeatOn, n.Permitted, n.Reason, n.ReadyAt = false, false, controller.OverCutoff, 0
	n.Probes[0].Reading.Value = celsius(32.1)
	n.Probes[1].Reading = controller.Reading{Quality: controller.Bad, Flaw: controller.Absent}
	n.Alarms = []loop.AlarmView{
		{Cause: controller.OverCutoff, State: alarm.Unacknowledged, Severity: controller.Trip, Latched: true, Since: s.Wall.Add(-3 * time.Minute), Value: celsius(31.9)},
		{Cause: controller.ProbeSilent, State: alarm.LatchedAcknowledged, Severity: controller.HeatOff, Latched: true, Since: s.Wall.Add(-26 * time.Hour)},
	}
	s.Stations[1].Alarms = []loop.AlarmView{
		{Cause: controller.TooCold, State: alarm.Unacknowledged, Severity: controller.Warning, Since: s.Wall.Add(-8 * time.Minute), Value: celsius(25)},
		{Cause: controller.HeatFromOutside, State: alarm.Returned, Severity: controller.Warning, Since: s.Wall.Add(-40 * time.Minute)},
	}
	return s
}
