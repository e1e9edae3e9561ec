package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/plan"
	"soakwarden/sensors"
	"soakwarden/sensors/ds248x"
	"soakwarden/sensors/kernel"
)

// startBuses gives every bus its goroutine.
func (d *Daemon) startBuses() error {
	for _, b := range d.running {
		d.spawn("bus "+b.Name(), func(ctx context.Context) {
			if err := b.Run(ctx); err != nil && !errors.Is(err, context.Canceled) {
				panic(err) // a bus without a clock is a mistake in the program
			}
		})
	}
	if d.cfg.Board.Undervoltage != "" {
		d.spawn("supply voltage", d.watchSupply)
	}
	if in := d.button(); in != nil {
		d.spawn("button", func(ctx context.Context) { d.watchButton(ctx, in) })
	}
	return nil
}

func (d *Daemon) button() loop.Feedback {
	if d.cfg.Board.Button == "" || d.bench.Input == nil {
		return nil
	}
	return d.bench.Input(d.cfg.Board.Button)
}

// watchButton takes a press for somebody who stands at the board. It looks
// oftener than a tick because a press is short, and two looks must agree
// because contacts bounce.
func (d *Daemon) watchButton(ctx context.Context, in loop.Feedback) {
	const look = 30 * time.Millisecond
	tick := time.NewTicker(look)
	defer tick.Stop()
	var before, held bool
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		now := in.Seen() == controller.ContactClosed
		if now == before && now != held {
			held = now
			if held {
				d.present()
			}
		}
		before = now
	}
}

// present tells every station that somebody is here.
func (d *Daemon) present() {
	for i := range d.cfg.Stations {
		d.loop.Submit(loop.ActRequest{
			Station: d.cfg.Stations[i].Name, Who: "button", Why: "pressed at the board",
			Act: controller.Act{Kind: controller.Presence, Place: controller.Board},
		})
	}
}

// OpenSource opens what a bus of the configuration is read through, for as long
// as the program runs.
func OpenSource(b config.Bus) (sensors.Source, error) {
	source, _, err := openSource(b)
	return source, err
}

// openSource opens a bus's source; close it when the bus is no longer read. A folder or a bridge that does not answer is
// no error here: the bus reports it in every cycle, and the stations on it do
// not heat.
func openSource(b config.Bus) (sensors.Source, io.Closer, error) {
	switch b.Kind {
	case config.KernelBus:
		return kernel.New(kernelFolder(b)), io.NopCloser(nil), nil
	case config.DS248xBus:
		source, closer, err := ds248x.Open(b.I2C, b.Address)
		if err != nil {
			return nil, nil, fmt.Errorf("bus %s: %w", b.Name, err)
		}
		return source, closer, nil
	case config.SimulatedBus:
		return nil, nil, fmt.Errorf("bus %s is simulated: this works on hardware; soakwarden demo shows the model", b.Name)
	}
	return nil, nil, fmt.Errorf("bus %s: kind %q is not known", b.Name, b.Kind)
}

// openBus makes a bus of the configuration with its probes.
func (d *Daemon) openBus(b config.Bus) (*sensors.Bus, error) {
	source, closer, err := openSource(b)
	if err != nil {
		return nil, err
	}
	d.down.add("bus "+b.Name, closer.Close)
	return sensors.NewBus(sensors.Options{
		Name: b.Name, Source: source, Probes: plan.Probes(d.cfg, b.Name), Now: d.clock.Now,
	})
}

// kernelFolder is the folder of one master where there are several: their
// conversions are started apart. With one, the folder of all devices does.
func kernelFolder(b config.Bus) string {
	masters, err := filepath.Glob(filepath.Join(b.Path, "w1_bus_master[0-9]*"))
	if err != nil || len(masters) < 2 {
		return b.Path
	}
	return filepath.Join(b.Path, b.Master)
}
