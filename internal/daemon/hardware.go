package daemon

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/internal/relay"
)

// takeLines locks the state folder and drives every remembered line off. The
// configuration's bytes are looked at for the name of the folder and for
// nothing else; one that cannot be read is an error only after that.
func (d *Daemon) takeLines() error {
	var unread error
	if d.o.Text == nil {
		d.o.Text, unread = os.ReadFile(d.o.File)
	}
	if d.o.Parts.Bench != nil {
		return unread
	}
	d.o.chosen = d.o.State != ""
	if !d.o.chosen {
		d.o.State = StateFolder(d.o.Text)
	}
	if unread != nil {
		// A mistyped name of a file makes no folder.
		if _, err := os.Stat(d.o.State); err != nil {
			return unread
		}
	}
	lock, err := relay.TakeLock(d.o.State, "run")
	if err != nil {
		return errors.Join(err, unread)
	}
	d.down.add("lock", lock.Release)
	memory, err := relay.OpenMemory(d.o.State)
	if err != nil {
		d.log.Error("the list of lines ever driven is damaged: what could be read of it is driven off", "error", err)
	}
	d.bank = relay.NewBank(d.o.Parts.System, memory)
	d.down.add("lines", func() error { return d.bank.Close() })
	for _, err := range d.bank.RememberedOff() {
		d.log.Error("a line that was driven before cannot be driven off", "error", err)
	}
	return unread
}

// configure reads the whole configuration.
func (d *Daemon) configure() error {
	cfg, problems := config.Parse(d.o.File, d.o.Text)
	for _, p := range problems {
		d.log.Warn("configuration", "line", p.Line, "column", p.Column, "severity", p.Severity, "problem", p.Message)
	}
	if cfg == nil {
		var all []string
		for _, p := range problems {
			if p.Severity == config.Error {
				all = append(all, fmt.Sprintf("%s:%d:%d: %s", d.o.File, p.Line, p.Column, p.Message))
			}
		}
		return errors.New("the configuration has mistakes:\n" + strings.Join(all, "\n"))
	}
	if d.bank != nil && !d.o.chosen && filepath.Clean(cfg.State) != filepath.Clean(d.o.State) {
		return fmt.Errorf("%s: the state folder is %s, and was looked for in %s: write state = %q on a line of its own above the first table", d.o.File, cfg.State, d.o.State, cfg.State)
	}
	if d.o.Listen != "" {
		cfg.Page.Listen = d.o.Listen
	}
	d.cfg = cfg
	return nil
}

// openBench takes every line of the configuration, off, and puts the relays
// behind the gate.
func (d *Daemon) openBench() error {
	var err error
	if d.o.Parts.Bench != nil {
		d.bench, err = d.o.Parts.Bench(d.cfg)
	} else {
		d.bench, err = d.hardware()
	}
	if err != nil {
		return err
	}
	for i, pin := range d.bench.Pins {
		d.bench.Pins[i] = d.gate.guard("relay "+d.cfg.Relays[i].Name, pin)
	}
	output := func(name string) gpio.PinOut {
		if name == "" || d.bench.Output == nil {
			return nil
		}
		return d.bench.Output(name)
	}
	if pin := output(d.cfg.Heartbeat.Output); pin != nil {
		d.beat = &beat{pin: d.gate.guard("heartbeat output", pin)}
		d.down.add("heartbeat output", d.beat.rest)
	}
	if pin := output(d.cfg.Notify.Lamp); pin != nil {
		d.lamp.pin = d.gate.guard("lamp", pin)
	}
	if pin := output(d.cfg.Notify.Buzzer); pin != nil {
		both := &shared{PinOut: d.gate.guard("buzzer", pin)}
		d.buzzer.pin = side{both, 1}
		d.buzzerOfLoop = side{both, 0}
	}
	return nil
}

// hardware opens relays, outputs, inputs and buses. A relay that cannot be opened is
// an error, because a bench without it cannot be trusted; every other line is
// tried first, so that all mistakes are said at once and all that can be is
// off.
func (d *Daemon) hardware() (Bench, error) {
	var b Bench
	var all error
	for _, r := range d.cfg.Relays {
		pin, err := d.bank.Open(SpecOf(r.Name, r.Line))
		all = errors.Join(all, err)
		b.Pins = append(b.Pins, pin)
	}
	outputs := map[string]gpio.PinOut{}
	for _, o := range d.cfg.Outputs {
		pin, err := d.bank.Open(SpecOf(o.Name, o.Line))
		if err != nil {
			all = errors.Join(all, err)
			continue
		}
		outputs[o.Name] = pin
	}
	inputs := map[string]loop.Feedback{}
	for _, in := range d.cfg.Inputs {
		line, err := d.o.Parts.System.OpenInput(SpecOf(in.Name, in.Line), relay.Pull(in.Pull))
		if err != nil {
			all = errors.Join(all, err)
			continue
		}
		inputs[in.Name] = line
		d.down.add("input "+in.Name, line.Close)
	}
	for _, bus := range d.cfg.Buses {
		opened, err := d.openBus(bus)
		if err != nil {
			all = errors.Join(all, err)
			continue
		}
		d.running = append(d.running, opened)
		b.Buses = append(b.Buses, opened)
	}
	b.Output = func(name string) gpio.PinOut {
		if pin, ok := outputs[name]; ok {
			return pin
		}
		return nil
	}
	b.Input = func(name string) loop.Feedback {
		if in, ok := inputs[name]; ok {
			return in
		}
		return nil
	}
	return b, all
}
