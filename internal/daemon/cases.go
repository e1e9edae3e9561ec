package daemon

import (
	"context"
	"time"

	"golang.org/x/sys/unix"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/casebook"
	"soakwarden/internal/notify"
	"soakwarden/internal/sizing"
	"soakwarden/internal/status"
)

// hearEvery is how often the cases look at their stations, in real time.
const hearEvery = 250 * time.Millisecond

// openCases restores the running cases. One that cannot be restored does not
// keep the bench from being watched over.
func (d *Daemon) openCases() error {
	boot := bootID()
	o := casebook.Options{
		Saved: d.kept, Act: d.Act, Latest: d.Latest, Budget: d.budget, Released: d.released.Has,
		SaveState: func(key string, state []byte) casebook.Receipt { return d.record.SaveState(key, state) },
		Document: func(station, id string, doc []byte) casebook.Receipt {
			return d.record.Document(station, "case", id, doc)
		},
		Moment: func() casebook.Moment {
			wall, trusted := d.clock.Wall()
			m := casebook.Moment{Wall: wall, Trusted: trusted}
			if d.o.Parts.Bench == nil {
				m.Boot, m.Up = boot, uptime()
			}
			return m
		},
	}
	for i := range d.cfg.Stations {
		st := &d.cfg.Stations[i]
		if st.Kind == controller.Tub {
			o.Tubs = append(o.Tubs, casebook.Tub{
				Name: st.Name, Species: st.Species.Name, Upper: st.Species.Upper, AlwaysSeen: st.AttendedOnly, Volume: st.Tub.Volume() * 1000,
			})
		}
	}
	book, err := casebook.Open(o)
	if err != nil {
		d.log.Error("a case is lost", "error", err)
	}
	d.book = book
	return nil
}

// followCases lets the cases see their stations.
func (d *Daemon) followCases(ctx context.Context) {
	tick := time.NewTicker(hearEvery)
	defer tick.Stop()
	told, treated, clocks := map[string]notify.Alarm{}, map[string]notify.Alarm{}, map[string]heldClock{}
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			d.book.Hear(d.Latest())
			d.remind(told)
			d.passOn(treated, treatmentAlarms(d.Latest(), clocks))
		}
	}
}

// remind passes on every alarm of the cases that changed: a low one as a note, a
// medium one as a warning. told are those that were passed on and last.
func (d *Daemon) remind(told map[string]notify.Alarm) {
	_, trusted := d.clock.Wall()
	var now []notify.Alarm
	lamp := false
	for _, c := range d.book.Alarms() {
		now = append(now, notify.Alarm{
			Station: c.Station, Name: c.Name + " in case " + c.Case, Advice: c.Advice, State: c.State, Severity: status.CaseSeverity(c), At: c.Since, Trusted: trusted,
		})
		lamp = lamp || c.Medium && c.State.Asks()
	}
	d.passOn(told, now)
	d.overdue.Store(lamp)
}

// passOn tells every alarm that is not a station's and that changed, and that
// those are over which are not there any more. told are those that were passed
// on and last.
func (d *Daemon) passOn(told map[string]notify.Alarm, now []notify.Alarm) {
	still := map[string]bool{}
	for _, a := range now {
		still[a.Name] = true
		if old, known := told[a.Name]; !known || old.Severity != a.Severity || old.State != a.State {
			told[a.Name] = a
			d.notifier.Tell(a)
		}
	}
	for name, a := range told {
		if !still[name] {
			delete(told, name)
			a.State = alarm.Normal
			d.notifier.Tell(a)
		}
	}
}

// unplaced names the animals whose place nobody named.
func (d *Daemon) unplaced() []string {
	if d.book == nil {
		return nil
	}
	return d.book.Unplaced()
}

// budget asks the model whether pad and tub suit each other.
func (d *Daemon) budget(station string) casebook.Budget {
	i := d.cfg.Station(station)
	if i < 0 {
		return casebook.Budget{}
	}
	size, err := sizing.SizeOf(&d.cfg.Stations[i])
	if err != nil {
		d.log.Error("the heat budget cannot be worked out", "station", station, "error", err)
		return casebook.Budget{}
	}
	b := casebook.Budget{Verdict: string(size.Verdict)}
	if size.Evaporation != nil {
		b.Evaporation = *size.Evaporation
	}
	return b
}

// uptime is the time since the kernel began, sleep included; 0 when it cannot
// be asked.
func uptime() time.Duration {
	var t unix.Timespec
	if unix.ClockGettime(unix.CLOCK_BOOTTIME, &t) != nil {
		return 0
	}
	return time.Duration(t.Nano())
}
