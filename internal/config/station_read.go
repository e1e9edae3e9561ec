package config

import (
	"fmt"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// speciesTable holds the upper end of each group's clinical preferred zone, in
// °C. Source: WikiVet, "Preferred optimum temperature zone". For other snakes
// the upper end of the quartile means over many species, 30.7 °C rounded down
// (Halliday and Blouin-Demers, appendix 1).
var speciesTable = []struct {
	name    string
	celsius int64
}{
	{"python", 34}, {"boa", 34}, {"corn snake", 32}, {"rat snake", 32}, {"kingsnake", 32}, {"garter snake", 32}, {"other", 30},
}

func speciesNames() []string {
	names := make([]string, len(speciesTable))
	for i, s := range speciesTable {
		names[i] = s.name
	}
	return names
}

// SpeciesGroups lists the groups that a tub's species may name.
func SpeciesGroups() []Species {
	all := make([]Species, len(speciesTable))
	for i, s := range speciesTable {
		all[i] = Species{s.name, celsius(s.celsius)}
	}
	return all
}

func celsius(t int64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(t)*physic.Celsius
}

// title names the station in messages.
func (s *Station) title(i int) string {
	if s.Name == "" {
		return fmt.Sprintf("station number %d", i+1)
	}
	return fmt.Sprintf("station %s", show(s.Name))
}

func (r *reader) station(v any, i int) Station {
	s, raw, path := Station{}, rawStation{}, element("\x00station", i)
	what := titled("station", v, i)
	s.at = r.table(v, path, what, s.fields(&raw), "tub", "chamber", "probe", "piece")
	t, _ := v.(map[string]any)
	for _, g := range SpeciesGroups() {
		if g.Name == raw.species {
			s.Species = g
		}
	}
	switch raw.kind {
	case "tub":
		s.Kind = controller.Tub
		r.misplaced(&s, what, "a chamber", t, path, "chamber", "piece", "limit", "fan_relay", "airflow_input", "door_input")
		r.tub(&s, t, path, what)
	case "chamber":
		s.Kind = controller.Chamber
		r.misplaced(&s, what, "a tub", t, path, "tub", "animal", "species", "too_cold", "cutoff", "floor_bound", "attended_only")
		r.chamber(&s, t, path, what)
	}
	for n, v := range r.list(t["probe"], join(path, "probe"), "station probe") {
		s.Probes = append(s.Probes, r.probe(v, element(join(path, "probe"), n), fmt.Sprintf("%s: probe number %d", what, n+1)))
	}
	switch s.Kind {
	case controller.Tub:
		r.tubBounds(&s, what)
	case controller.Chamber:
		r.chamberBounds(&s, what)
	}
	if s.RoomColdest > s.RoomWarmest && !s.at.bad("room_coldest", "room_warmest") {
		r.add(s.at.of("room_coldest"), Error, "%s: room_coldest %s is over room_warmest %s: write the colder one here", what, Written(s.RoomColdest), Written(s.RoomWarmest))
	}
	return s
}

// misplaced complains of keys that belong to the other kind of station.
func (r *reader) misplaced(s *Station, what, owner string, t map[string]any, path string, keys ...string) {
	for _, key := range keys {
		if _, ok := t[key]; ok {
			r.add(r.at.key(join(path, key)), Error, "%s: %s belongs to %s: take it out", what, key, owner)
		}
	}
	if s.Kind == controller.Tub {
		s.FanRelay, s.AirflowInput, s.DoorInput = "", "", ""
	}
}

// nest copies the places of an inner table into the station's, as "tub.pad".
func (s *Station) nest(name string, m marks) {
	for key, p := range m {
		if key == "" {
			s.at[name] = p
		} else {
			s.at[name+"."+key] = p
		}
	}
}

func (r *reader) tub(s *Station, t map[string]any, path, what string) {
	tub, raw := &s.Tub, rawTub{}
	if t["tub"] == nil {
		r.add(s.at.of(""), Error, "%s: tub is missing: write tub = { length = \"400mm\", width = \"280mm\", depth = \"60mm\", pad = \"20W\" }", what)
		s.at["tub!"] = s.at.of("")
		return
	}
	if r.broken(t["tub"]) {
		s.at["tub!"] = s.at.of("")
		return
	}
	m := r.table(t["tub"], join(path, "tub"), what+": tub", tub.fields(&raw))
	s.nest("tub", m)
	if m.bad("length", "width", "depth", "pad", "pad_length", "pad_width", "height") {
		s.at["tub!"] = m.of("")
		return
	}
	if !m.has("height") {
		tub.Height = tub.Depth + 0.1
	} else if tub.Height <= tub.Depth {
		r.add(m.of("height"), Error, "%s: tub: height %s is not over the depth of the water, %s: write the height of the walls", what, millimetres(tub.Height), millimetres(tub.Depth))
	}
	floor := tub.Length * tub.Width
	switch {
	case m.has("pad_length") != m.has("pad_width"):
		r.add(m.of("pad"), Error, "%s: tub: only one of pad_length and pad_width is written: write both or neither", what)
	case !m.has("pad_length"):
		tub.PadArea = min(0.9*floor, max(tub.PadPower/250, 0.05*floor))
	case max(raw.padLength, raw.padWidth) > max(tub.Length, tub.Width)+1e-9 || min(raw.padLength, raw.padWidth) > min(tub.Length, tub.Width)+1e-9:
		r.add(m.of("pad_length"), Error, "%s: tub: the pad of %s by %s is larger than the floor of %s by %s: write the heated area that lies under the water",
			what, millimetres(raw.padLength), millimetres(raw.padWidth), millimetres(tub.Length), millimetres(tub.Width))
	default:
		tub.PadArea = raw.padLength * raw.padWidth
		if tub.PadArea < 0.02*floor {
			r.add(m.of("pad_length"), Error, "%s: tub: the pad covers less than 2 %% of the floor: use a larger one", what)
		}
	}
	if tub.PadArea == 0 {
		s.at["tub!"] = m.of("")
	}
}

func (r *reader) chamber(s *Station, t map[string]any, path, what string) {
	ch := &s.Chamber
	if t["chamber"] == nil {
		r.add(s.at.of(""), Error, "%s: chamber is missing: write chamber = { length = \"900mm\", width = \"500mm\", height = \"700mm\", heater = \"250W\" }", what)
		s.at["chamber!"] = s.at.of("")
		return
	}
	if r.broken(t["chamber"]) {
		s.at["chamber!"] = s.at.of("")
		return
	}
	m := r.table(t["chamber"], join(path, "chamber"), what+": chamber", ch.fields())
	s.nest("chamber", m)
	switch {
	case ch.Freeze && m.has("heater"):
		r.add(m.of("heater"), Error, "%s: chamber: a freezer has no heater: take heater out, or freeze", what)
	case !ch.Freeze && !m.has("heater"):
		r.add(m.of(""), Error, "%s: chamber: heater is missing: write heater = \"250W\", or freeze = true for a freezer", what)
		s.at["chamber!"] = m.of("")
	}
	if !ch.Freeze && m.has("cooler") {
		r.add(m.of("cooler"), Error, "%s: chamber: cooler belongs to a freezer: take it out, or write freeze = true", what)
	}
	if ch.Freeze && !m.has("cooler") {
		ch.CoolerPower = 100
	}
	if m.bad("length", "width", "height", "heater", "cooler", "freeze") {
		s.at["chamber!"] = m.of("")
	}
	seen := map[string]bool{}
	for n, v := range r.list(t["piece"], join(path, "piece"), "station piece") {
		p := r.piece(v, element(join(path, "piece"), n), fmt.Sprintf("%s: %s", what, titled("piece", v, n)))
		if p.at.bad("name", "shape", "material", "thickness", "area", "diameter", "width", "height", "length", "moisture") {
			s.at["piece!"] = p.at.of("")
		}
		if p.Name != "" && seen[p.Name] {
			r.add(p.at.of("name"), Error, "%s: piece %s: the name is taken by a piece above: write another", what, show(p.Name))
		}
		seen[p.Name] = true
		s.Pieces = append(s.Pieces, p)
	}
}

func millimetres(m float64) string { return short(m*1000) + " mm" }

// Written gives a temperature in both units, as messages show it.
func Written(t physic.Temperature) string {
	return fmt.Sprintf("%s °C (%s °F)", short(t.Celsius()), short(t.Fahrenheit()))
}
