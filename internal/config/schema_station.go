package config

import (
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// The keys of a station. raw holds what has to be looked at once more.

func (s *Station) fields(raw *rawStation) []field {
	return []field{
		{name: "name", kind: label, to: &s.Name, need: true, example: "north", meaning: "What the station is called."},
		{name: "kind", kind: choice, to: &raw.kind, need: true, choices: []string{"tub", "chamber"}, example: "tub", meaning: "A tub (an animal in water) or a chamber (empty furnishings)."},
		{name: "animal", kind: text, to: &s.Animal, example: "carpet python", or: "not shown", meaning: "Tub: what lies in it, in words for people."},
		{name: "species", kind: choice, to: &raw.species, choices: speciesNames(), example: "python", or: "must be written for a tub", meaning: "Tub: group of the animal; sets the upper bound of the set point."},
		{name: "set_point", kind: temperature, to: &s.SetPoint, need: true, example: "85F", meaning: "The wanted temperature, middle of the differential. Tub: 68F to 90F and not over the group's bound. Chamber: what the schedule asks for, at most 65C."},
		{name: "differential", kind: difference, to: &s.Differential, preset: "0.5F", least: "0.2K", most: "5K", example: "0.5F", meaning: "Distance between switching on and off. Tub: at most 1.5 K."},
		{name: "too_cold", kind: temperature, to: &s.TooCold, least: "10C", most: "31C", example: "80F", or: "2.5 K under the set point of a tub", meaning: "Tub: colder water is an alarm."},
		{name: "cutoff", kind: temperature, to: &s.Cutoff, example: "89F", or: "must be written for a tub", meaning: "Tub: past it the protective control trips. At most 34C and at least 1.2 K over the set point."},
		{name: "limit", kind: temperature, to: &s.Limit, most: "75C", example: "60C", or: "must be written for a chamber that heats", quiet: true, meaning: "Chamber: for its hottest probe, to protect the furnishings."},
		{name: "floor_bound", kind: temperature, to: &s.FloorBound, preset: "35C", least: "30C", most: "35C", example: "35C", meaning: "Tub: the contact surface over the pad may not be hotter."},
		{name: "min_on", kind: span, to: &s.MinOn, preset: "60s", least: "10s", most: "10m", example: "60s", meaning: "The operating control keeps the pad relay closed at least this long."},
		{name: "min_off", kind: span, to: &s.MinOff, preset: "60s", least: "10s", most: "10m", example: "60s", meaning: "The operating control keeps it open at least this long."},
		{name: "ramp", kind: difference, to: &s.RampPerHour, least: "0.2K", most: "60K", example: "2K", or: "2K for a tub, 60K for a chamber", meaning: "The effective set point climbs at most this much in an hour after a start. Tub: at most 2 K."},
		{name: "room_coldest", kind: temperature, to: &s.RoomColdest, need: true, least: "-10C", most: "35C", example: "16C", meaning: "The coldest that the room gets."},
		{name: "room_warmest", kind: temperature, to: &s.RoomWarmest, need: true, least: "0C", most: "45C", example: "27C", meaning: "The warmest that the room gets."},
		{name: "cutout", kind: temperature, to: &s.Cutout, least: "25C", most: "90C", example: "35C", or: "there is none", meaning: "Independent thermal cut-out with manual reset: where it opens. Tub: at most 35C."},
		{name: "attended_only", kind: truth, to: &s.AttendedOnly, preset: "false", example: "false", meaning: "Heats only while a person was here within the last 30 min."},
		{name: "pad_relay", kind: ref, to: &s.PadRelay, example: "pad-north", or: "must be written, except for a chamber that freezes", meaning: "The relay that cycles. In a chamber: the heat relay."},
		{name: "series_relay", kind: ref, to: &s.SeriesRelay, example: "series-north", or: "none: attended only", meaning: "The relay in series that opens when the first cannot be trusted."},
		{name: "pad_feedback", kind: ref, to: &s.PadFeedback, example: "pad-north-seen", or: "none", meaning: "Input that is active while the pad relay is closed."},
		{name: "series_feedback", kind: ref, to: &s.SeriesFeedback, example: "series-north-seen", or: "none", meaning: "Input that is active while the series relay is closed."},
		{name: "fan_relay", kind: ref, to: &s.FanRelay, example: "fan", or: "none", quiet: true, meaning: "Chamber: relay of its fan."},
		{name: "airflow_input", kind: ref, to: &s.AirflowInput, example: "airflow", or: "none", quiet: true, meaning: "Chamber: input that is active while the air moves."},
		{name: "door_input", kind: ref, to: &s.DoorInput, example: "door", or: "none", quiet: true, meaning: "Chamber: input that is active while the door is open."},
	}
}

// rawStation is what has to be looked at once more before it becomes part of a
// Station.
type rawStation struct{ kind, species string }

func (t *Tub) fields(raw *rawTub) []field {
	return []field{
		{name: "length", kind: length, to: &t.Length, need: true, least: "100mm", most: "3m", example: "400mm", meaning: "Length of the water surface, inside."},
		{name: "width", kind: length, to: &t.Width, need: true, least: "100mm", most: "3m", example: "280mm", meaning: "Width of the water surface, inside."},
		{name: "depth", kind: length, to: &t.Depth, need: true, least: "10mm", most: "150mm", example: "60mm", meaning: "Depth of the water, about half the height of the resting animal."},
		{name: "height", kind: length, to: &t.Height, least: "20mm", most: "2m", example: "160mm", or: "100 mm over the water", meaning: "Height of the walls inside."},
		{name: "wall", kind: length, to: &t.Wall, preset: "2.5mm", least: "0.5mm", most: "30mm", example: "2.5mm", meaning: "Thickness of walls and floor."},
		{name: "material", kind: text, to: &t.Material, preset: "polypropylene", example: "polypropylene", meaning: "Material of walls, floor and lid."},
		{name: "insulation", kind: length, to: &t.Insulation, preset: "0mm", least: "0mm", most: "200mm", example: "20mm", meaning: "Foam around the walls and under the floor beside the pad."},
		{name: "lid", kind: truth, to: &t.Lid, preset: "false", example: "true", meaning: "There is a lid, and it is on."},
		{name: "holes", kind: whole, to: &t.Holes, preset: "24", least: "1", most: "10000", example: "24", meaning: "Number of air holes in the lid."},
		{name: "hole_size", kind: length, to: &t.HoleSize, preset: "6mm", least: "0.5mm", most: "100mm", example: "6mm", meaning: "Diameter of one hole."},
		{name: "pad", kind: power, to: &t.PadPower, need: true, least: "1W", most: "500W", example: "20W", meaning: "Power of the heat pad."},
		{name: "pad_length", kind: length, to: &raw.padLength, least: "30mm", most: "3m", example: "280mm", or: "a pad of 250 W/m² or of 90 % of the floor", meaning: "Length of the pad's heated area."},
		{name: "pad_width", kind: length, to: &raw.padWidth, least: "30mm", most: "3m", example: "280mm", or: "as for pad_length", meaning: "Width of the pad's heated area."},
		{name: "pad_insulation", kind: length, to: &t.PadInsulation, preset: "20mm", least: "0mm", most: "200mm", example: "20mm", meaning: "Foam under the pad."},
		{name: "animal_mass", kind: mass, to: &t.AnimalMass, preset: "0kg", least: "0kg", most: "60kg", example: "1.2kg", meaning: "Mass of the animal; it stores heat as its water does."},
	}
}

type rawTub struct{ padLength, padWidth float64 }

func (c *Chamber) fields() []field {
	return []field{
		{name: "length", kind: length, to: &c.Length, need: true, least: "100mm", most: "5m", example: "900mm", meaning: "Length inside."},
		{name: "width", kind: length, to: &c.Width, need: true, least: "100mm", most: "5m", example: "500mm", meaning: "Width inside."},
		{name: "height", kind: length, to: &c.Height, need: true, least: "100mm", most: "5m", example: "700mm", meaning: "Height inside."},
		{name: "wall", kind: length, to: &c.Wall, preset: "16mm", least: "0.5mm", most: "100mm", example: "16mm", meaning: "Thickness of the inner wall."},
		{name: "material", kind: text, to: &c.Material, preset: "particleboard", example: "particleboard", meaning: "Material of the inner wall."},
		{name: "insulation", kind: length, to: &c.Insulation, preset: "20mm", least: "0mm", most: "500mm", example: "30mm", meaning: "Foam around it."},
		{name: "leak", kind: changes1h, to: &c.Leak, preset: "0.3/h", least: "0/h", most: "20/h", example: "0.3/h", meaning: "Air changes an hour through gaps."},
		{name: "heater", kind: power, to: &c.HeaterPower, least: "10W", most: "5kW", example: "250W", or: "must be written, except for a freezer", meaning: "Power of the heater."},
		{name: "cooler", kind: power, to: &c.CoolerPower, least: "10W", most: "5kW", example: "100W", or: "100W for a freezer", quiet: true, meaning: "Freezer: heat that its coil takes away; only the model asks."},
		{name: "freeze", kind: truth, to: &c.Freeze, preset: "false", example: "false", meaning: "A freezer that runs on its own thermostat: watched, never switched."},
	}
}

func (p *Piece) fields() []field {
	return []field{
		{name: "name", kind: label, to: &p.Name, need: true, example: "branch", meaning: "What the piece is called; probes name it."},
		{name: "shape", kind: choice, to: (*shapeChoice)(&p.Shape), need: true, choices: []string{"slab", "cylinder", "bar"}, example: "cylinder", meaning: "A slab is heated from two faces, a cylinder around, a bar from four sides."},
		{name: "thickness", kind: length, to: &p.Thickness, least: "1mm", most: "500mm", example: "20mm", or: "must be written for a slab", quiet: true, meaning: "Slab: its whole thickness."},
		{name: "area", kind: area, to: &p.Area, least: "1cm2", most: "5m2", example: "600cm2", or: "1000cm2 for a slab", quiet: true, meaning: "Slab: area of one face."},
		{name: "diameter", kind: length, to: &p.Diameter, least: "1mm", most: "500mm", example: "60mm", or: "must be written for a cylinder", meaning: "Cylinder: its diameter."},
		{name: "width", kind: length, to: &p.Width, least: "1mm", most: "500mm", example: "50mm", or: "must be written for a bar", quiet: true, meaning: "Bar: width of its section."},
		{name: "height", kind: length, to: &p.Height, least: "1mm", most: "500mm", example: "50mm", or: "must be written for a bar", quiet: true, meaning: "Bar: height of its section."},
		{name: "length", kind: length, to: &p.Length, least: "10mm", most: "5m", example: "600mm", or: "500mm for a cylinder or bar", meaning: "Cylinder, bar: how long it is."},
		{name: "material", kind: text, to: &p.Material, need: true, example: "oak", meaning: "What it is made of."},
		{name: "moisture", kind: share, to: &p.Moisture, preset: "0%", least: "0%", most: "30%", example: "12%", meaning: "Wood: water in it, as a share of the dry wood."},
	}
}

func (p *Probe) fields(raw *rawProbe) []field {
	return []field{
		{name: "role", kind: choice, to: &raw.role, need: true, choices: roleNames, example: "control", meaning: "Tub: control and guard are in the water, floor lies on the floor over the pad, room is in the air beside the tub. Chamber: core and surface of a piece, air."},
		{name: "bus", kind: ref, to: &p.Bus, need: true, example: "header", meaning: "Bus that the probe is wired to."},
		{name: "rom", kind: text, to: &p.ROM, need: true, example: "28-0316a2795cff", meaning: "The probe's number: two hexadecimal digits of family, hyphen, twelve of serial number, as soakwarden probes lists it."},
		{name: "height", kind: length, to: &p.Height, least: "0mm", most: "150mm", example: "20mm", or: "not known", meaning: "Tub: height of an in-water probe over the floor."},
		{name: "piece", kind: ref, to: &p.Piece, example: "branch", or: "none", quiet: true, meaning: "Chamber: piece that a core or surface probe belongs to."},
		{name: "depth", kind: length, to: &p.Depth, least: "0mm", most: "250mm", example: "30mm", or: "not known", quiet: true, meaning: "Chamber: how deep a core probe sits under the surface."},
		{name: "offset", kind: difference, to: &raw.offset, least: "-3K", most: "3K", example: "+0.12K", or: "the probe was never calibrated", meaning: "Added to what the probe reads, as a calibration found it."},
		{name: "offset_at", kind: temperature, to: &raw.offsetAt, least: "-55C", most: "125C", example: "0C", or: "not recorded", meaning: "Where that offset was found."},
		{name: "second_offset", kind: difference, to: &raw.second, least: "-3K", most: "3K", example: "+0.20K", or: "one point", meaning: "Offset at a second point; between and beyond both the offset is a line."},
		{name: "second_at", kind: temperature, to: &raw.secondAt, least: "-55C", most: "125C", example: "30C", or: "one point", meaning: "Where the second offset was found, at least 5 K over the first."},
		{name: "uncertainty", kind: difference, to: &p.Calibration.Uncertainty, least: "0.02K", most: "3K", example: "0.5K", or: "0.5K with an offset, else 1.2K", meaning: "Expanded uncertainty (k = 2) of the corrected reading."},
		{name: "calibrated", kind: date, to: &p.Calibration.Date, example: "2026-03-01", or: "not recorded", meaning: "Day of the calibration."},
		{name: "method", kind: text, to: &p.Calibration.Method, example: "ice point", or: "not recorded", meaning: "How it was done."},
		{name: "due", kind: date, to: &p.Calibration.Due, example: "2027-03-01", or: "a year after calibrated", meaning: "Day on which to calibrate again."},
	}
}

type rawProbe struct {
	role               string
	offset, second     controller.Difference
	offsetAt, secondAt physic.Temperature
}
