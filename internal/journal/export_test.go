package journal

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soakwarden/internal/journal/entry"
)

func TestExport(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j := mustOpen(t, path, Options{Reserve: -1, Reason: "test", Clock: func() Moment { return Moment{Wall: noon, Trusted: true} }})
	b := newBench(2, 3)
	for range 120 {
		j.Tick(b.tick())
	}
	r := b.tick()
	r.Stations[0].Input.Readings[1] = r.Stations[1].Input.Readings[1]
	r.Stations[0].Input.Readings[1].Quality, r.Stations[0].Input.Readings[1].Flaw = 1, 2
	j.Tick(r)
	await(t, j.Tick(b.act(0, "A. Keeper", "said \"look\", twice")))

	// A consistent copy while the journal is open, which verifies by itself.
	read, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := read.Copy(copied); err != nil {
		t.Fatal(err)
	}
	if err := read.Copy(copied); err == nil {
		t.Error("a copy was written over a file")
	}
	if err := read.Close(); err != nil {
		t.Fatal(err)
	}
	mustVerify(t, copied)
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}

	read, err = OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	var lines bytes.Buffer
	if err := ExportJSON(&lines, read, Filter{Station: "tub-1"}); err != nil {
		t.Fatal(err)
	}
	ticks, missing, acts := 0, 0, 0
	for _, text := range strings.Split(strings.TrimSpace(lines.String()), "\n") {
		var l Line
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		switch l.Kind {
		case "ticks":
			ticks++
			if l.Probes[1].ValueC == nil && l.Probes[1].Flaw == "shorted" {
				missing++
			}
		case "act":
			acts++
			if !strings.Contains(l.Text, `by A. Keeper, because: said "look", twice`) {
				t.Errorf("the act reads %q", l.Text)
			}
		}
		if l.Station != "tub-1" {
			t.Errorf("a line of %q", l.Station)
		}
	}
	if ticks != 122 || missing != 1 || acts != 1 {
		t.Errorf("%d ticks, %d readings that do not exist, %d acts", ticks, missing, acts)
	}
	var table bytes.Buffer
	filter := Filter{Kinds: []entry.Kind{entry.KindTicks}, From: noon.Add(10 * time.Second), To: noon.Add(70 * time.Second), Every: 10 * time.Second}
	if err := ExportCSV(&table, read, filter); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&table).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 1+2*5 || len(rows) > 1+2*7 || rows[0][6] != "probe 1 [C]" {
		t.Errorf("%d rows, head %q", len(rows), rows[0])
	}
}
