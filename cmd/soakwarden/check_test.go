package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// answer runs the program and returns what it printed and its exit status.
func answer(args ...string) (out, errOut string, status int) {
	var o, e bytes.Buffer
	status = run(args, &o, &e)
	return o.String(), e.String(), status
}

func fileWith(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bench.toml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// mistaken is a file with twelve different mistakes.
const mistaken = `name = "bench é"
invented = true

[journal]
paht = "/var/lib/soakwarden/journal.db"
path = 7

[[bus]]
name = "header"
kind = "simulated"

[[relay]]
name = "pad"
pin = "GPIO5"
on_when = "low"

[[relay]]
name = "series"
pin = "GPIO5"
on_when = "low"

[[station]]
name = "north"
kind = "tub"
species = "dragon"
set_point = 85F
differential = 0.5
cutoff = "36C"
pad_relay = "pad"
series_relay = "sreies"
room_coldest = "16"
room_warmest = "27C"
tub = { length = "400mm", width = "280mm", depth = "200mm", pad = "20W", lid = true }

  [[station.probe]]
  role = "control"
  bus = "header"
  rom = "28-0316a2795cff"
  offset = "+0.12K"

  [[station.probe]]
  role = "guard"
  bus = "haeder"
  rom = "28-0316a2795cff"
  offset = "+0.12K"
`

type problems struct {
	Problems []struct {
		Line, Column      int
		Severity, Message string
	}
}

func TestCheckFindsTwelveMistakesAtOnce(t *testing.T) {
	path := fileWith(t, mistaken)
	out, errOut, status := answer("check", path, "--json")
	var p problems
	if err := json.Unmarshal([]byte(out), &p); err != nil || status != 1 || errOut != "" {
		t.Fatalf("status %d, %v, %q", status, err, errOut)
	}
	var places [][2]int
	for _, x := range p.Problems {
		if x.Severity == "error" {
			places = append(places, [2]int{x.Line, x.Column})
			if x.Message == "" {
				t.Error("a problem without words")
			}
		}
	}
	want := [][2]int{{5, 1}, {6, 8}, {19, 7}, {25, 11}, {26, 13}, {27, 16}, {28, 10}, {30, 16}, {31, 16}, {33, 52}, {43, 9}, {44, 9}}
	if len(places) != len(want) {
		t.Fatalf("%d mistakes:\n%s", len(places), out)
	}
	for i := range want {
		if places[i] != want[i] {
			t.Errorf("mistake %d is at %v, want %v", i+1, places[i], want[i])
		}
	}
	out, _, status = answer("check", path)
	if status != 1 || strings.Count(out, ": error: ") != 12 || !strings.HasSuffix(out, "12 mistakes. It will not be used.\n") {
		t.Errorf("status %d\n%s", status, out)
	}
}

func TestCheckOfTheExamples(t *testing.T) {
	for _, name := range []string{"tub.toml", "bench.toml", "reference.toml"} {
		out, errOut, status := answer("check", filepath.Join("..", "..", "configs", name), "--json")
		var p problems
		if err := json.Unmarshal([]byte(out), &p); err != nil || status != 0 || errOut != "" || p.Problems == nil {
			t.Errorf("%s: status %d, %v\n%s%s", name, status, err, out, errOut)
		}
		for _, x := range p.Problems {
			if x.Severity != "advice" {
				t.Errorf("%s: %+v", name, x)
			}
		}
	}
}

func TestCheckKnowsTheBoundsThatNeedTheModel(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	path := fileWith(t, strings.Replace(string(text), "cutout = \"35C\"\n", "", 1))
	out, _, status := answer("check", path)
	if status != 1 || !strings.Contains(out, "fit an independent thermal cut-out") {
		t.Errorf("status %d\n%s", status, out)
	}
	// The same file has a heat budget: that is where the advice is.
	out, _, status = answer("size", path)
	if status != 0 || !strings.Contains(out, "NEEDS CUT-OUT") {
		t.Errorf("size: status %d\n%s", status, out)
	}
}

func TestCheckWithoutAFile(t *testing.T) {
	for _, args := range [][]string{{"check"}, {"check", "no such file"}, {"check", t.TempDir()}, {"size", "no such file"}} {
		out, errOut, status := answer(args...)
		if status != 2 || out != "" || !strings.HasPrefix(errOut, "soakwarden: ") {
			t.Errorf("%v: status %d, %q, %q", args, status, out, errOut)
		}
	}
}
