package daemon

import (
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/notify"
)

// heldWorth is how long a target must have been held before its loss is told: a
// core that has just arrived flickers about it.
const heldWorth = 10 * time.Minute

// heldClock is what is remembered of a running treatment from look to look.
type heldClock struct {
	number string
	held   time.Duration // together, at the last look
	lost   bool          // it had been held for heldWorth and is no more
	since  time.Time     // of the loss, of the end, or of the wait for release
	stage  string
}

// treatmentAlarms are what a person who is not in the room must know of the
// treatments: that the target was lost, that one failed, that one waits for a
// release. clocks is what the looks before left.
func treatmentAlarms(snap *loop.Snapshot, clocks map[string]heldClock) (list []notify.Alarm) {
	if snap == nil {
		return nil
	}
	for i := range snap.Stations {
		v := &snap.Stations[i]
		t := v.Treatment
		if t == nil {
			delete(clocks, v.Name)
			continue
		}
		c := clocks[v.Name]
		if c.number != t.Number {
			c = heldClock{number: t.Number, since: snap.Wall}
		}
		if lost := t.Running && (c.lost || c.held >= heldWorth) && t.Together == 0; lost != c.lost || t.Stage != c.stage && !t.Running {
			c.lost, c.since = lost, snap.Wall
		}
		c.held, c.stage = t.Together, t.Stage
		clocks[v.Name] = c
		tell := func(what, advice string, severity controller.Severity) {
			list = append(list, notify.Alarm{
				Station: v.Name, Kind: v.Kind, Name: what + " in treatment " + t.Number, Advice: advice,
				State: alarm.Unacknowledged, Severity: severity, At: c.since, Trusted: snap.Trusted,
			})
		}
		switch {
		case c.lost:
			tell("target lost", "Look at the chamber: the time begins anew.", controller.Warning)
		case !t.Running && t.Failed:
			tell("FAIL", "Keep what was treated away from clean things.", controller.Warning)
		}
		if t.Awaits {
			tell("over and safe to open", "Release the chamber.", controller.Note)
			list[len(list)-1].Why = pinned(t, &snap.Journal)
		}
	}
	return list
}

// pinned says how a treatment ended and the chain value that pins its record:
// who keeps the message can prove later what stood in the record then. It was
// over long before the chamber is safe to open, so that its end is among them.
func pinned(t *loop.TreatmentView, j *loop.JournalView) string {
	if !j.OK || j.Durable != j.Entries || j.Head == "" {
		return t.Result + "; the record is not on disk, so there is no chain value to keep"
	}
	return fmt.Sprintf("%s; keep the chain value of its record: %s over %d entries", t.Result, j.Head, j.Entries)
}
