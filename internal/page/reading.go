package page

import (
	"strings"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// governing is the reading that governs, and whether there is one that can be
// shown.
func governing(v *loop.StationView) (physic.Temperature, bool) {
	if v.Governing < 0 || v.Governing >= len(v.Probes) {
		return 0, false
	}
	r := v.Probes[v.Governing].Reading
	return r.Value, status.HasValue(r)
}

// activeAlarm says whether the alarm of a cause is active.
func activeAlarm(v *loop.StationView, c controller.Cause) bool {
	for _, a := range v.Alarms {
		if a.Cause == c && status.Active(a.State) {
			return true
		}
	}
	return false
}

// labelOf says in one sentence what a drawing shows.
func labelOf(v *loop.StationView, u status.Units) string {
	words := []string{"Section through " + status.KindWord(v.Kind) + " " + v.Name}
	if v.HeatOn {
		words = append(words, "heat on")
	} else {
		words = append(words, "heat off")
	}
	if v.AnimalIn {
		words = append(words, "animal in")
	}
	for i := range v.Probes {
		p := &v.Probes[i]
		value := "no reading"
		if status.HasValue(p.Reading) {
			value = u.Temperature(p.Reading.Value)
		}
		words = append(words, status.RoleWord(p.Role)+" "+value)
	}
	return strings.Join(words, ", ")
}
