package kernel

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"soakwarden/sensors"
)

// The kernel's file answers with a state after it took the trigger; a plain one
// would answer with the trigger. So the write is taken over here, and what it
// leaves in the file is the state.
func TestBulkConversionTrustsNothingButStateOne(t *testing.T) {
	for _, c := range []struct {
		state   string
		trusted bool
	}{{"1\n", true}, {"1", true}, {"0\n", false}, {"-1\n", false}, {"", false}, {"11\n", false}} {
		root := t.TempDir()
		for _, d := range []string{"w1_bus_master1", "28-0316a2795cff"} {
			if err := os.Mkdir(filepath.Join(root, d), 0o755); err != nil {
				t.Fatal(err)
			}
		}
		bulk := filepath.Join(root, "w1_bus_master1", bulkFile)
		if err := os.WriteFile(bulk, nil, 0o644); err != nil {
			t.Fatal(err)
		}
		s := New(root)
		writes := 0
		s.write = func(path, text string) error {
			if writes++; path != bulk || text != "trigger\n" {
				t.Errorf("wrote %q into %s", text, path)
			}
			return os.WriteFile(path, []byte(c.state), 0o644)
		}
		conversion, err := s.Start()
		if writes != 1 || conversion != (sensors.Conversion{}) {
			t.Errorf("state %q: %d writes, %+v", c.state, writes, conversion)
		}
		if c.trusted && err != nil || !c.trusted && !errors.Is(err, sensors.ErrDistrusted) {
			t.Errorf("state %q: %v", c.state, err)
		}
	}
}
