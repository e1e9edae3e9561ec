package page

import (
	"strconv"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// fresh is the age up to which a reading is called new: a bus may need several
// seconds for one cycle.
const fresh = 5 * time.Second

func partOf(v *loop.StationView, i int, u status.Units) partView {
	p := &v.Probes[i]
	part := partView{
		Name: probeName(v, i), Role: status.RoleWord(p.Role), ROM: p.ROM,
		Value: "—", Quality: status.QualityWord(p.Reading.Quality), Age: "—",
		Uncertainty: "±" + u.Difference(p.Uncertainty),
		Abnormal:    p.Reading.Quality != controller.Good,
	}
	if !p.Calibrated {
		part.Uncertainty += ", not calibrated"
	}
	if flaw := status.FlawWord(p.Reading.Flaw); flaw != "" {
		part.Quality += ", " + flaw
	}
	if status.HasValue(p.Reading) {
		part.Value = u.Temperature(p.Reading.Value)
		part.Age = ageWord(p.Age)
	}
	if v.Truth != nil && v.Kind == controller.Tub {
		if c, ok := truthAt(v.Truth, p.Role); ok {
			part.Truth = ofCelsius(u, c)
		}
	}
	return part
}

// ageWord is coarse on purpose, so that the row changes only when it matters.
func ageWord(age time.Duration) string {
	switch {
	case age <= fresh:
		return "new"
	case age < 2*time.Minute:
		return strconv.Itoa(int(age.Seconds())) + " s old"
	}
	return strconv.Itoa(int(age.Minutes())) + " min old"
}

// truthAt is the model's temperature where a probe of this role belongs. It is
// where the probe belongs, not where a fault may have put it.
func truthAt(t *loop.TruthView, r controller.Role) (float64, bool) {
	switch r {
	case controller.RoleControl:
		return t.Lower, true
	case controller.RoleGuard:
		return t.Upper, true
	case controller.RoleFloor:
		return t.Floor, true
	case controller.RoleRoom:
		return t.Room, true
	}
	return 0, false
}

// truthWords is what the model knows, in the demo only.
func truthWords(v *loop.StationView, u status.Units) []string {
	t := v.Truth
	if t == nil {
		return nil
	}
	current := "no current flows"
	if t.PadHeats {
		current = "current flows"
	}
	words := []string{"heater: " + current}
	if v.Kind == controller.Tub {
		words = append(words,
			"water "+ofCelsius(u, t.Water), "pad "+ofCelsius(u, t.Pad), "air under the lid "+ofCelsius(u, t.Air),
			"depth "+strconv.Itoa(int(t.Depth*1000+0.5))+" mm")
	}
	for _, f := range t.Faults {
		words = append(words, "FAULT: "+f)
	}
	return words
}

func ofCelsius(u status.Units, c float64) string {
	return u.Temperature(physic.ZeroCelsius + physic.Temperature(c*float64(physic.Celsius)))
}
