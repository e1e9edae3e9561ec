package house

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
)

var update = flag.Bool("update", false, "write the tables of SAFETY.md anew")

// between replaces what stands between two marks of a text.
func between(t *testing.T, text, mark, body string) string {
	t.Helper()
	begin, end := "<!-- "+mark+" begin -->\n", "<!-- "+mark+" end -->"
	i := strings.Index(text, begin)
	j := strings.Index(text, end)
	if i < 0 || j < i {
		t.Fatalf("SAFETY.md has no place for %s", mark)
	}
	return text[:i+len(begin)] + body + text[j:]
}

// holdSafety holds a table of SAFETY.md against what the code gives.
func holdSafety(t *testing.T, mark, body string) {
	t.Helper()
	path := filepath.Join(root, "SAFETY.md")
	old, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	now := between(t, string(old), mark, body)
	if *update {
		if err := os.WriteFile(path, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if now != string(old) {
		t.Errorf("the table %q of SAFETY.md and the code disagree; write it anew with -update and read the difference", mark)
	}
}

func TestCausesOfSafetyAreTheCodes(t *testing.T) {
	var b strings.Builder
	b.WriteString("| cause | looks at | after | does | held | reset | first |\n|---|---|---|---|---|---|---|\n")
	for c := controller.NoCause + 1; int(c) < controller.CauseCount; c++ {
		rows := []controller.Rule{c.Rule()}
		if r := c.At(controller.Chamber); r.LooksAt != rows[0].LooksAt || r.Advice != rows[0].Advice {
			r.Name += ", in a chamber"
			rows = append(rows, r)
		}
		for _, r := range rows {
			b.WriteString(causeRow(r))
		}
	}
	holdSafety(t, "causes", b.String())
}

func causeRow(r controller.Rule) string {
	severity := map[controller.Severity]string{
		controller.Note: "note", controller.Warning: "warning", controller.HeatOff: "heat off", controller.Trip: "trip",
	}
	held, reset := "no", "—"
	if r.Latches {
		held, reset = "yes, when it trips", "page or board"
		if r.Reset == controller.Board {
			reset = "board"
		}
	}
	return fmt.Sprintf("| %s | %s | %s | %s | %s | %s | %s |\n",
		r.Name, r.LooksAt, delay(r.Delay, r.TripDelay), severity[r.Severity], held, reset, r.Advice)
}

func delay(grace, trip time.Duration) string {
	s := "at once"
	if grace > 0 {
		s = grace.String()
	}
	if trip > 0 {
		s += ", trip " + trip.String()
	}
	return s
}
