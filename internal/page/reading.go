package page

import (
	"strconv"
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

// treating says whether a treatment of a chamber is under way.
func treating(v *loop.StationView) bool { return v.Treatment != nil && v.Treatment.Running }

// telling is the probe that stands for a chamber. In a treatment it is the one
// that is last to reach the target, because the record counts by it: the
// coldest when heating, the warmest when freezing. Without one it is the other
// end, by which the chamber may be opened. −1 when none has a value.
func telling(v *loop.StationView) int {
	worst, warmest := -1, freezing(v) == treating(v)
	for i := range v.Probes {
		p := &v.Probes[i]
		if p.Role == controller.RoleRoom || !status.HasValue(p.Reading) {
			continue
		}
		if worst < 0 || (p.Reading.Value > v.Probes[worst].Reading.Value) == warmest {
			worst = i
		}
	}
	return worst
}

// freezing says whether a chamber's target lies below the freezing point.
func freezing(v *loop.StationView) bool {
	return v.Kind == controller.Chamber && v.SetPoint != 0 && v.SetPoint < physic.ZeroCelsius
}

// mark is the temperature against which readings are shown: in a treatment from
// where on they count, else the set point. The air is given more than the target.
func mark(v *loop.StationView) physic.Temperature {
	if v.Treatment != nil && v.Treatment.Target != 0 {
		return v.Treatment.Target
	}
	return v.SetPoint
}

// shown is the temperature that stands for the station: of a tub the one that
// governs, of a chamber the telling one.
func shown(v *loop.StationView) (physic.Temperature, bool) {
	if v.Kind != controller.Chamber {
		return governing(v)
	}
	if i := telling(v); i >= 0 {
		return v.Probes[i].Reading.Value, true
	}
	return 0, false
}

// probeName is the role of a probe, numbered where the station has several.
func probeName(v *loop.StationView, i int) string {
	before, all := 0, 0
	for j := range v.Probes {
		if v.Probes[j].Role == v.Probes[i].Role {
			all++
			if j <= i {
				before++
			}
		}
	}
	word := status.RoleWord(v.Probes[i].Role)
	if all > 1 {
		word += " " + strconv.Itoa(before)
	}
	return word
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
		words = append(words, probeName(v, i)+" "+value)
	}
	return strings.Join(words, ", ")
}
