package rehearsal

import (
	"os"
	"strings"
	"testing"
)

// Each mistake of a scenario is named, and all of them at once.
func TestMistakesOfAScenarioAreNamed(t *testing.T) {
	const text = `
config = "tub.toml"
duration = "7 days"
seed = -1
room = "20"
room_swing = "3C5"
colour = "red"

[[fault]]
kind = "relay melted"
at = "1h"

[[fault]]
kind = "relay welded"
target = "pad-south"
at = "1h"

[[fault]]
kind = "probe offset"
target = "north/control"
at = "2h"
amount = "0.5"

[[fault]]
kind = "probe out of water"
target = "north/tail"
at = "2h"

[[fault]]
kind = "tub leaking"
target = "north"
at = "2h"
until = "1h"
amount = "3W"

[[event]]
kind = "dance"
at = "1h"

[[event]]
kind = "animal in"
target = "south"
at = "1h"
`
	_, err := ParseScenario("testdata/x.toml", []byte(text), func(string) ([]byte, error) { return os.ReadFile("../../configs/tub.toml") })
	if err == nil {
		t.Fatal("the scenario was taken")
	}
	for _, want := range []string{
		"colour is not a key", "7 days", "seed is -1", `"20" has no unit`, `"3C5"`, `no such fault "relay melted": write one of relay welded`,
		`no relay "pad-south"`, `"0.5" has no unit`, `no probe "tail": write one of control (or 28-`, "until must come after at",
		`"3W": write a number with the unit L/h`, `no such event "dance"`, `no station "south"`,
	} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("nothing says %q in:\n%v", want, err)
		}
	}
}

func FuzzParseScenario(f *testing.F) {
	f.Add("config = \"tub.toml\"\nduration = \"1h\"\n[[fault]]\nkind = \"sun on tub\"\ntarget = \"north\"\nat = \"1h\"\namount = \"5W\"\n")
	f.Add("drawn = 3\nprobes = \"two\"\nconfig = \"tub.toml\"")
	cfg, err := os.ReadFile("../../configs/tub.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseScenario("x.toml", []byte(text), func(string) ([]byte, error) { return cfg, nil })
		if (s == nil) == (err == nil) {
			t.Errorf("scenario %v and error %v", s, err)
		}
	})
}
