package config

import (
	"fmt"
	"path/filepath"
	"slices"
)

// use is one thing that a named relay, output or input serves.
type use struct {
	what, key string // "station \"north\"", "pad_relay"
	place     Place
	station   int
}

// wiring checks that every line is wired to one thing and every name means one.
func (r *reader) wiring(c *Config) {
	r.names(c)
	r.lines(c)
	r.relayUses(c)
	outputs, inputs := map[string][]use{}, map[string][]use{}
	note := func(into map[string][]use, name, what, key string, p Place) {
		if name != "" {
			into[name] = append(into[name], use{what: what, key: key, place: p})
		}
	}
	note(outputs, c.Notify.Buzzer, "notify", "buzzer", c.Notify.at.of("buzzer"))
	note(outputs, c.Notify.Lamp, "notify", "lamp", c.Notify.at.of("lamp"))
	note(outputs, c.Heartbeat.Output, "heartbeat", "output", c.Heartbeat.at.of("output"))
	note(inputs, c.Board.Button, "board", "button", c.Board.at.of("button"))
	for i := range c.Stations {
		s := &c.Stations[i]
		for _, f := range []struct{ name, key string }{
			{s.PadFeedback, "pad_feedback"}, {s.SeriesFeedback, "series_feedback"}, {s.AirflowInput, "airflow_input"}, {s.DoorInput, "door_input"},
		} {
			note(inputs, f.name, s.title(i), f.key, s.at.of(f.key))
		}
	}
	for _, o := range c.Outputs {
		outputs[o.Name] = r.once(outputs[o.Name], "output", o.Name, o.at.of(""))
	}
	for _, in := range c.Inputs {
		inputs[in.Name] = r.once(inputs[in.Name], "input", in.Name, in.at.of(""))
	}
	for _, kind := range []struct {
		word string
		uses map[string][]use
		has  func(string) bool
	}{
		{"output", outputs, func(n string) bool {
			_, ok := c.Output(n)
			return ok || nameless(c.Outputs, func(x Output) marks { return x.at })
		}},
		{"input", inputs, func(n string) bool {
			_, ok := c.Input(n)
			return ok || nameless(c.Inputs, func(x Input) marks { return x.at })
		}},
	} {
		for name, uses := range kind.uses {
			for _, u := range uses {
				if !kind.has(name) {
					r.add(u.place, Error, "%s: %s names the %s %s, which is not in the file: write an entry [[%s]] with that name", u.what, u.key, kind.word, show(name), kind.word)
				}
			}
		}
	}
}

// nameless says whether an entry has a mistake in its name: what seems not to
// be in the file may then be that entry.
func nameless[T any](entries []T, at func(T) marks) bool {
	return slices.ContainsFunc(entries, func(e T) bool { return at(e).bad("name") })
}

// once complains of a line that serves nothing or more than one thing.
func (r *reader) once(uses []use, word, name string, at Place) []use {
	if len(uses) == 0 && name != "" {
		r.add(at, Warning, "%s %s: nothing uses it: name it where it belongs, or take it out", word, show(name))
	}
	for n, u := range uses {
		// Two stations may share the feedback of a relay that they share.
		if n > 0 && !(u.key == "series_feedback" && uses[0].key == u.key) {
			r.add(u.place, Error, "%s: %s names the %s %s, which is already %s of %s: use another", u.what, u.key, word, show(name), uses[0].key, uses[0].what)
		}
	}
	return uses
}

// names checks that no two entries of a kind share a name.
func (r *reader) names(c *Config) {
	check := func(word string, name func(int) (string, marks), n int) {
		seen := map[string]Place{}
		for i := range n {
			s, m := name(i)
			if s == "" {
				continue
			}
			if first, ok := seen[s]; ok {
				r.add(m.of("name"), Error, "%s %s: the name is taken by the one on line %d: write another", word, show(s), first.Line)
				continue
			}
			seen[s] = m.of("name")
		}
	}
	check("bus", func(i int) (string, marks) { return c.Buses[i].Name, c.Buses[i].at }, len(c.Buses))
	check("relay", func(i int) (string, marks) { return c.Relays[i].Name, c.Relays[i].at }, len(c.Relays))
	check("output", func(i int) (string, marks) { return c.Outputs[i].Name, c.Outputs[i].at }, len(c.Outputs))
	check("input", func(i int) (string, marks) { return c.Inputs[i].Name, c.Inputs[i].at }, len(c.Inputs))
	check("station", func(i int) (string, marks) { return c.Stations[i].Name, c.Stations[i].at }, len(c.Stations))

	where := map[string]string{}
	for i, b := range c.Buses {
		key := ""
		switch b.Kind {
		case KernelBus:
			key = filepath.Clean(b.Path) + " " + b.Master
		case DS248xBus:
			key = fmt.Sprintf("%s 0x%x", b.I2C, b.Address)
		}
		if first, ok := where[key]; ok && key != "" {
			r.add(b.at.of(""), Error, "bus %s: it is the same bus as %s (%s): take one out", show(b.Name), show(first), key)
		} else {
			where[key] = c.Buses[i].Name
		}
	}
}

// lines checks that no two entries are wired to the same place, and what the
// pins do while the board powers up.
func (r *reader) lines(c *Config) {
	where := map[string]string{}
	check := func(word, name string, l Line, m marks) {
		key, at := "", m.of("path")
		switch {
		case l.Kind == FileLine && l.Path != "":
			key = filepath.Clean(l.Path)
		case l.Kind == GPIOLine && l.Pin != noPin:
			key, at = fmt.Sprintf("GPIO%d of %s", l.Pin, filepath.Clean(l.Chip)), m.of("pin")
		default:
			return
		}
		what := fmt.Sprintf("%s %s", word, show(name))
		if first, ok := where[key]; ok {
			r.add(at, Error, "%s: %s is already taken by %s: write the one that it is wired to", what, key, first)
			return
		}
		where[key] = what
		if l.Kind == GPIOLine {
			r.pin(c, what, word, l, at)
		}
	}
	for _, x := range c.Relays {
		check("relay", x.Name, x.Line, x.at)
	}
	for _, x := range c.Outputs {
		check("output", x.Name, x.Line, x.at)
	}
	for _, x := range c.Inputs {
		check("input", x.Name, x.Line, x.at)
	}
}

// pin checks one pin of a Raspberry Pi. Which pins are pulled up and which
// down at power-up is from memory: GPIO 0 to 8 up, 9 to 27 down. So are the
// pins of the buses: 2 and 3 are I²C 1, 4 is the kernel's 1-Wire.
func (r *reader) pin(c *Config, what, word string, l Line, at Place) {
	if c.Board.Kind != "raspberry-pi" || filepath.Clean(l.Chip) != "/dev/gpiochip0" {
		return
	}
	if l.Pin > 27 {
		r.add(at, Error, "%s: a Raspberry Pi has no GPIO%d on its header: write GPIO0 to GPIO27, or board.kind = \"other\"", what, l.Pin)
		return
	}
	pulledUp := l.Pin <= 8
	if word == "relay" && pulledUp != l.ActiveLow {
		pull, safe := "down", "GPIO0 to GPIO8"
		if pulledUp {
			pull, safe = "up", "GPIO9 to GPIO27"
		}
		r.add(at, Warning, "%s: GPIO%d is pulled %s at power-up, which switches this relay on until the program starts: use %s, or a relay board of the other polarity", what, l.Pin, pull, safe)
	}
	for _, b := range c.Buses {
		switch {
		case b.Kind == KernelBus && l.Pin == 4:
			r.add(at, Warning, "%s: GPIO4 is usually the kernel's 1-Wire bus: use another pin, unless you moved the bus", what)
		case b.Kind == DS248xBus && (l.Pin == 2 || l.Pin == 3):
			r.add(at, Warning, "%s: GPIO%d belongs to the I²C bus that bus %s is on: use another pin", what, l.Pin, show(b.Name))
		}
	}
}

// relayUses checks which relay serves which station.
func (r *reader) relayUses(c *Config) {
	uses := map[string][]use{}
	for i := range c.Stations {
		s := &c.Stations[i]
		for _, f := range []struct{ name, key string }{{s.PadRelay, "pad_relay"}, {s.SeriesRelay, "series_relay"}, {s.FanRelay, "fan_relay"}} {
			if f.name == "" {
				continue
			}
			u := use{s.title(i), f.key, s.at.of(f.key), i}
			if _, ok := c.Relay(f.name); !ok && !nameless(c.Relays, func(x Relay) marks { return x.at }) {
				r.add(u.place, Error, "%s: %s names the relay %s, which is not in the file: write an entry [[relay]] with that name", u.what, f.key, show(f.name))
			}
			r.secondUse(uses[f.name], u, f.name)
			uses[f.name] = append(uses[f.name], u)
		}
	}
	for _, relay := range c.Relays {
		if len(uses[relay.Name]) == 0 && relay.Name != "" {
			r.add(relay.at.of(""), Warning, "relay %s: no station uses it: name it in a station, or take it out", show(relay.Name))
		}
	}
	for i := range c.Stations {
		s := &c.Stations[i]
		for _, u := range uses[s.SeriesRelay] {
			s.SeriesShared = s.SeriesShared || u.station != i && u.key == "series_relay"
		}
	}
}

func (r *reader) secondUse(before []use, u use, name string) {
	if len(before) == 0 {
		return
	}
	first := before[0]
	switch {
	case first.station == u.station:
		r.add(u.place, Error, "%s: %s and %s are both the relay %s, so one that sticks cannot be opened by the other: write the relay that is in series", u.what, first.key, u.key, show(name))
	case u.key == "series_relay" && first.key == "series_relay":
		r.add(u.place, Advice, "%s: the series relay %s serves %s too: a trip of either takes the heat from both, and no animal may be left unattended", u.what, show(name), first.what)
	case u.key == first.key:
		r.add(u.place, Error, "%s: %s is the relay %s, which is already that of %s: every station needs its own", u.what, u.key, show(name), first.what)
	default:
		r.add(u.place, Error, "%s: %s is the relay %s, which is the %s of %s: every station needs its own", u.what, u.key, show(name), first.key, first.what)
	}
}
