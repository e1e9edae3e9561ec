package daemon

import (
	"context"
	"encoding/hex"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
)

func hexOf(sum [32]byte) string { return hex.EncodeToString(sum[:]) }

// alarmKey names one alarm of one station.
type alarmKey struct {
	station string
	cause   controller.Cause
}

// startNotify makes the messengers of the configuration.
func (d *Daemon) startNotify() error {
	o, err := NotifyOptions(d.cfg, d.log)
	if err != nil {
		return err
	}
	o.Demo = d.o.Parts.Bench != nil
	d.notifier = notify.New(o)
	if len(o.Targets) > 0 {
		ctx, stop := context.WithCancel(context.WithoutCancel(d.ctx))
		gone := make(chan struct{})
		go func() {
			defer close(gone)
			defer d.rescue("notifications")
			d.notifier.Run(ctx)
		}()
		d.down.add("notifications", func() error {
			// A trip that was told in the last tick still goes out.
			drain, done := context.WithTimeout(ctx, 2*time.Second)
			defer done()
			d.notifier.Drain(drain)
			stop()
			<-gone
			return nil
		})
	}
	if h := d.cfg.Heartbeat; h.URL != "" {
		d.pulse = notify.NewPulse(h.URL, h.Every, nil, d.log)
		d.spawn("outgoing heartbeat", d.pulse.Run)
	}
	return nil
}

// tell passes on every alarm that changed since the last tick and drives lamp
// and buzzer. It waits for nothing.
func (d *Daemon) tell(snap *loop.Snapshot, receipt notify.Receipt) {
	lamp, buzzer := d.overdue.Load(), false
	now := make(map[alarmKey]loop.AlarmView, len(d.told))
	for i := range snap.Stations {
		s := &snap.Stations[i]
		for _, a := range s.Alarms {
			k := alarmKey{s.Name, a.Cause}
			now[k] = a
			if a.State.Asks() {
				lamp = lamp || a.Severity >= controller.Warning
				buzzer = buzzer || a.Severity >= controller.HeatOff
			}
			old, known := d.told[k]
			if !known || old.State != a.State || old.Severity != a.Severity || old.Latched != a.Latched {
				d.notifier.Tell(message(s.Name, s.Kind, a, snap, receipt))
			}
		}
	}
	for k, old := range d.told {
		if _, still := now[k]; !still {
			old.State, old.Latched = alarm.Normal, false
			d.notifier.Tell(message(k.station, 0, old, snap, receipt))
		}
	}
	d.told = now
	d.lamp.set(d, "lamp", lamp)
	d.buzzer.set(d, "buzzer", buzzer)
}

func message(station string, kind controller.Kind, a loop.AlarmView, snap *loop.Snapshot, receipt notify.Receipt) notify.Alarm {
	m := notify.Alarm{
		Station: station, Kind: kind, Cause: a.Cause, State: a.State, Severity: a.Severity, Latched: a.Latched,
		At: a.Since, Trusted: snap.Trusted, Receipt: receipt,
	}
	if a.Cause == controller.JournalFailing {
		m.Why = snap.Journal.Problem
	}
	if a.Value != 0 {
		m.Celsius, m.HasValue = float64(a.Value-physic.ZeroCelsius)/float64(physic.Kelvin), true
	}
	return m
}

// signal is an output that tells and does not heat. One that cannot be written
// is said once and does not stop the watchdogs.
type signal struct {
	pin    gpio.PinOut
	on     bool
	broken bool
}

func (s *signal) set(d *Daemon, name string, on bool) {
	if s.pin == nil || on == s.on && !s.broken {
		return
	}
	err := s.pin.Out(gpio.Level(on))
	if err != nil && !s.broken {
		d.log.Error("an output cannot be written", "output", name, "error", err)
	}
	s.on, s.broken = on, err != nil
}
