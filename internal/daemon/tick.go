package daemon

import (
	"context"
	"time"

	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
)

const (
	period    = time.Second
	stepLimit = 2 * time.Second  // a wall clock that moved by more against the monotonic one was stepped
	saveEvery = 15 * time.Minute // of on-time, grace and evidence; a latch is saved at once
)

// startTicks runs the one goroutine that acts.
func (d *Daemon) startTicks() error {
	if d.life != nil {
		d.spawn("an hour without a restart", d.steady)
	}
	d.spawn("tick", d.ticks)
	d.spawn("tick's watch", func(ctx context.Context) { d.watchTicks(ctx, period) })
	d.spawn("cases", d.followCases)
	return nil
}

// ticks runs a tick a second. One that comes too late is counted and never
// caught up: a burst of decisions on one reading would be no better than one.
func (d *Daemon) ticks(ctx context.Context) {
	first := d.clock.Now()
	var due time.Duration
	var offset time.Duration // wall clock minus monotonic clock
	for n := 0; ; n++ {
		d.clock.Sleep(first+due, ctx.Done())
		if ctx.Err() != nil {
			return
		}
		now := d.clock.Now()
		late := now - first - due
		if skipped := late / period; skipped > 0 {
			d.missed += uint64(skipped)
			due += skipped * period
		}
		wall, trusted := d.clock.Wall()
		moved := wall.Sub(time.Unix(0, 0)) - now - offset
		offset += moved
		d.underway.Store(uint64(n) + 1)
		d.tick(now, wall, trusted, loop.Health{
			StoreProven: d.proven, Unclean: d.unclean, Restarts: d.restarts(),
			LateBy: max(0, late), ClockStepped: n > 0 && (moved > stepLimit || moved < -stepLimit),
			SupplyLow: d.supplyLow.Load(), Missed: d.missed,
		})
		d.underway.Store(0)
		due += period
	}
}

// tick is one whole tick: sample, decide and act in the loop; then record,
// tell, and prove alive. Nothing here waits for a disk or a network.
func (d *Daemon) tick(now time.Duration, wall time.Time, trusted bool, h loop.Health) {
	if d.bench.Advance != nil {
		d.bench.Advance(now)
	}
	record := d.record.Health()
	h.JournalFailing, h.CardNearlyFull = !record.OK, record.NearlyFull
	r := d.loop.Tick(now, wall, trusted, h)
	if d.bench.Hear != nil {
		d.bench.Hear(r, d.loop)
	}

	ill, mute := false, false
	for i := range r.Relays {
		if err := r.Relays[i].Err; err != nil {
			if r.Relays[i].Tells {
				// A reboot mends no buzzer and takes the heat from everybody.
				if mute = true; !d.mute {
					d.log.Error("the buzzer cannot be written: no treatment will heat", "output", r.Relays[i].Relay, "error", err)
				}
				continue
			}
			ill = true
			if !d.ill {
				d.log.Error("a relay cannot be written: heartbeat and watchdogs are not fed", "relay", r.Relays[i].Relay, "error", err)
			}
		}
	}
	d.ill, d.mute = ill, mute
	receipt := d.keep(r, now)
	snap := d.loop.Snapshot()
	snap.Journal = journalView(record)
	d.book.Show(snap)
	d.latest.Store(snap)
	d.tell(snap, receipt)
	if !ill {
		d.proveAlive(snap)
	}
}

// keep hands the tick to the record, and the states with it when there is
// something that a restart must know. The receipt is nil when nobody waits for
// this tick.
func (d *Daemon) keep(r *loop.Result, now time.Duration) notify.Receipt {
	receipt := d.record.Tick(r)
	if r.Urgent || now-d.saved >= saveEvery {
		d.saved = now
		d.saveStates()
	}
	if r.Urgent {
		return receipt
	}
	return nil
}

func (d *Daemon) restarts() uint8 {
	if d.life == nil {
		return 0
	}
	return uint8(d.recent.Load())
}

// steady waits an hour and then forgets the restarts before.
func (d *Daemon) steady(ctx context.Context) {
	d.clock.Sleep(d.clock.Now()+lifeSpan, ctx.Done())
	if ctx.Err() != nil {
		return
	}
	d.recent.Store(0)
	if err := d.life.steady(); err != nil {
		d.log.Error("restarts cannot be counted", "error", err)
	}
}

func journalView(h journal.Health) loop.JournalView {
	v := loop.JournalView{OK: h.OK, Problem: h.Problem, Queue: h.Queue, Entries: h.Entries, LastSync: h.Synced}
	if h.Entries > 0 {
		v.Head = hexOf(h.Head)
	}
	return v
}
