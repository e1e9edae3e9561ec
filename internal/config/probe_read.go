package config

import (
	"fmt"
	"slices"

	"soakwarden/controller"
	"soakwarden/sensors"
)

var roleNames = []string{"control", "guard", "floor", "room", "core", "surface", "air"}

var roles = []controller.Role{
	controller.RoleControl, controller.RoleGuard, controller.RoleFloor, controller.RoleRoom,
	controller.RoleCore, controller.RoleSurface, controller.RoleAir,
}

// RoleName is the word for a role in a configuration, empty for none.
func RoleName(role controller.Role) string {
	if i := slices.Index(roles, role); i >= 0 {
		return roleNames[i]
	}
	return ""
}

// RoleNamed is the role of that word, NoRole when there is none.
func RoleNamed(word string) controller.Role {
	if i := slices.Index(roleNames, word); i >= 0 {
		return roles[i]
	}
	return controller.NoRole
}

var calibrationKeys = []string{"offset", "offset_at", "second_offset", "second_at", "uncertainty", "calibrated", "method", "due"}

// Bounds on how many there may be.
const (
	MostProbes   = 16 // of a station
	MostStations = 512
)

func (r *reader) probe(v any, path, what string) Probe {
	p, raw := Probe{Height: -1, Depth: -1}, rawProbe{}
	p.at = r.table(v, path, what, p.fields(&raw))
	p.Role = RoleNamed(raw.role)
	if !p.at.bad("rom") {
		address, err := sensors.ParseROM(p.ROM)
		if err != nil {
			r.add(p.at.of("rom"), Error, "%s: %v", what, err)
		} else {
			p.Address, p.ROM = address, sensors.FormatROM(address)
		}
	}
	r.calibration(&p, raw, what)
	return p
}

// calibration builds what is known of the probe's error.
func (r *reader) calibration(p *Probe, raw rawProbe, what string) {
	m, c := p.at, &p.Calibration
	if m.bad(calibrationKeys...) {
		return
	}
	two := m.has("second_offset") || m.has("second_at")
	switch {
	case !m.has("offset"):
		for _, key := range calibrationKeys {
			if m.has(key) {
				r.add(m.of(key), Error, "%s: %s means nothing without an offset: measure the probe in melting ice and write offset, \"0K\" when it reads right; or take %s out", what, key, key)
				return
			}
		}
		c.Uncertainty = sensors.Uncalibrated
		return
	case two && !(m.has("second_offset") && m.has("second_at") && m.has("offset_at")):
		r.add(m.of("offset"), Error, "%s: a calibration at two points needs offset, offset_at, second_offset and second_at: write all four", what)
		return
	}
	c.Done, c.Offset, c.OffsetAt = true, raw.offset, raw.offsetAt
	c.Second, c.SecondOffset, c.SecondAt = two, raw.second, raw.secondAt
	if !m.has("uncertainty") {
		c.Uncertainty = 500 * controller.MilliKelvin
	}
	applied := c.Applied()
	if err := applied.Validate(); err != nil {
		r.add(m.of("offset"), Error, "%s: %v", what, err)
	}
	if c.Date.IsZero() {
		r.add(m.of("offset"), Advice, "%s: the day of the calibration is not written, so records print \"not recorded\" and nothing reminds of the next: write calibrated and due", what)
	}
}

// probesOf checks the probes of all stations together.
func (r *reader) probesOf(c *Config) {
	if len(c.Stations) > MostStations {
		r.add(c.Stations[MostStations].at.of(""), Error, "there are %d stations: one bench has at most %d", len(c.Stations), MostStations)
	}
	seen, used := map[string]string{}, map[string]bool{}
	for i := range c.Stations {
		s := &c.Stations[i]
		if len(s.Probes) > MostProbes {
			r.add(s.Probes[MostProbes].at.of(""), Error, "%s: there are %d probes: a station has at most %d", s.title(i), len(s.Probes), MostProbes)
		}
		count := map[controller.Role]int{}
		for n := range s.Probes {
			p := &s.Probes[n]
			what := fmt.Sprintf("%s: probe number %d", s.title(i), n+1)
			r.roleFits(s, p, what, count)
			if p.Address != 0 {
				if first, ok := seen[p.ROM]; ok {
					r.add(p.at.of("rom"), Error, "%s: rom %s is already that of %s: every probe has its own number", what, show(p.ROM), first)
				} else {
					seen[p.ROM] = what
				}
			}
			used[p.Bus] = true
			if _, ok := c.Bus(p.Bus); !ok && p.Bus != "" && !nameless(c.Buses, func(b Bus) marks { return b.at }) {
				r.add(p.at.of("bus"), Error, "%s: bus names %s, which is not in the file: write an entry [[bus]] with that name", what, show(p.Bus))
			}
		}
		if s.SeriesShared && s.Kind == controller.Tub && !s.AttendedOnly && !s.at.bad("attended_only") {
			r.add(s.at.of("series_relay"), Error, "%s: an animal left unattended needs a series relay of its own: wire one, or write attended_only = true", s.title(i))
		}
	}
	for _, b := range c.Buses {
		if !used[b.Name] && b.Name != "" {
			r.add(b.at.of(""), Warning, "bus %s: no probe is on it: name it in a probe, or take it out", show(b.Name))
		}
	}
}

// roleFits checks a probe's role and place against its station.
func (r *reader) roleFits(s *Station, p *Probe, what string, count map[controller.Role]int) {
	tub := p.Role >= controller.RoleControl && p.Role <= controller.RoleRoom
	switch {
	case p.Role == controller.NoRole || s.Kind == controller.NoKind:
		return
	case tub != (s.Kind == controller.Tub):
		r.add(p.at.of("role"), Error, "%s: role %s does not belong to this kind of station: write %s", what, show(RoleName(p.Role)), oneOf(rolesOf(s.Kind)))
		return
	}
	count[p.Role]++
	if tub && count[p.Role] > 1 {
		r.add(p.at.of("role"), Error, "%s: the station already has a probe with the role %s: write another role, or take one out", what, show(RoleName(p.Role)))
	}
	if p.at.has("height") && !p.at.bad("height") {
		switch inWater := p.Role == controller.RoleControl || p.Role == controller.RoleGuard; {
		case !inWater:
			r.add(p.at.of("height"), Error, "%s: height belongs to a probe in the water: take it out", what)
		case p.Height > s.Tub.Depth && !s.at.bad("tub"):
			r.add(p.at.of("height"), Error, "%s: height %s is over the water, which is %s deep: write where the probe lies", what, millimetres(p.Height), millimetres(s.Tub.Depth))
		}
	}
	inPiece := p.Role == controller.RoleCore || p.Role == controller.RoleSurface
	if p.Piece != "" && !inPiece {
		r.add(p.at.of("piece"), Error, "%s: piece belongs to a core or surface probe: take it out", what)
	}
	if p.at.has("depth") && p.Role != controller.RoleCore {
		r.add(p.at.of("depth"), Error, "%s: depth belongs to a core probe: take it out", what)
	}
	if inPiece && p.Piece != "" && !slices.ContainsFunc(s.Pieces, func(x Piece) bool { return x.Name == p.Piece }) {
		r.add(p.at.of("piece"), Error, "%s: piece names %s, which the station does not have: write an entry [[station.piece]] with that name", what, show(p.Piece))
	}
}

func rolesOf(k controller.Kind) []string {
	if k == controller.Tub {
		return roleNames[:4]
	}
	return roleNames[4:]
}

// piece reads one piece of a chamber and checks the sizes of its shape.
func (r *reader) piece(v any, path, what string) Piece {
	p := Piece{}
	p.at = r.table(v, path, what, p.fields())
	belongs := map[Shape][]string{Slab: {"thickness", "area"}, Cylinder: {"diameter", "length"}, Bar: {"width", "height", "length"}}
	need := map[Shape][]string{Slab: {"thickness"}, Cylinder: {"diameter"}, Bar: {"width", "height"}}
	for _, key := range []string{"thickness", "area", "diameter", "width", "height", "length"} {
		switch written := p.at.has(key); {
		case p.Shape == "":
		case written && !slices.Contains(belongs[p.Shape], key):
			p.at["shape!"] = p.at.of(key)
			r.add(p.at.of(key), Error, "%s: %s does not belong to a %s: take it out", what, key, p.Shape)
		case !written && slices.Contains(need[p.Shape], key):
			p.at["shape!"] = p.at.of("")
			r.add(p.at.of(""), Error, "%s: %s is missing, which a %s needs: write %s = \"60mm\"", what, key, p.Shape, key)
		}
	}
	if p.Shape == Slab && !p.at.has("area") {
		p.Area = 0.1
	}
	if p.Shape != "" && p.Shape != Slab && !p.at.has("length") {
		p.Length = 0.5
	}
	return p
}

// At returns where a key of the piece is written, or where the piece begins.
func (p *Piece) At(key string) Place { return p.at.of(key) }
