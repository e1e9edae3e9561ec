package main

import (
	"bytes"
	"errors"
	"os"
	"sync"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/daemon"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/plan"
	"soakwarden/sensors"
)

// wire is a pin in memory.
type wire struct {
	gpio.PinOut // nil: nothing but Out is called
	on          bool
}

func (w *wire) Out(l gpio.Level) error { w.on = bool(l); return nil }

// cycles is a bus that is always up to date.
type cycles struct{ sensors.Cycle }

func (c *cycles) Latest() *sensors.Cycle { return &c.Cycle }

// virtual runs the program's own loop on the player's tub in virtual time.
type virtual struct {
	p           *player
	loop        *loop.Loop
	pad, series wire
	bus         cycles
	now         time.Duration
}

func newVirtual(t *testing.T, p *player) *virtual {
	t.Helper()
	v := &virtual{p: p}
	built, err := plan.Build(p.cfg, plan.Parts{Pins: []gpio.PinOut{&v.pad, &v.series}, Buses: []loop.Bus{&v.bus}})
	if err != nil {
		t.Fatal(err)
	}
	if v.loop, err = loop.New(built); err != nil {
		t.Fatal(err)
	}
	return v
}

// act submits an act; its answer comes with the next second.
func (v *virtual) act(t *testing.T, kind controller.ActKind) {
	t.Helper()
	if _, ok := v.loop.Submit(loop.ActRequest{Station: "north", Who: "keeper", Act: controller.Act{Kind: kind, Place: controller.Board}}); !ok {
		t.Fatal("the act was not taken")
	}
}

// second lets one pass.
func (v *virtual) second() *loop.StationView {
	v.now += time.Second
	v.p.pass(1, v.pad.on && v.series.on)
	v.bus.Cycle = sensors.Cycle{Seq: v.bus.Seq + 1, Started: v.now - time.Second, Ended: v.now}
	for _, probe := range plan.Probes(v.p.cfg, "header") {
		value := v.p.water
		if sensors.FormatROM(probe.Address) == "28-"+serialFloor {
			value += v.p.rise * v.p.pad
		}
		code := v.p.code(value)
		v.bus.Samples = append(v.bus.Samples, sensors.Sample{Address: probe.Address, Reading: controller.Reading{
			Value: physic.ZeroCelsius + physic.Temperature(code)*physic.Kelvin/16, Code: code, At: v.bus.Started, Quality: controller.Good,
		}})
	}
	v.loop.Tick(v.now, time.Unix(0, 0).Add(v.now), true, &loop.Health{StoreProven: true})
	return &v.loop.Snapshot().Stations[0]
}

var day struct {
	sync.Mutex
	state []byte
}

// prove leaves the state of a proven bench in the journal, as a keeper does on
// the day before: relays, pairing and water are proven, the water is in band,
// nothing alarms, and no animal is in the tub. All benches of the tests are alike, so one day before serves all.
func prove(t *testing.T, p *player) {
	t.Helper()
	day.Lock()
	defer day.Unlock()
	if day.state == nil {
		day.state = dayBefore(t, p)
	}
	if err := os.MkdirAll(p.file("state"), 0o755); err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(p.cfg.Journal.Path, journal.Options{Reason: "the day before"})
	if err != nil {
		t.Fatal(err)
	}
	line, _ := p.cfg.Relay("pad")
	receipt := j.SaveState(daemon.SpecOf("", line.Line).Place(), day.state)
	<-receipt.Done()
	<-j.Stop("the day before").Done()
	if err := errors.Join(receipt.Err(), j.Close()); err != nil {
		t.Fatal(err)
	}
}

func dayBefore(t *testing.T, p *player) (saved []byte) {
	t.Helper()
	v := newVirtual(t, p)
	p.water = 28.5
	v.act(t, controller.AnimalOut)
	v.act(t, controller.ConfirmFill)
	for v.now < 6*time.Hour {
		if v.now%(10*time.Minute) == 0 {
			v.act(t, controller.Presence)
		}
		view := v.second()
		if view.Stage == controller.StageDone.String() && view.ReadyAt != 0 && len(view.Alarms) == 0 && !v.pad.on {
			v.loop.Save(func(_ string, state []byte) { saved = bytes.Clone(state) })
			return saved
		}
		if v.now%(5*time.Minute) == 0 {
			t.Logf("%v: %s, %s, %.2f °C", v.now, view.Stage, view.Reason.Rule().Name, p.water)
		}
	}
	t.Fatalf("the bench was not proven within %v", v.now)
	return nil
}
