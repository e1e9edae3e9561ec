package casebook

import "soakwarden/controller/procedure"

// Reminder is one thing that is overdue and is told as an alarm.
type Reminder struct {
	Station string
	Name    string // of the alarm; the same as long as it lasts
	Advice  string // begins with a verb
	Medium  bool   // else low
}

// Reminders are the alarms of all cases, those without a tub too.
func (b *Book) Reminders() []Reminder {
	b.mu.Lock()
	defer b.mu.Unlock()
	var all []Reminder
	for _, r := range b.cases {
		if r.c.Stage().Over() {
			continue
		}
		v := r.c.View()
		for _, d := range b.due(r) {
			if d.Priority != procedure.NoPriority {
				all = append(all, Reminder{
					Station: v.Station, Name: "overdue in case " + v.ID + ": " + d.What, Advice: d.What, Medium: d.Priority == procedure.Medium,
				})
			}
		}
	}
	return all
}
