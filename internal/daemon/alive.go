package daemon

import (
	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
)

// startWatchdogs arms the hardware watchdog. One that cannot be opened is an
// error: who wrote it into the configuration relies on it.
func (d *Daemon) startWatchdogs() error {
	if d.cfg.Watchdog.Device == "" || d.o.Parts.Bench != nil {
		return nil
	}
	dog, err := openWatchdog(d.cfg.Watchdog.Device, d.cfg.Watchdog.Timeout)
	if dog == nil {
		return err
	}
	if err != nil {
		d.log.Warn("watchdog", "error", err)
	}
	d.dog = dog
	d.down.add("watchdog", func() error {
		return dog.close(d.orderly && len(d.gate.drop()) == 0)
	})
	return nil
}

// proveAlive is the end of a good tick, and the only place that feeds anything.
func (d *Daemon) proveAlive(snap *loop.Snapshot) {
	if d.dog != nil {
		if err := d.dog.feed(); err != nil {
			d.log.Error("watchdog", "error", err)
		}
	}
	if err := d.boss.send(supervisorAlive); err != nil {
		d.log.Warn("service manager", "error", err)
	}
	if d.pulse != nil {
		d.pulse.Good()
	}
	if d.beat == nil {
		return
	}
	if warmsOff(snap) {
		// Relays no longer help: the external one must open.
		_ = d.beat.rest()
		return
	}
	if err := d.beat.toggle(); err != nil {
		d.log.Error("heartbeat output", "error", err)
	}
}

// warmsOff says whether a station warms with everything off. An alarm that is
// silenced counts: only one that is over does not.
func warmsOff(snap *loop.Snapshot) bool {
	for i := range snap.Stations {
		for _, a := range snap.Stations[i].Alarms {
			if a.Cause == controller.BothWelded && (a.Latched || a.State != alarm.Normal && a.State != alarm.Returned) {
				return true
			}
		}
	}
	return false
}
