package daemon

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/plan"
	"soakwarden/internal/treat"
)

// openJournal opens the record, reads the latch store and proves it. A card
// that fails here does not keep the daemon from running: somebody must see the
// alarm. But no heat is permitted on a store that was not proven.
func (d *Daemon) openJournal() error {
	if d.o.Parts.Bench == nil {
		wall, _ := d.clock.Wall()
		l, unclean, err := begin(d.o.State, wall)
		d.life, d.unclean = l, unclean
		d.recent.Store(uint32(l.restarts()))
		if err != nil {
			d.log.Error("restarts cannot be counted", "error", err)
			d.unclean = true
		}
		d.down.add("note of an orderly end", d.endLife)
	}
	path := d.cfg.Journal.Path
	if d.o.Journal != "" {
		path = d.o.Journal
	}
	options := journal.Options{
		Reason: d.reason(), Version: d.o.Version, Boot: bootID(), Block: d.cfg.Journal.Block,
		Panicked: func(v any) { d.panicked("journal", v) },
		Troubled: func(reason, stack string) {
			d.log.Error("the journal's file is opened again", "error", reason, "stack", stack)
		},
		Clock: func() journal.Moment {
			wall, trusted := d.clock.Wall()
			return journal.Moment{Now: d.clock.Now(), Wall: wall, Trusted: trusted}
		},
	}
	if d.cfg.Journal.MinFree > 0 {
		options.NearlyFull = uint64(d.cfg.Journal.MinFree)
	}
	if path == "none" {
		d.record = journal.NewMemory(options)
		d.proven = true
	} else if err := d.openRecord(path, options); err != nil {
		d.log.Error("the journal cannot be opened: no station will heat", "path", path, "error", err)
		d.recordProblem = fmt.Sprintf("nothing is kept: it cannot be opened: %v", err)
		options.NoTicks = true // days of readings have no place in memory
		d.record = journal.NewMemory(options)
	} else if err := d.record.Prove(); err != nil {
		d.log.Error("the latch store cannot be trusted: no station will heat", "path", path, "error", err)
		d.recordProblem = fmt.Sprintf("no station heats: %v", err)
	} else {
		d.proven = true
	}
	d.down.addSlow("journal", journalAtMost, d.closeJournal)
	d.record.Config(d.cfg.Name, d.o.Text)
	return nil
}

// openRecord opens the journal and reads the saved states. One that is damaged
// is set aside, and a new one begins in its place: then nothing is known of any
// station's latches, and plan latches them all.
func (d *Daemon) openRecord(path string, o journal.Options) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	j, saved, err := openAndRead(path, o)
	if journal.Damaged(err) {
		aside, failed := journal.SetAside(path)
		if failed != nil {
			return errors.Join(err, failed)
		}
		d.recordProblem = fmt.Sprintf("the record before this start is damaged and was set aside as %s; this is a new one, and every station is latched: %v", aside, err)
		d.log.Error(d.recordProblem)
		d.aside = true
		o.Reason += "; " + d.recordProblem
		j, saved, err = openAndRead(path, o)
	}
	if err != nil {
		return err
	}
	d.record, d.kept = j, saved
	if d.forgotten, err = journal.Aside(path); err != nil {
		return errors.Join(err, j.Close())
	}
	return nil
}

func openAndRead(path string, o journal.Options) (*journal.Journal, map[string][]byte, error) {
	j, err := journal.Open(path, o)
	if err != nil {
		return nil, nil, err
	}
	saved, err := j.LoadStates()
	if err != nil {
		return nil, nil, errors.Join(err, j.Close())
	}
	return j, saved, nil
}

// bootID names this run of the kernel, empty where it has no name.
func bootID() string {
	text, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

func (d *Daemon) reason() string {
	if d.unclean {
		return "start after an unclean stop"
	}
	return "start"
}

// endLife notes an orderly end, when there was one: asked for, with every relay
// driven off before.
func (d *Daemon) endLife() error {
	if d.life == nil || !d.orderly {
		return nil
	}
	if errs := d.gate.drop(); len(errs) > 0 {
		return fmt.Errorf("%d relays are not off: this was no orderly end", len(errs))
	}
	if d.latest.Load() == nil && d.unclean {
		// No tick ran: the next start follows the same unclean stop.
		return d.life.undo()
	}
	return d.life.end()
}

func (d *Daemon) closeJournal() error {
	reason := "stopped"
	if d.why != nil {
		reason = d.why.Error()
	}
	if d.loop != nil && !d.stuck {
		d.saveStates()
	}
	if d.book != nil {
		d.book.Close()
	}
	d.record.Stop(reason)
	return d.record.Close()
}

// plan builds the loop from the saved states.
func (d *Daemon) plan() error {
	saved := d.kept
	d.released = casebook.WatchReleases(d.record, saved[casebook.ReleasesKey])
	d.desk = treat.NewDesk(treat.Options{
		Config: d.cfg, Record: d.released, Unplaced: d.unplaced, Version: d.o.Version, Saved: saved,
		Tell: func(station string, err error) { d.log.Error("treatment", "station", station, "error", err) },
	})
	if d.bench.Desk != nil {
		d.bench.Desk(d.desk)
	}
	// A state that nobody can have written makes a station latch everything.
	unknown := []byte("the latch store was not proven")
	parts := plan.Parts{
		Pins: d.bench.Pins, Buses: d.bench.Buses, Input: d.bench.Input, Truth: d.bench.Truth,
		Saved: map[string][]byte{}, Version: d.o.Version, Treat: d.desk.Driver,
		Demo: d.o.Parts.Bench != nil, Speed: d.o.Parts.Speed,
	}
	if wall, trusted := d.clock.Wall(); trusted {
		parts.Wall = wall
	}
	if d.buzzerOfLoop != nil {
		parts.Buzzer = d.buzzerOfLoop
	}
	// A latch belongs to the physical line, so that renaming a station does
	// not lose it.
	for i := range d.cfg.Stations {
		st := &d.cfg.Stations[i]
		key := st.Name
		if r, ok := d.cfg.Relay(st.PadRelay); ok && d.o.Parts.Bench == nil {
			key = SpecOf("", r.Line).Place()
		}
		d.lines[st.Name] = key
		state, ok := saved[key]
		switch {
		case !d.proven:
			parts.Saved[st.Name] = unknown
		case ok:
			parts.Saved[st.Name] = state
		case d.forgotten:
			// The damaged record may have held a latch of it.
			parts.Saved[st.Name] = unknown
			d.log.Error("latched: the record knows nothing of it, and a damaged one lies beside", "station", st.Name)
		}
	}
	p, err := plan.Build(d.cfg, parts)
	if err != nil {
		return err
	}
	wall, trusted := d.clock.Wall()
	for i := range p.Stations {
		if why := p.Stations[i].NeverAlone; why != "" {
			d.log.Warn("with an animal in it this tub heats only while a person is present: say so with soakwarden round or on its page",
				"station", p.Stations[i].Name, "because", why)
		}
		probes := d.cfg.Stations[i].Probes
		for k := range probes {
			p.Stations[i].Settings.Probes[k].Overdue = trusted && probes[k].Calibration.Overdue(wall)
		}
		d.record.Restored(p.Stations[i].Name, parts.Saved[p.Stations[i].Name])
		d.record.Settings(p.Stations[i].Name, controller.Core(), p.Stations[i].Settings)
	}
	if d.loop, err = loop.New(p); err != nil {
		return err
	}
	if d.aside {
		d.saveStates() // so that the new record holds the latches
	}
	return nil
}

// saveStates keeps every station's state; the store writes only what changed.
func (d *Daemon) saveStates() {
	d.loop.Save(func(station string, state []byte) { d.record.SaveState(d.lines[station], state) })
}

// watchSupply looks at the board's supply voltage from a goroutine of its own,
// because the file is answered by another processor.
func (d *Daemon) watchSupply(ctx context.Context) {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	for {
		text, err := os.ReadFile(d.cfg.Board.Undervoltage)
		d.supplyLow.Store(err == nil && len(text) > 0 && text[0] == '1')
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
