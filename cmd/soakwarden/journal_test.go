package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soakwarden/internal/journal"
)

const changedJournal = "../../internal/journal/testdata/changed.journal"

// journalCommand runs the program and gives its exit status and what it printed.
func journalCommand(args ...string) (status int, out, errOut string) {
	var o, e bytes.Buffer
	status = run(append([]string{"journal"}, args...), &o, &e)
	return status, o.String(), e.String()
}

func TestJournalCommands(t *testing.T) {
	dir := t.TempDir()
	sound := filepath.Join(dir, "sound.db")
	j, err := journal.Open(sound, journal.Options{Reserve: -1})
	if err != nil {
		t.Fatal(err)
	}
	<-j.Note("north", "A. Keeper", "drank").Done()
	head := j.Health()
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	text := filepath.Join(dir, "text")
	if err := os.WriteFile(text, bytes.Repeat([]byte("no database\n"), 200), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{"verify", sound}, 0, "the record is whole"},
		{[]string{"verify", "--replay", sound}, 0, "the record is whole"},
		{[]string{"verify", changedJournal}, 1, "NOT whole"},
		{[]string{"verify", text}, 2, "not a database"},
		{[]string{"verify", filepath.Join(dir, "none")}, 2, "no such file"},
		{[]string{"verify", dir}, 2, "is a folder"},
		{[]string{"verify", sound, "--head", "2:00"}, 2, "64 hexadecimal digits"},
		{[]string{"verify", sound, "--head", "2:" + strings.Repeat("00", 32)}, 1, "noted elsewhere"},
		{[]string{"export", sound, "--kind", "note"}, 0, "A. Keeper: drank"},
		{[]string{"export", sound, "--kind", "song"}, 2, "the kinds are"},
		{[]string{"export", sound, "--from", "yesterday"}, 2, "RFC 3339"},
		{[]string{"export", sound, "--sqlite", filepath.Join(dir, "copy.db")}, 0, ""},
		{[]string{"export", sound, "--sqlite", filepath.Join(dir, "copy.db")}, 2, "exists already"},
		{[]string{"verify", filepath.Join(dir, "copy.db")}, 0, "the record is whole"},
		{[]string{"report", sound, "--station", "north", "--out", filepath.Join(dir, "r.txt")}, 2, ".pdf or .html"},
		{[]string{"report", sound, "--station", "north", "--out", filepath.Join(dir, "r.pdf")}, 2, "no readings of a station"},
		{[]string{"report", changedJournal, "--station", "tub-1", "--out", filepath.Join(dir, "r.pdf")}, 1, ""},
		{[]string{"report", changedJournal, "--station", "tub-1", "--out", filepath.Join(dir, "r.html"), "--paper", "letter"}, 1, ""},
		{[]string{"report", changedJournal, "--station", "tub-1", "--out", filepath.Join(dir, "r.html")}, 2, "exists"},
	} {
		status, out, errOut := journalCommand(c.args...)
		if status != c.status || !strings.Contains(out+errOut, c.says) {
			t.Errorf("journal %s: status %d, want %d and %q:\n%s%s", strings.Join(c.args, " "), status, c.status, c.says, out, errOut)
		}
	}
	_, out, _ := journalCommand("verify", "--json", sound)
	var rep struct {
		OK       bool     `json:"ok"`
		Entries  uint64   `json:"entries"`
		Chain    string   `json:"chain"`
		Problems []string `json:"problems"`
	}
	if err := json.Unmarshal([]byte(out), &rep); err != nil || !rep.OK || rep.Entries != head.Entries || len(rep.Chain) != 64 || rep.Problems == nil {
		t.Errorf("%v: %s", err, out)
	}
}
