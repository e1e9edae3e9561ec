package daemon

import (
	"context"
	"fmt"
	"strings"
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
	h.JournalFailing, h.CardNearlyFull = d.recordFails(record, now), record.NearlyFull
	r := d.loop.Tick(now, wall, trusted, &h)
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
	snap.Journal = d.journalView(record)
	for _, s := range d.notifier.Stats() {
		snap.Targets = append(snap.Targets, loop.TargetView{Name: s.Target, Sent: s.Sent, Failed: s.Failed, Dropped: s.Dropped, Waiting: s.Waiting, Problem: s.Problem})
	}
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

// toldFor is how long a loss in the record is a cause, so that its alarm is
// raised and stays until a person has answered it.
const toldFor = 2 * time.Minute

// recordFails says whether a person must be told of the record now: while it is
// not written, after entries were lost, and when it began anew.
func (d *Daemon) recordFails(h journal.Health, now time.Duration) bool {
	if h.Lost > d.lost {
		d.lost, d.lostAt = h.Lost, now
	}
	return !h.OK || h.Lost > 0 && now-d.lostAt < toldFor || d.aside && now < toldFor
}

// journalView is the state of the record as people see it.
func (d *Daemon) journalView(h journal.Health) loop.JournalView {
	var says []string
	if h.Problem != "" {
		says = append(says, h.Problem)
	}
	if d.recordProblem != "" {
		says = append(says, d.recordProblem)
	}
	if h.Lost > 0 {
		says = append(says, fmt.Sprintf("%d entries were lost since the start", h.Lost))
	}
	_, kept := d.record.(*journal.Journal)
	v := loop.JournalView{
		OK: h.OK && (kept || d.recordProblem == ""), Problem: strings.Join(says, "; "), Queue: h.Queue, Entries: h.Entries,
		LastSync: h.Synced, Durable: h.Durable, Lost: h.Lost, Thinned: h.Thinned, Reopened: h.Reopened,
	}
	if h.Entries > 0 {
		v.Head = hexOf(h.Head)
	}
	return v
}
