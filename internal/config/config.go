package config

import "time"

// Severity says how bad a Problem is.
type Severity string

// The severities. Only an Error keeps a configuration from being used.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
	Advice  Severity = "advice"
)

// Place is a position in the file: line and column, both from 1, the column
// counted in characters. The zero Place is nowhere in particular.
type Place struct {
	Line, Column int
}

// Problem is one thing that is wrong with a configuration: what, where, and
// what to write instead.
type Problem struct {
	Line     int      `json:"line"`
	Column   int      `json:"column"`
	Severity Severity `json:"severity"`
	Message  string   `json:"message"`
}

// Config is a whole configuration that was checked.
type Config struct {
	Name      string // of the bench
	File      string // as given to Parse
	Checksum  string // SHA-256 of the file's bytes, hex
	Invented  bool   // demonstration data: say so wherever it is shown
	State     string // folder for the latch store, the lock and the remembered lines
	Socket    string // local socket for acts at the board
	Board     Board
	Journal   Journal
	Page      Page
	Notify    Notify
	Heartbeat Heartbeat
	Watchdog  Watchdog
	Buses     []Bus
	Relays    []Relay
	Outputs   []Output
	Inputs    []Input
	Stations  []Station
	at        marks
}

// Board is the single-board computer itself.
type Board struct {
	Kind         string // "raspberry-pi" or "other": which pins are pulled up at power-up
	Undervoltage string // file that reads "1" while the supply is low, empty when there is none
	Button       string // name of the input at the board that counts as a person present, empty when none
	at           marks
}

// Journal is the durable record.
type Journal struct {
	Path    string
	MinFree int64         // bytes; below it the card counts as nearly full
	Block   time.Duration // readings are written in blocks of this length
	at      marks
}

// Units says in which units the page shows temperatures first.
type Units string

// The units of the page.
const (
	Celsius    Units = "C"
	Fahrenheit Units = "F"
	BothUnits  Units = "both"
)

// Page is the web page and its interface for scripts.
type Page struct {
	Listen string // address and port
	Sitter string // address and port of the sitter's page, empty when there is none
	Units  Units
	at     marks
}

// Notify says how a person is reached.
type Notify struct {
	Buzzer      string // name of an output, empty when none
	Lamp        string // name of an output, empty when none
	Repeat      time.Duration
	SitterPhone string // printed with every alarm, as written
	Webhooks    []Webhook
	at          marks
}

// Webhook is one address that is told of alarms by an HTTP POST.
type Webhook struct {
	Name      string
	URL       string
	TokenFile string        // file whose first line is sent as a bearer token, empty when none
	From      string        // least severity that is sent: "note", "warning", "heat off", "trip"
	After     time.Duration // sent only when nobody has acknowledged for so long
	at        marks
}

// Heartbeat is the sign of life: an output that changes its level once a
// second while all is well, for an external relay, and an address that is
// fetched, for somebody who notices silence. Both are optional.
type Heartbeat struct {
	Output string // name of an output, empty when none
	URL    string
	Every  time.Duration // between two fetches of URL
	at     marks
}

// Watchdog is the hardware watchdog. An empty Device means none.
type Watchdog struct {
	Device  string
	Timeout time.Duration
	at      marks
}

// BusKind says what a bus is read through.
type BusKind string

// The kinds of bus.
const (
	KernelBus    BusKind = "kernel"    // the kernel's 1-Wire files
	DS248xBus    BusKind = "ds248x"    // a DS2482 or DS2483 bridge on I²C
	SimulatedBus BusKind = "simulated" // the model
)

// Bus is one 1-Wire bus.
type Bus struct {
	Name    string
	Kind    BusKind
	Path    string // kernel: the folder of the 1-Wire devices
	Master  string // kernel: name of the bus master in Path
	I2C     string // ds248x: the I²C device file
	Address uint16 // ds248x: 0x18, 0x19, 0x20 or 0x21
	at      marks
}

// LineKind says how a line is driven.
type LineKind string

// The kinds of line.
const (
	GPIOLine LineKind = "gpio"
	FileLine LineKind = "file" // a plain file (LED class), written "1" and "0"
)

// Line is where a relay, output or input is wired. The zero value is no line.
type Line struct {
	Kind      LineKind
	Chip      string // gpio: the device file of the chip
	Pin       int    // gpio: the offset of the line on its chip
	Path      string // file
	ActiveLow bool   // on (or active) when the level is low
}

// Relay is one switched line that heats or moves air.
type Relay struct {
	Name string
	Line Line
	at   marks
}

// Output is one switched line that does not heat: buzzer, lamp, heartbeat.
type Output struct {
	Name string
	Line Line
	at   marks
}

// Input is one line that is read: feedback of a relay, door, airflow, button.
// Active means: relay closed, door open, air moving, button pressed.
type Input struct {
	Name string
	Line Line
	Pull string // "up", "down" or "none"
	at   marks
}

// Relay returns the relay of that name.
func (c *Config) Relay(name string) (Relay, bool) {
	for _, r := range c.Relays {
		if r.Name == name {
			return r, true
		}
	}
	return Relay{}, false
}

// RelayIndex returns the index of the relay of that name in Relays, −1 for none.
func (c *Config) RelayIndex(name string) int {
	for i, r := range c.Relays {
		if r.Name == name {
			return i
		}
	}
	return -1
}

// Bus returns the bus of that name.
func (c *Config) Bus(name string) (Bus, bool) {
	for _, b := range c.Buses {
		if b.Name == name {
			return b, true
		}
	}
	return Bus{}, false
}

// Output returns the output of that name.
func (c *Config) Output(name string) (Output, bool) {
	for _, o := range c.Outputs {
		if o.Name == name {
			return o, true
		}
	}
	return Output{}, false
}

// Input returns the input of that name.
func (c *Config) Input(name string) (Input, bool) {
	for _, in := range c.Inputs {
		if in.Name == name {
			return in, true
		}
	}
	return Input{}, false
}

// Station returns the index of the station of that name, −1 for none.
func (c *Config) Station(name string) int {
	for i := range c.Stations {
		if c.Stations[i].Name == name {
			return i
		}
	}
	return -1
}

// marks are the places of the keys of one table; the empty key is the table.
type marks map[string]Place

// of returns the place of a key, or of its table when the key is not written.
func (m marks) of(key string) Place {
	if p, ok := m[key]; ok {
		return p
	}
	return m[""]
}
