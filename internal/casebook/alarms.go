package casebook

import (
	"fmt"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
)

// bell is the alarm about one matter of a case.
type bell struct {
	machine  alarm.Machine
	priority procedure.Priority
	what     string    // asks for, and begins with a verb
	since    time.Time // UTC
}

// savedBell is a bell as it is kept, so that a restart does not wake anybody
// about what was answered.
type savedBell struct {
	Matter   string             `json:"matter"`
	State    alarm.State        `json:"state"`
	Priority procedure.Priority `json:"priority"`
	Since    time.Time          `json:"since"`
}

// ring brings the alarms of a case up to date. byHand says that a person has
// just done something in the case: what is over by that is answered, too. It
// says whether something must be kept. The lock is held.
func (b *Book) ring(r *running, byHand bool) bool {
	var is [procedure.MatterCount]procedure.Due
	for _, d := range b.due(r) {
		is[d.Matter] = d
	}
	changed := false
	for _, m := range procedure.Matters() {
		d, a := &is[m], &r.bells[m]
		active := d.Priority != procedure.NoPriority || d.Quiet
		before := a.machine.State()
		if active && a.machine.Beneath() != alarm.Unacknowledged && a.machine.Beneath() != alarm.Acknowledged {
			a.since, a.priority = b.o.Moment().Wall, procedure.NoPriority
		}
		a.machine.Update(active, false)
		if !active && byHand {
			a.machine.Acknowledge()
		}
		if active {
			climbed := d.Priority > a.priority
			if climbed && d.Priority == procedure.Medium {
				a.machine.Again() // also for whoever answered before it was told
			}
			a.priority, a.what = max(a.priority, d.Priority), d.What
			a.machine.Suppress(d.Quiet)
			if climbed {
				b.write(r, entryOf{Order: "alarm", Says: fmt.Sprintf("Alarm, %s: %s. %s", a.priority, m, d.What)})
			}
			changed = changed || climbed
		} else {
			a.machine.Suppress(false)
		}
		changed = changed || a.machine.State() != before
	}
	return changed
}

// acknowledge answers the alarms about one matter at a station. Nothing is
// forgotten by it: what is overdue stays overdue, and asks anew when it climbs.
func (b *Book) acknowledge(a loop.ActRequest) loop.Answer {
	m := procedure.MatterOf(a.About)
	if a.Act.Kind != controller.Acknowledge {
		return loop.Answer{Why: "refused, nothing was done: " + a.About + " is neither reset nor silenced; do what it asks for, or acknowledge it"}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	done := false
	for _, r := range b.cases {
		if r.c.Tub() != a.Station || !r.bells[m].machine.Acknowledge() {
			continue
		}
		done = true
		b.write(r, entryOf{Order: "acknowledge", Who: a.Who, Why: a.Why, Where: placeWord(a.Act.Place), Says: "Acknowledged: " + m.String() + "."})
		b.save(r)
	}
	if !done {
		return loop.Answer{Refusal: controller.NotActive}
	}
	return loop.Answer{Done: true}
}

// Alarms are those of every case that are not normal, those without a tub too.
func (b *Book) Alarms() []loop.CaseAlarm {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.alarms()
}

// alarms is Alarms with the lock held.
func (b *Book) alarms() []loop.CaseAlarm {
	var all []loop.CaseAlarm
	for _, r := range b.cases {
		for _, m := range procedure.Matters() {
			a := &r.bells[m]
			if a.machine.State() == alarm.Normal {
				continue
			}
			all = append(all, loop.CaseAlarm{
				Station: r.c.Tub(), Case: r.c.ID(), Name: m.String(), Advice: a.what, State: a.machine.State(),
				Medium: a.priority == procedure.Medium, Since: a.since,
			})
		}
	}
	return all
}

func (b *Book) keepBells(r *running) []savedBell {
	var all []savedBell
	for _, m := range procedure.Matters() {
		a := &r.bells[m]
		if state, _, _, _ := a.machine.Parts(); state != alarm.Normal {
			all = append(all, savedBell{m.String(), state, a.priority, a.since})
		}
	}
	return all
}

// restoreBells puts the alarms back. One that cannot be read asks anew.
func (r *running) restoreBells(all []savedBell) {
	for _, s := range all {
		m := procedure.MatterOf(s.Matter)
		machine, ok := alarm.Of(s.State, 0, false, false)
		if m != procedure.NoMatter && ok && s.Priority <= procedure.Medium {
			r.bells[m] = bell{machine: machine, priority: s.Priority, since: s.Since}
		}
	}
}
