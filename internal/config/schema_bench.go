package config

// The keys of the bench: everything that is not a station.

func (c *Config) fields() []field {
	return []field{
		{name: "name", kind: text, to: &c.Name, need: true, example: "quarantine bench", meaning: "What the bench is called, on the page and in every record."},
		{name: "invented", kind: truth, to: &c.Invented, preset: "false", example: "true", meaning: "The file describes nothing real; page and records say so."},
		{name: "state", kind: text, to: &c.State, preset: "/var/lib/soakwarden", example: "/var/lib/soakwarden", meaning: "Folder for the latch store, the lock and the list of lines ever driven."},
		{name: "socket", kind: text, to: &c.Socket, example: "/run/soakwarden/socket", or: "the file socket in the folder of state", meaning: "Local socket: acts that come through it count as done at the board."},
	}
}

func (b *Board) fields() []field {
	return []field{
		{name: "kind", kind: choice, to: &b.Kind, preset: "raspberry-pi", choices: []string{"raspberry-pi", "other"}, example: "raspberry-pi", meaning: "Which pins are pulled up at power-up: check warns of relays that this switches on."},
		{name: "undervoltage", kind: text, to: &b.Undervoltage, example: "/sys/class/hwmon/hwmon0/in0_lcrit_alarm", or: "none", meaning: "File that reads 1 while the supply voltage is low."},
		{name: "button", kind: ref, to: &b.Button, example: "button", or: "none", meaning: "Input of a button at the board: pressing it says that a person is here."},
	}
}

func (j *Journal) fields() []field {
	return []field{
		{name: "path", kind: text, to: &j.Path, need: true, example: "/var/lib/soakwarden/journal.db", meaning: "File of the record."},
		{name: "min_free", kind: size, to: &j.MinFree, preset: "200MB", least: "10MB", most: "100GB", example: "200MB", meaning: "With less than this free, the card counts as nearly full."},
		{name: "block", kind: span, to: &j.Block, preset: "5m", least: "10s", most: "15m", example: "5m", meaning: "Readings are written in blocks of this length; a power cut loses at most one."},
	}
}

func (p *Page) fields() []field {
	return []field{
		{name: "listen", kind: text, to: &p.Listen, preset: "127.0.0.1:8460", example: "127.0.0.1:8460", meaning: "Address and port of page, metrics and interface."},
		{name: "sitter", kind: text, to: &p.Sitter, example: "127.0.0.1:8461", or: "none", meaning: "Address and port of a second page for a sitter: it shows everything, and takes acknowledgements, presence and rounds only."},
		{name: "units", kind: choice, to: (*unitsChoice)(&p.Units), preset: "both", choices: []string{"C", "F", "both"}, example: "both", meaning: "Units of the temperatures on the page."},
	}
}

func (n *Notify) fields() []field {
	return []field{
		{name: "buzzer", kind: ref, to: &n.Buzzer, example: "buzzer", or: "none", meaning: "Output that sounds with an alarm."},
		{name: "lamp", kind: ref, to: &n.Lamp, example: "lamp", or: "none", meaning: "Output that lights with an alarm."},
		{name: "repeat", kind: span, to: &n.Repeat, preset: "30m", least: "1m", most: "12h", example: "30m", meaning: "An alarm that nobody acknowledged is told again after this time."},
		{name: "sitter_phone", kind: text, to: &n.SitterPhone, example: "the number on the note beside the tubs", or: "nothing is printed", meaning: "Whom to call, printed with every alarm."},
	}
}

func (w *Webhook) fields() []field {
	return []field{
		{name: "name", kind: label, to: &w.Name, need: true, example: "keeper", meaning: "What this receiver is called."},
		{name: "url", kind: text, to: &w.URL, need: true, example: "https://alarms.example/soakwarden", meaning: "Address that alarms are posted to as JSON."},
		{name: "token_file", kind: text, to: &w.TokenFile, example: "/etc/soakwarden/token", or: "no token", meaning: "File whose first line is sent as a bearer token, so that this file holds no secret."},
		{name: "from", kind: choice, to: &w.From, preset: "warning", choices: []string{"note", "warning", "heat off", "trip"}, example: "warning", meaning: "The least severity that is sent."},
		{name: "after", kind: span, to: &w.After, preset: "0s", least: "0s", most: "6h", example: "10m", meaning: "Sent only when nobody has acknowledged for this long: for a sitter or a second person."},
	}
}

func (h *Heartbeat) fields() []field {
	return []field{
		{name: "output", kind: ref, to: &h.Output, example: "heartbeat", or: "none", meaning: "Output that changes its level once a second while all is well, for an external relay."},
		{name: "url", kind: text, to: &h.URL, example: "https://alarms.example/alive", or: "none", meaning: "Address fetched while all is well; whoever runs it tells you when that stops."},
		{name: "every", kind: span, to: &h.Every, preset: "1m", least: "10s", most: "1h", example: "1m", meaning: "Time between two fetches."},
	}
}

func (w *Watchdog) fields() []field {
	return []field{
		{name: "device", kind: text, to: &w.Device, example: "/dev/watchdog", or: "none: check advises one", meaning: "Hardware watchdog that resets the board when the program hangs."},
		{name: "timeout", kind: span, to: &w.Timeout, preset: "15s", least: "3s", most: "2m", example: "15s", meaning: "The watchdog resets the board this long after it was last fed."},
	}
}

func (b *Bus) fields() []field {
	return []field{
		{name: "name", kind: label, to: &b.Name, need: true, example: "header", meaning: "What the bus is called; probes name it."},
		{name: "kind", kind: choice, to: (*busChoice)(&b.Kind), need: true, choices: []string{"kernel", "ds248x", "simulated"}, example: "kernel", meaning: "What the bus is read through: the kernel's files, a bridge on I²C, the model."},
		{name: "path", kind: text, to: &b.Path, example: "/sys/bus/w1/devices", or: "/sys/bus/w1/devices for a kernel bus", meaning: "Kernel bus: folder of the 1-Wire devices."},
		{name: "master", kind: text, to: &b.Master, example: "w1_bus_master1", or: "w1_bus_master1 for a kernel bus", meaning: "Kernel bus: name of the bus master in that folder."},
		{name: "i2c", kind: text, to: &b.I2C, example: "/dev/i2c-1", or: "must be written for a ds248x bus", quiet: true, meaning: "Bridge: device file of its I²C bus."},
		{name: "address", kind: whole, to: &b.Address, least: "0x18", most: "0x21", example: "0x18", or: "0x18 for a ds248x bus", quiet: true, meaning: "Bridge: its I²C address, 0x18, 0x19, 0x20 or 0x21."},
	}
}

// lineFields are the keys of a line; when is what it calls being on, pin and
// level are its examples.
func lineFields(l *Line, raw *rawLine, when, pin, level string) []field {
	return []field{
		{name: "kind", kind: choice, to: (*lineChoice)(&l.Kind), preset: "gpio", choices: []string{"gpio", "file"}, example: "gpio", meaning: "A pin of the board, or a plain file that holds 1 and 0 (LED class)."},
		{name: "pin", kind: text, to: &raw.pin, example: pin, or: "must be written for a pin", meaning: "The pin, by the number of its line on the chip."},
		{name: "chip", kind: text, to: &l.Chip, preset: "/dev/gpiochip0", example: "/dev/gpiochip0", meaning: "Device file of the chip that the pin belongs to."},
		{name: "path", kind: text, to: &l.Path, example: "/sys/class/leds/relay1/brightness", or: "must be written for a file", quiet: true, meaning: "The file."},
		{name: when, kind: choice, to: &raw.when, choices: []string{"low", "high"}, example: level, or: "must be written for a pin; high for a file", meaning: "The level at which it is on. Many relay boards are on when their input is low."},
	}
}

func (r *Relay) fields(raw *rawLine) []field {
	return append([]field{
		{name: "name", kind: label, to: &r.Name, need: true, example: "pad-north", meaning: "What the relay is called; stations name it."},
	}, lineFields(&r.Line, raw, "on_when", "GPIO5", "low")...)
}

func (o *Output) fields(raw *rawLine) []field {
	return append([]field{
		{name: "name", kind: label, to: &o.Name, need: true, example: "buzzer", meaning: "What the output is called."},
	}, lineFields(&o.Line, raw, "on_when", "GPIO17", "high")...)
}

func (in *Input) fields(raw *rawLine) []field {
	return append([]field{
		{name: "name", kind: label, to: &in.Name, need: true, example: "button", meaning: "What the input is called. Active means relay closed, door open, air moving or button pressed."},
		{name: "pull", kind: choice, to: &in.Pull, preset: "up", choices: []string{"up", "down", "none"}, example: "up", meaning: "Resistor of the board that holds the pin when nothing drives it."},
	}, lineFields(&in.Line, raw, "active_when", "GPIO23", "low")...)
}

// rawLine is what has to be looked at once more before it becomes a Line.
type rawLine struct{ pin, when string }

type (
	unitsChoice Units
	busChoice   BusKind
	lineChoice  LineKind
	shapeChoice Shape
)

func (u *unitsChoice) choose(s string) { *u = unitsChoice(s) }
func (b *busChoice) choose(s string)   { *b = busChoice(s) }
func (l *lineChoice) choose(s string)  { *l = lineChoice(s) }
func (c *shapeChoice) choose(s string) { *c = shapeChoice(s) }
