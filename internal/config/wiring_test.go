package config

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// base is the smallest sound file; %MORE% stands for entries of the bench and
// %KEYS% for keys of the station.
const base = `name = "bench"
%TOP%
[journal]
path = "journal.db"

%MORE%
[[bus]]
name = "one"
kind = "simulated"

[[relay]]
name = "pad"
pin = "GPIO5"
on_when = "low"

[[station]]
name = "north"
kind = "tub"
species = "boa"
set_point = "85F"
cutoff = "89F"
pad_relay = "pad"
room_coldest = "16C"
room_warmest = "27C"
attended_only = true
tub = { length = "400mm", width = "280mm", depth = "60mm", pad = "20W" }
%KEYS%
  [[station.probe]]
  role = "control"
  bus = "one"
  rom = "28-0316a2795cff"
  %PROBE%
`

// with fills the marks of base, given in pairs.
func with(pairs ...string) string {
	text := strings.NewReplacer(pairs...).Replace(base)
	return strings.NewReplacer("%TOP%", "", "%MORE%", "", "%KEYS%", "", "%PROBE%", "").Replace(text)
}

func TestSmallestFileIsSound(t *testing.T) {
	cfg, problems := Parse("small.toml", []byte(with()))
	if cfg == nil || len(problems) != 0 {
		t.Fatal(listed(problems))
	}
	s := cfg.Stations[0]
	if s.Probes[0].Calibration.Done || s.Probes[0].Calibration.Uncertainty != 1200*controller.MilliKelvin || s.Probes[0].Height != -1 {
		t.Errorf("a probe that was never calibrated: %+v", s.Probes[0])
	}
	if want := s.SetPoint - 2500*physic.MilliKelvin; s.TooCold != want || s.Cutout != 0 || s.SeriesRelay != "" {
		t.Errorf("defaults: %+v", s)
	}
	if cfg.RelayIndex("pad") != 0 || cfg.RelayIndex("none") != -1 || cfg.Station("north") != 0 || cfg.Station("") != -1 {
		t.Error("looked up wrongly")
	}
}

func TestOtherWaysToWireAreSound(t *testing.T) {
	for what, text := range map[string]string{
		"file relay":                 strings.Replace(with(), "pin = \"GPIO5\"\non_when = \"low\"", "kind = \"file\"\npath = \"/sys/class/leds/a/brightness\"", 1),
		"bridge":                     strings.Replace(with(), `kind = "simulated"`, "kind = \"ds248x\"\ni2c = \"/dev/i2c-1\"\naddress = 0x20", 1),
		"bridge, address by default": strings.Replace(with(), `kind = "simulated"`, "kind = \"ds248x\"\ni2c = \"/dev/i2c-1\"", 1),
		"webhook":                    with("%MORE%", "[[notify.webhook]]\nname = \"keeper\"\nurl = \"https://alarms.example/x\"\nafter = \"10m\"\nfrom = \"heat off\"\n"),
		"webhook list":               with("%MORE%", "[notify]\nwebhook = [ { name = \"keeper\", url = \"http://alarms.example/x\" } ]\n"),
		"two points":                 with("%PROBE%", "offset = \"0.1K\"\noffset_at = \"0C\"\nsecond_offset = \"0.3K\"\nsecond_at = \"30C\"\ncalibrated = 2026-01-02\nuncertainty = \"0.2K\""),
		"other board":                with("%TOP%", "board = { kind = \"other\" }"),
	} {
		cfg, problems := Parse(what, []byte(text))
		if cfg == nil {
			t.Errorf("%s:\n%s", what, listed(problems))
			continue
		}
		switch what {
		case "file relay":
			if l := cfg.Relays[0].Line; l != (Line{Kind: FileLine, Path: "/sys/class/leds/a/brightness"}) {
				t.Errorf("%+v", l)
			}
		case "bridge", "bridge, address by default":
			if b := cfg.Buses[0]; b.Address != map[bool]uint16{true: 0x20, false: 0x18}[what == "bridge"] || b.I2C != "/dev/i2c-1" {
				t.Errorf("%+v", b)
			}
		case "webhook", "webhook list":
			if len(cfg.Notify.Webhooks) != 1 || cfg.Notify.Webhooks[0].Name != "keeper" {
				t.Errorf("%+v", cfg.Notify)
			}
		case "two points":
			// True 0 °C reads −0.1, true 30 °C reads 29.7: 14.8 is half-way.
			c := cfg.Stations[0].Probes[0].Calibration
			if got := apply(c, physic.ZeroCelsius+14800*physic.MilliKelvin) - physic.ZeroCelsius; got != 15*physic.Kelvin {
				t.Errorf("half-way is %d", got)
			}
		}
	}
}

func TestWiringMistakes(t *testing.T) {
	relay := func(name, pin string) string {
		return "[[relay]]\nname = \"" + name + "\"\npin = \"" + pin + "\"\non_when = \"low\"\n"
	}
	station := with()[strings.Index(with(), "[[station]]"):]
	second := strings.NewReplacer(`"north"`, `"south"`, "795cff", "795d00").Replace(station)
	for _, c := range []struct{ text, want string }{
		{with() + second, `pad_relay is the relay "pad", which is already that of station "north": every station needs its own`},
		{with() + strings.Replace(second, `"south"`, `"north"`, 1), `station "north": the name is taken by the one on line`},
		{with("%MORE%", relay("pad", "GPIO6")), `relay "pad": the name is taken`},
		{with("%MORE%", relay("spare", "5")), `GPIO5 of /dev/gpiochip0 is already taken by relay "spare"`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"kernel\"\n[[bus]]\nname = \"b\"\nkind = \"kernel\"\npath = \"/sys/bus/w1/devices/\"\n"), `bus "b": it is the same bus as "a"`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"kernel\"\ni2c = \"/dev/i2c-1\"\n"), `i2c belongs to a ds248x bus and this one is kernel`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"kernel\"\nmaster = \"a/b\"\n"), `is no name of a folder`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"ds248x\"\naddress = 0x19\n"), `i2c is missing`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"ds248x\"\ni2c = \"x\"\naddress = 0x1c\n"), `address 0x1c is none of a bridge`},
		{with("%MORE%", "[[bus]]\nname = \"a\"\nkind = \"serial\"\n"), `"serial" is not known here: write "kernel", "ds248x" or "simulated"`},
		{with("%MORE%", "[[relay]]\nname = \"x\"\nkind = \"file\"\npin = \"GPIO6\"\n"), `pin does not belong to a file`},
		{with("%MORE%", "[[relay]]\nname = \"x\"\nkind = \"file\"\n"), `path is missing`},
		{with("%MORE%", "[[relay]]\nname = \"x\"\npath = \"/x\"\npin = \"GPIO6\"\non_when = \"low\"\n"), `path does not belong to a pin`},
		{with("%MORE%", "[[relay]]\nname = \"x\"\n"), `pin is missing`},
		{with("%MORE%", "[[relay]]\nname = \"x\"\npin = \"GPIO6\"\n"), `on_when is missing`},
		{with("%MORE%", "[[input]]\nname = \"x\"\npin = \"GPIO6\"\n"), `active_when is missing`},
		{with("%MORE%", "[[notify.webhook]]\nname = \"a\"\nurl = \"alarms.example\"\n"), `is no web address`},
		{with("%MORE%", "[[notify.webhook]]\nname = \"a\"\nurl = \"http://a.example\"\n[[notify.webhook]]\nname = \"a\"\nurl = \"http://a.example\"\n"), `the name is taken by a webhook above`},
		{with("%MORE%", "[heartbeat]\nurl = \"ftp://a.example\"\n"), `is no web address`},
		{with("%TOP%", "socket = \"/"+strings.Repeat("x", 120)+"\""), `write a path of at most 100`},
		{with("%KEYS%", "  [station.chamber]\n  length = \"1m\"\n"), `chamber belongs to a chamber`},
		{with("%PROBE%", "uncertainty = \"0.1K\""), `uncertainty means nothing without an offset`},
		{with("%PROBE%", "offset = \"0.1K\"\nsecond_offset = \"0.3K\""), `needs offset, offset_at, second_offset and second_at`},
		{with("%PROBE%", "offset = \"0.1K\"\noffset_at = \"30C\"\nsecond_offset = \"0.3K\"\nsecond_at = \"0C\""), `must rise and be at least`},
		{with("%PROBE%", "offset = \"0.1K\"\ncalibrated = 2026-02-01\ndue = 2026-01-01"), `before its date`},
		{with("%PROBE%", "piece = \"branch\""), `piece belongs to a core or surface probe`},
		{strings.Replace(with(), `role = "control"`, "role = \"room\"\n  height = \"10mm\"", 1), `height belongs to a probe in the water`},
		{strings.Replace(with(), "attended_only = true\n", "", 1), `was never calibrated and may be a kelvin off`},
		{strings.Replace(with(), "tub = {", "# {", 1), `tub is missing: write tub = {`},
		{strings.Replace(with(), `kind = "tub"`, `kind = "pond"`, 1), `"pond" is not known here: write "tub" or "chamber"`},
		{strings.Replace(with(), "tub = { length", "tub = { lenght", 1), `there is no key "lenght" here: write length`},
		{with() + strings.Repeat(station[strings.Index(station, "  [[station.probe]]"):], MostProbes), `a station has at most 16`},
	} {
		cfg, problems := Parse("wiring.toml", []byte(c.text))
		if cfg != nil || !strings.Contains(listed(problems), c.want) {
			t.Errorf("no %q in\n%s", c.want, listed(problems))
		}
	}
}

func TestSharedSeriesRelayIsNoted(t *testing.T) {
	text := with("%MORE%", "[[relay]]\nname = \"pad2\"\npin = \"GPIO6\"\non_when = \"low\"\n[[relay]]\nname = \"both\"\npin = \"GPIO7\"\non_when = \"low\"\n",
		"%KEYS%", "series_relay = \"both\"")
	text += strings.NewReplacer(`"north"`, `"south"`, "795cff", "795d00", `"pad"`, `"pad2"`).Replace(text[strings.Index(text, "[[station]]"):])
	cfg, problems := Parse("shared.toml", []byte(text))
	if cfg == nil || !cfg.Stations[0].SeriesShared || !cfg.Stations[1].SeriesShared {
		t.Fatal(listed(problems))
	}
	if !strings.Contains(listed(problems), `advice station "south": the series relay "both" serves station "north" too`) {
		t.Error(listed(problems))
	}
}

func TestFreezer(t *testing.T) {
	text := `name = "freezer"
[journal]
path = "journal.db"
[[bus]]
name = "one"
kind = "simulated"
[[station]]
name = "freezer"
kind = "chamber"
set_point = "-20C"
room_coldest = "10C"
room_warmest = "27C"
chamber = { length = "600mm", width = "400mm", height = "500mm", freeze = true }
[[station.piece]]
name = "hide"
shape = "slab"
thickness = "10mm"
material = "polypropylene"
[[station.probe]]
role = "air"
bus = "one"
rom = "28-000000000001"
[[station.probe]]
role = "core"
piece = "hide"
bus = "one"
rom = "28-000000000002"
`
	cfg, problems := Parse("freezer.toml", []byte(text))
	if cfg == nil {
		t.Fatal(listed(problems))
	}
	if s := cfg.Stations[0]; !s.Chamber.Freeze || s.Chamber.CoolerPower != 100 || s.Chamber.HeaterPower != 0 || s.Pieces[0].Area != 0.1 {
		t.Errorf("%+v", s)
	}
	for old, c := range map[string][2]string{
		`set_point = "-20C"`: {`set_point = "20C"`, "is none of a freezer"},
		"freeze = true":      {"cooler = \"50W\"", "cooler belongs to a freezer"},
		`kind = "chamber"`:   {"kind = \"chamber\"\nlimit = \"50C\"", "limit does not belong to a freezer"},
		"thickness = ":       {"diameter = ", "diameter does not belong to a slab"},
	} {
		cfg, problems := Parse("freezer.toml", []byte(strings.Replace(text, old, c[0], 1)))
		if cfg != nil || !strings.Contains(listed(problems), c[1]) {
			t.Errorf("%s: no %q in\n%s", c[0], c[1], listed(problems))
		}
	}
}

func TestLoadAndText(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.toml")
	if _, _, err := Load(path); err == nil {
		t.Error("a file that is not there was read")
	}
	if err := os.WriteFile(path, []byte(with("%TOP%", "colour = 1")), 0o600); err != nil {
		t.Fatal(err)
	}
	cfg, problems, err := Load(path)
	if cfg != nil || err != nil || !Unusable(problems) {
		t.Fatal(cfg, problems, err)
	}
	text := Text("x.toml", problems)
	if !strings.HasPrefix(text, "x.toml:2:1: error: the file: there is no key \"colour\" here") || !strings.HasSuffix(text, "x.toml: 1 mistake. It will not be used.\n") {
		t.Error(text)
	}
	if text := Text("x.toml", nil); text != "x.toml: no mistakes.\n" {
		t.Error(text)
	}
	if text := Text("x.toml", []Problem{{1, 1, Warning, "w"}}); !strings.HasSuffix(text, "no mistakes, 1 to look at. It may be used.\n") {
		t.Error(text)
	}
}
