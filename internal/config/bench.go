package config

import (
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"soakwarden/controller"
)

// bench reads the whole tree.
func (r *reader) bench(c *Config, tree map[string]any) {
	c.at = r.table(tree, "", "the file", c.fields(),
		"board", "journal", "page", "notify", "heartbeat", "watchdog", "bus", "relay", "output", "input", "station")
	c.Board.at = r.table(tree["board"], "\x00board", "board", c.Board.fields())
	c.Journal.at = r.table(tree["journal"], "\x00journal", "journal", c.Journal.fields())
	c.Page.at = r.table(tree["page"], "\x00page", "page", c.Page.fields())
	c.Heartbeat.at = r.table(tree["heartbeat"], "\x00heartbeat", "heartbeat", c.Heartbeat.fields())
	c.Watchdog.at = r.table(tree["watchdog"], "\x00watchdog", "watchdog", c.Watchdog.fields())
	r.notify(&c.Notify, tree["notify"])
	if c.Socket == "" {
		c.Socket = filepath.Join(c.State, "socket")
	}
	for i, v := range r.list(tree["bus"], "\x00bus", "bus") {
		c.Buses = append(c.Buses, r.bus(v, i))
	}
	for i, v := range r.list(tree["relay"], "\x00relay", "relay") {
		c.Relays = append(c.Relays, r.relay(v, i))
	}
	for i, v := range r.list(tree["output"], "\x00output", "output") {
		c.Outputs = append(c.Outputs, r.output(v, i))
	}
	for i, v := range r.list(tree["input"], "\x00input", "input") {
		c.Inputs = append(c.Inputs, r.input(v, i))
	}
	stations := r.list(tree["station"], "\x00station", "station")
	if len(stations) == 0 && !r.broken(tree["station"]) {
		r.add(Place{1, 1}, Error, "the file has no station: write one below a header [[station]]")
	}
	for i, v := range stations {
		c.Stations = append(c.Stations, r.station(v, i))
	}
	r.wiring(c)
	r.probesOf(c)
	r.addresses(c)
}

// titled names an entry of a list for messages: by its name when it has one.
func titled(what string, v any, i int) string {
	if t, ok := v.(map[string]any); ok {
		if name, ok := t["name"].(string); ok && name != "" {
			return fmt.Sprintf("%s %s", what, show(name))
		}
	}
	return fmt.Sprintf("%s number %d", what, i+1)
}

func (r *reader) notify(n *Notify, v any) {
	n.at = r.table(v, "\x00notify", "notify", n.fields(), "webhook")
	t, _ := v.(map[string]any)
	seen := map[string]bool{}
	for i, v := range r.list(t["webhook"], "\x00notify\x00webhook", "notify.webhook") {
		w := Webhook{}
		what := titled("webhook", v, i)
		w.at = r.table(v, element("\x00notify\x00webhook", i), what, w.fields())
		if w.URL != "" {
			r.url(w.at.of("url"), what, "url", w.URL)
		}
		if w.Name != "" && seen[w.Name] {
			r.add(w.at.of("name"), Error, "%s: the name is taken by a webhook above: write another", what)
		}
		seen[w.Name] = true
		n.Webhooks = append(n.Webhooks, w)
	}
}

func (r *reader) url(p Place, what, key, s string) {
	u, err := url.Parse(s)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		r.add(p, Error, "%s: %s %s is no web address: write one such as \"https://alarms.example/soakwarden\"", what, key, show(s))
	}
}

// loopback says whether nobody but this computer reaches an address.
func loopback(host string) bool {
	return host == "localhost" || net.ParseIP(host).IsLoopback()
}

// addresses checks what page, heartbeat and files are called.
func (r *reader) addresses(c *Config) {
	host, port, err := net.SplitHostPort(c.Page.Listen)
	n, portErr := strconv.ParseUint(port, 10, 16)
	switch {
	case err != nil || portErr != nil:
		r.add(c.Page.at.of("listen"), Error, "page: listen %s is no address and port: write one such as \"127.0.0.1:8460\"", show(c.Page.Listen))
	case !loopback(host):
		r.add(c.Page.at.of("listen"), Advice, "page: everybody in the network can open the page on port %d and act there without a password; resets that matter stay at the board. For others write sitter, or put a page with passwords before it", n)
	}
	if s := c.Page.Sitter; s != "" {
		host, port, err := net.SplitHostPort(s)
		n, portErr := strconv.ParseUint(port, 10, 16)
		switch {
		case err != nil || portErr != nil:
			r.add(c.Page.at.of("sitter"), Error, "page: sitter %s is no address and port: write one such as \"0.0.0.0:8461\"", show(s))
		case s == c.Page.Listen:
			r.add(c.Page.at.of("sitter"), Error, "page: sitter and listen are the same address: write another port for the sitter")
		case !loopback(host):
			r.add(c.Page.at.of("sitter"), Advice, "page: everybody in the network can open the sitter's page on port %d: see, acknowledge, say that they are present, and do rounds", n)
		}
	}
	if c.Heartbeat.URL != "" {
		r.url(c.Heartbeat.at.of("url"), "heartbeat", "url", c.Heartbeat.URL)
	}
	for _, p := range []struct {
		m         marks
		what, key string
		path      string
	}{
		{c.at, "the file", "state", c.State}, {c.at, "the file", "socket", c.Socket}, {c.Journal.at, "journal", "path", c.Journal.Path},
		{c.Board.at, "board", "undervoltage", c.Board.Undervoltage}, {c.Watchdog.at, "watchdog", "device", c.Watchdog.Device},
	} {
		if p.m.has(p.key) && !p.m.bad(p.key) && p.path == "" {
			r.add(p.m.of(p.key), Error, "%s: %s is empty: write a path or take the line out", p.what, p.key)
		}
	}
	if len(c.Socket) > 100 {
		// The kernel's bound for the path of a local socket is 108 bytes.
		r.add(c.at.of("socket"), Error, "the file: socket is %d bytes long: write a path of at most 100", len(c.Socket))
	}
	if c.Watchdog.Device == "" && !simulatedOnly(c) {
		r.add(c.Watchdog.at.of(""), Advice, "watchdog: there is none, so a program that hangs with the heat on is only found by a person: write [watchdog] with device = \"/dev/watchdog\"")
	}
	if c.Notify.Buzzer == "" && len(c.Notify.Webhooks) == 0 && !simulatedOnly(c) {
		r.add(c.Notify.at.of(""), Warning, "notify: an alarm reaches nobody who is not looking at the page: name a buzzer or write a webhook")
	}
	for i := range c.Stations {
		if s := &c.Stations[i]; s.Kind == controller.Chamber && !s.Chamber.Freeze && c.Notify.Buzzer == "" && !c.Notify.at.bad("buzzer") {
			r.add(s.at.of(""), Warning, "%s: no treatment of it will start, because nothing would sound for ten minutes before it heats: name an output as buzzer of [notify]", s.Name)
		}
	}
}

func simulatedOnly(c *Config) bool {
	for _, b := range c.Buses {
		if b.Kind != SimulatedBus {
			return false
		}
	}
	return true
}

func (r *reader) bus(v any, i int) Bus {
	b, what := Bus{}, titled("bus", v, i)
	b.at = r.table(v, element("\x00bus", i), what, b.fields())
	fits := map[string]BusKind{"path": KernelBus, "master": KernelBus, "i2c": DS248xBus, "address": DS248xBus}
	for _, key := range []string{"path", "master", "i2c", "address"} {
		if b.at.has(key) && b.Kind != "" && b.Kind != fits[key] {
			r.add(b.at.of(key), Error, "%s: %s belongs to a %s bus and this one is %s: take it out", what, key, fits[key], b.Kind)
		}
	}
	switch b.Kind {
	case KernelBus:
		if b.Path == "" {
			b.Path = "/sys/bus/w1/devices"
		}
		if b.Master == "" {
			b.Master = "w1_bus_master1"
		}
		if strings.ContainsAny(b.Master, "/") {
			r.add(b.at.of("master"), Error, "%s: master %s is no name of a folder: write one such as \"w1_bus_master1\"", what, show(b.Master))
		}
	case DS248xBus:
		if b.I2C == "" {
			r.add(b.at.of("i2c"), Error, "%s: i2c is missing: write i2c = \"/dev/i2c-1\"", what)
		}
		if !b.at.has("address") {
			b.Address = 0x18
		}
		if a := b.Address; !b.at.bad("address") && (a == 0x1a || a == 0x1b) {
			r.add(b.at.of("address"), Error, "%s: address 0x%x is one that the bridge's driver cannot use: write 0x18, 0x19, 0x20 or 0x21 and set the bridge's pins to it", what, a)
		} else if !b.at.bad("address") && a != 0x18 && a != 0x19 && a != 0x20 && a != 0x21 {
			r.add(b.at.of("address"), Error, "%s: address 0x%x is none of a bridge: write 0x18, 0x19, 0x20 or 0x21", what, a)
		}
	}
	return b
}

func (r *reader) relay(v any, i int) Relay {
	relay, raw, what := Relay{}, rawLine{}, titled("relay", v, i)
	relay.at = r.table(v, element("\x00relay", i), what, relay.fields(&raw))
	r.line(&relay.Line, raw, relay.at, what, "on_when")
	return relay
}

func (r *reader) output(v any, i int) Output {
	out, raw, what := Output{}, rawLine{}, titled("output", v, i)
	out.at = r.table(v, element("\x00output", i), what, out.fields(&raw))
	r.line(&out.Line, raw, out.at, what, "on_when")
	return out
}

func (r *reader) input(v any, i int) Input {
	in, raw, what := Input{}, rawLine{}, titled("input", v, i)
	in.at = r.table(v, element("\x00input", i), what, in.fields(&raw))
	r.line(&in.Line, raw, in.at, what, "active_when")
	return in
}

var pinPattern = regexp.MustCompile(`^(?:GPIO)?([0-9]{1,3})$`)

// noPin stands for a pin that could not be read, so that it is not taken for
// GPIO0.
const noPin = -1

// line turns the keys of a line into a Line.
func (r *reader) line(l *Line, raw rawLine, m marks, what, when string) {
	l.ActiveLow = raw.when == "low"
	if l.Kind == FileLine {
		if l.Path == "" && !m.bad("path") {
			r.add(m.of("path"), Error, "%s: path is missing: write path = \"/sys/class/leds/relay1/brightness\"", what)
		}
		for _, key := range []string{"pin", "chip"} {
			if m.has(key) {
				r.add(m.of(key), Error, "%s: %s does not belong to a file: take it out", what, key)
			}
		}
		l.Chip = ""
		return
	}
	if m.has("path") {
		r.add(m.of("path"), Error, "%s: path does not belong to a pin: take it out, or write kind = \"file\"", what)
	}
	match := pinPattern.FindStringSubmatch(raw.pin)
	l.Pin = noPin
	switch {
	case m.bad("pin"):
	case !m.has("pin"):
		r.add(m.of(""), Error, "%s: pin is missing: write pin = \"GPIO5\"", what)
	case match == nil:
		r.add(m.of("pin"), Error, "%s: pin %s is no pin: write the number of its line such as \"GPIO5\"", what, show(raw.pin))
	default:
		l.Pin, _ = strconv.Atoi(match[1])
	}
	if !m.has(when) {
		r.add(m.of(""), Error, "%s: %s is missing: write %s = \"low\" when the board is on with its input low, else \"high\"", what, when, when)
	}
}
