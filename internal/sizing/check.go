package sizing

import (
	"cmp"
	"fmt"
	"slices"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
	"soakwarden/sim/physics"
)

// Check returns the problems of a configuration that need the thermal model:
// a pad that is not harmless stuck on and has no cut-out, a floor that needs a
// probe, a material that is not known. They stand beside those of config.Parse.
func Check(cfg *config.Config) []config.Problem {
	var all []config.Problem
	for i := range cfg.Stations {
		all = append(all, check(&cfg.Stations[i]).all...)
	}
	return all
}

// CheckFile returns every problem of a configuration in a file, in the order of
// their places, never nil. The error is about reading the file.
func CheckFile(path string) ([]config.Problem, error) {
	cfg, problems, err := config.Load(path)
	if err != nil {
		return nil, err
	}
	if cfg != nil {
		problems = append(problems, Check(cfg)...)
		slices.SortStableFunc(problems, func(a, b config.Problem) int {
			return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
		})
	}
	if problems == nil {
		problems = []config.Problem{}
	}
	return problems, nil
}

// finding collects the problems of one station.
type finding struct {
	st     *config.Station
	all    []config.Problem
	danger string // of a tub without errors
}

func (f *finding) add(at config.Place, s config.Severity, format string, args ...any) {
	f.all = append(f.all, config.Problem{Line: at.Line, Column: at.Column, Severity: s,
		Message: fmt.Sprintf("station %q: ", f.st.Name) + fmt.Sprintf(format, args...)})
}

func check(st *config.Station) *finding {
	f := &finding{st: st}
	if st.Kind == controller.Chamber {
		f.chamber()
	} else {
		f.tub()
	}
	return f
}

// material says whether a material is known.
func (f *finding) material(at config.Place, what, name string) (physics.Material, bool) {
	m, ok := physics.MaterialByName(name)
	if !ok {
		f.add(at, config.Error, "%s: no material is named %q: write one of %s", what, name, physics.MaterialNames())
	}
	return m, ok
}

func (f *finding) tub() {
	st := f.st
	if _, ok := f.material(st.At("tub.material"), "tub", st.Tub.Material); !ok {
		return
	}
	at := st.At("tub.pad")
	spec := TubSpec(st.Tub)
	if err := spec.Check(); err != nil {
		f.add(st.At("tub"), config.Error, "%v", err)
		return
	}
	if flux := st.Tub.Flux(); !hasRole(st, controller.RoleFloor) {
		switch {
		case flux > config.FloorProbeAt && !st.AttendedOnly:
			f.add(at, config.Error, "the pad has %.0f W/m²: over %.0f a floor probe is required for an animal left unattended: add a probe with role = \"floor\", or use a pad of more area", flux, config.FloorProbeAt)
		case flux > config.FloorProbeAdvice:
			f.add(at, config.Advice, "the pad has %.0f W/m²: over %.0f a floor probe is advised; it finds a stuck relay in minutes", flux, config.FloorProbeAdvice)
		}
	}
	stuck, err := stuckOn(spec, st.RoomWarmest.Celsius())
	if err != nil {
		f.add(at, config.Error, "%v: look at the sizes again", err)
		return
	}
	if upper := st.Species.Upper.Celsius(); stuck > upper && st.Cutout == 0 {
		most, err := harmless(st)
		if err != nil {
			f.add(at, config.Error, "%v: look at the sizes again", err)
			return
		}
		remedy := "fit an independent thermal cut-out with manual reset of at most 35 °C and write cutout = \"35C\""
		if most >= 5 {
			remedy += fmt.Sprintf(", or use a pad of at most %s", watts(most))
		}
		f.add(at, config.Error, "a pad of %s that sticks on takes the water to %s in the warmest room, over the group's upper clinical value of %s: %s", watts(st.Tub.PadPower), both(stuck), both(upper), remedy)
	}
	hold, _, err := sim.HoldPower(spec, st.SetPoint.Celsius(), sim.Drive{Room: st.RoomColdest.Celsius()})
	if err == nil && hold > weakAt*st.Tub.PadPower {
		f.add(at, config.Warning, "the pad of %s is too weak: holding the set point in the coldest room takes %s; soakwarden size says more", watts(st.Tub.PadPower), watts(hold))
	}
	// What is dangerous is said even where nobody leaves the tub alone.
	if f.danger, err = danger(st); err != nil {
		f.add(at, config.Error, "%v: look at the sizes again", err)
		return
	}
	if f.danger != "" {
		f.add(at, config.Warning, "dangerous, so with an animal in it heats only while a person is present: %s", f.danger)
	}
}

func (f *finding) chamber() {
	st := f.st
	known := func(at config.Place, what, name string) {
		m, ok := f.material(at, what, name)
		if ok && !st.Chamber.Freeze && m.Limit > 0 && st.Limit.Celsius() > m.Limit {
			f.add(st.At("limit"), config.Warning, "limit %s is over what %s stands, %s (%s): write a lower limit, or take it out of the chamber", both(st.Limit.Celsius()), name, both(m.Limit), m.LimitSource)
		}
	}
	known(st.At("chamber.material"), "chamber", st.Chamber.Material)
	for i := range st.Pieces {
		p := &st.Pieces[i]
		known(p.At("material"), "piece "+p.Name, p.Material)
	}
	if len(f.all) == 0 {
		spec := ChamberSpec(st)
		if err := spec.Check(); err != nil {
			f.add(st.At("chamber"), config.Error, "%v", err)
		}
	}
}
