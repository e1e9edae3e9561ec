package replay

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
	"soakwarden/internal/loop"
)

var noon = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)

func celsius(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e9)
}

// settings are those of an invented tub.
func settings() controller.Settings {
	return controller.Settings{
		Kind: controller.Tub, SetPoint: celsius(29.5), Differential: 280 * controller.MilliKelvin,
		TooCold: celsius(26.5), Cutoff: celsius(31.5), FloorBound: celsius(35), RoomWarmest: celsius(27),
		MinOn: time.Minute, MinOff: time.Minute, RampPerHour: 2 * controller.Kelvin,
		Probes: []controller.ProbeSettings{
			{Role: controller.RoleControl, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true},
			{Role: controller.RoleGuard, Uncertainty: 500 * controller.MilliKelvin, Calibrated: true},
		},
		HasPad: true, HasSeries: true,
		Limits: controller.Limits{GainPerHour: 2124 * controller.MilliKelvin, LossPerHour: 600 * controller.MilliKelvin,
			Coast: 90 * time.Second, LongestOn: 8 * time.Hour, FloorRise: 3 * controller.Kelvin, Flux: 180,
			Depth: 60 * physic.MilliMetre},
	}
}

// drive lets a station hold a crude tub for some hours and records it: the
// water takes what the pad gives. Somebody is there, and one probe falls silent.
func drive(t *testing.T, m *journal.Memory, c *controller.Station, hours int) {
	t.Helper()
	in := &controller.Input{Readings: make([]controller.Reading, 2)}
	r := &loop.Result{Trusted: true, Stations: make([]loop.StationResult, 1)}
	water, pad, wild := 28.0, 0.0, uint32(1)
	on := 0
	out := &controller.Output{}
	for i := range hours * 3600 {
		in.Now = time.Duration(i)*time.Second + time.Duration(i*7919%5)*time.Millisecond
		heat := 0.0
		if out.Command.Heat(true) {
			heat = 1
			on++
		}
		pad += (heat - pad) / 90
		water += 0.00059*pad - 0.000024*(water-22)
		for p := range in.Readings {
			wild = wild*1664525 + 1013904223
			code := int16(water*16 + float64(wild>>24)/256)
			in.Readings[p] = controller.Reading{Value: physic.ZeroCelsius + physic.Temperature(code)*62_500_000, Code: code,
				At: in.Now, Quality: controller.Good}
		}
		if i > 5000 && i < 5200 {
			in.Readings[1] = controller.Reading{Quality: controller.Bad, Flaw: controller.Absent}
		}
		in.Health = controller.Health{StoreProven: true, Permit: true}
		in.Acts = nil
		var acts []loop.ActRequest
		act := func(a controller.Act) {
			in.Acts = append(in.Acts, a)
			acts = append(acts, loop.ActRequest{Act: a, Who: "A. Keeper"})
		}
		if i%1200 == 3 {
			act(controller.Act{Kind: controller.Presence, Place: controller.Board, Number: uint32(i)})
		}
		if i == 10 {
			act(controller.Act{Kind: controller.ConfirmFill, Place: controller.Board, Number: uint32(i)})
			act(controller.Act{Kind: controller.Prove, Place: controller.Board, Number: uint32(i)})
		}
		out = c.Step(in)
		r.Now, r.Wall = in.Now, noon.Add(in.Now)
		r.Stations[0] = loop.StationResult{Name: "north", Input: in, Output: out, Acts: acts}
		m.Tick(r)
	}
	if on == 0 {
		t.Fatalf("the crude tub never heated: %v withholds it", out.Reason)
	}
}

func record(t *testing.T, core string) *journal.Memory {
	t.Helper()
	m := journal.NewMemory(journal.Options{})
	first, err := controller.New(settings())
	if err != nil {
		t.Fatal(err)
	}
	if err := first.Restore(nil); err != nil {
		t.Fatal(err)
	}
	state := first.Save()
	c, err := controller.New(settings())
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Restore(state); err != nil {
		t.Fatal(err)
	}
	m.Restored("north", state)
	m.Settings("north", core, settings())
	drive(t, m, c, 4)
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return m
}

func TestEveryDecisionComesOutAgain(t *testing.T) {
	m := record(t, "1.0")
	rep, err := Run(m, "1.0")
	if err != nil {
		t.Fatal(err)
	}
	if !rep.OK || rep.Ticks != 4*3600 || rep.Compared != rep.Ticks {
		t.Fatalf("%+v", rep)
	}
	other, err := Run(m, "1.1")
	if err != nil || !other.OK || other.Compared != 0 || !strings.Contains(other.Stations[0].NotComparable, "1.1") {
		t.Errorf("another core: %+v, %v", other, err)
	}
}

// changed is a record in which one body was replaced.
type changed struct {
	verify.Source
	change func(*entry.Entry) bool // false leaves the row out
}

func (c changed) Rows(f func(verify.Row) error) error {
	return c.Source.Rows(func(r verify.Row) error {
		e, err := entry.Decode(r.Body)
		if err != nil {
			return err
		}
		if !c.change(&e) {
			return nil
		}
		r.Body = e.Append(nil)
		return f(r)
	})
}

func TestChangesAndHolesAreTold(t *testing.T) {
	m := record(t, "1.0")
	blocks := 0
	swapped, err := Run(changed{m, func(e *entry.Entry) bool {
		if b, ok := e.Body.(*entry.Ticks); ok {
			if blocks++; blocks == 20 {
				b.Columns[entry.ColCommand][5] ^= 1
			}
		}
		return true
	}}, "1.0")
	if err != nil || swapped.OK || len(swapped.Differences) != 1 || swapped.Differences[0].What != "command" {
		t.Errorf("a command that was changed: %+v, %v", swapped, err)
	}
	warmer, err := Run(changed{m, func(e *entry.Entry) bool {
		if b, ok := e.Body.(*entry.Ticks); ok {
			for p := range b.Probes {
				for i := range b.Columns[0] {
					b.Columns[entry.ProbeColumn(p, entry.ColValue)][i] += 3_000_000_000
				}
			}
		}
		return true
	}}, "1.0")
	if err != nil || warmer.OK {
		t.Errorf("warmer water gave the same decisions: %+v, %v", warmer, err)
	}
	blocks = 0
	hole, err := Run(changed{m, func(e *entry.Entry) bool {
		if e.Body.Kind() == entry.KindTicks {
			blocks++
			return blocks != 20
		}
		return true
	}}, "1.0")
	if err != nil || !hole.OK || hole.Compared == 0 || hole.Compared >= hole.Ticks || hole.Stations[0].NotComparable == "" {
		t.Errorf("a block that is missing: %+v, %v", hole, err)
	}
	unknown, err := Run(changed{m, func(e *entry.Entry) bool { return e.Body.Kind() != entry.KindSettings }}, "1.0")
	if err != nil || !unknown.OK || unknown.Compared != 0 {
		t.Errorf("settings that are missing: %+v, %v", unknown, err)
	}
}
