package rehearsal

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden stories anew")

const scenarios = "../../testdata/scenarios"

// story is everything that a scenario tells: its narration and its outcome,
// without the one value that may differ between two runs.
func story(t *testing.T, path string) (text []byte, out *Outcome) {
	t.Helper()
	s, err := LoadScenario(path)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	out, err = s.Run(Options{Narrate: &b})
	if err != nil {
		t.Fatal(err)
	}
	out.WallSeconds = 0
	enc := json.NewEncoder(&b)
	enc.SetIndent("", "  ")
	if err := enc.Encode(out); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), out
}

// Each scenario is a whole story with its complete narration. Run with -update
// to write them anew, and review the difference as prose.
func TestStoriesAreAsTold(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(scenarios, "*.toml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenarios: %v", err)
	}
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".toml")
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, out := story(t, path)
			golden := strings.TrimSuffix(path, ".toml") + ".golden"
			if *update {
				if err := os.WriteFile(golden, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("the story is another one; %s", firstDifference(want, got))
			}
			for _, p := range out.Promises {
				if !p.Held {
					t.Errorf("broken: %s", p.Name)
				}
			}
		})
	}
}

func firstDifference(want, got []byte) string {
	a, b := strings.Split(string(want), "\n"), strings.Split(string(got), "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return "first difference:\n  told: " + a[i] + "\n   now: " + b[i]
		}
	}
	return "one is longer"
}

func TestSameSeedSameBytes(t *testing.T) {
	path := filepath.Join(scenarios, "relay-welded.toml")
	one, _ := story(t, path)
	two, _ := story(t, path)
	if !bytes.Equal(one, two) {
		t.Error("two runs of one scenario differ")
	}
}
