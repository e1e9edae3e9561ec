package main

import (
	"os"
	"strings"
	"testing"
	"time"
)

// The unit must start and stop what the program understands, with one and the
// same configuration, and must drive everything off after every end.
func TestServiceUnit(t *testing.T) {
	text, err := os.ReadFile("../../configs/soakwarden.service")
	if err != nil {
		t.Fatal(err)
	}
	unit := map[string]string{}
	for line := range strings.Lines(string(text)) {
		if key, value, ok := strings.Cut(strings.TrimSpace(line), "="); ok && !strings.HasPrefix(key, "#") {
			unit[key] = value
		}
	}
	configs := map[string]string{}
	for key, want := range map[string]string{"ExecStart": "run", "ExecStopPost": "off"} {
		words := strings.Fields(unit[key])
		if len(words) < 2 {
			t.Fatalf("%s is %q", key, unit[key])
		}
		cmd, rest, err := newRoot().Find(words[1:])
		if err != nil || cmd.Name() != want {
			t.Errorf("%s runs %v, %v; want %s", key, words, err, want)
			continue
		}
		if err := cmd.ParseFlags(rest); err != nil {
			t.Errorf("%s: %v", key, err)
			continue
		}
		configs[key] = cmd.Flag("config").Value.String()
	}
	if configs["ExecStart"] == "" || configs["ExecStart"] != configs["ExecStopPost"] {
		t.Errorf("two configurations: %v", configs)
	}
	for key, want := range map[string]string{"Type": "notify", "Restart": "on-failure", "StateDirectory": "soakwarden"} {
		if unit[key] != want {
			t.Errorf("%s is %q, want %q", key, unit[key], want)
		}
	}
	// The manager must wait for more than a late tick, and less than it takes
	// a pad to do harm.
	if d, err := time.ParseDuration(unit["WatchdogSec"] + "s"); err != nil || d < 10*time.Second || d > time.Minute {
		t.Errorf("WatchdogSec is %q", unit["WatchdogSec"])
	}
}
