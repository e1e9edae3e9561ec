package daemon

import (
	"context"
	"time"

	"golang.org/x/sys/unix"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/sizing"
)

// hearEvery is how often the cases look at their stations, in real time.
const hearEvery = 250 * time.Millisecond

// openCases restores the running cases. One that cannot be restored does not
// keep the bench from being watched over.
func (d *Daemon) openCases() error {
	boot := bootID()
	o := casebook.Options{
		Saved: d.kept, Act: d.Act, Latest: d.Latest, Budget: d.budget,
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
	d.spawn("cases", d.followCases)
	return nil
}

// followCases lets the cases see their stations.
func (d *Daemon) followCases(ctx context.Context) {
	tick := time.NewTicker(hearEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			d.book.Hear(d.Latest())
		}
	}
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
