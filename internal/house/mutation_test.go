package house

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Mutants of the controller that no test notices are listed with the reason. A
// row whose line has gone, or that explains nothing, would explain away the next
// mutant that survives there.
func TestSurvivingMutantsStandWhereTheListSays(t *testing.T) {
	list, err := os.ReadFile(filepath.Join(root, "testdata", "mutation", "survivors.txt"))
	if err != nil {
		t.Fatal(err)
	}
	sources := map[string][]string{}
	seen := map[string]bool{}
	rows := 0
	for n, row := range strings.Split(strings.TrimSuffix(string(list), "\n"), "\n") {
		if strings.HasPrefix(row, "#") {
			continue
		}
		rows++
		mutant, why, _ := strings.Cut(row, "\t")
		file, rest, _ := strings.Cut(mutant, ": ")
		operator, line, ok := strings.Cut(rest, ": ")
		before, after, marked := strings.Cut(line, "¦")
		if !ok || !marked || after == "" || strings.ToUpper(operator) != operator || len(why) < 20 || !strings.HasPrefix(file, "controller/") {
			t.Errorf("row %d is not a file, an operator, a line with a bar in it, a tab and a reason: %s", n+1, row)
			continue
		}
		if seen[mutant] {
			t.Errorf("row %d stands twice: %s", n+1, mutant)
		}
		seen[mutant] = true
		if sources[file] == nil {
			b, err := os.ReadFile(filepath.Join(root, file))
			if err != nil {
				t.Errorf("row %d: %v", n+1, err)
				continue
			}
			sources[file] = strings.Split(string(b), "\n")
		}
		if there := func() bool {
			for _, l := range sources[file] {
				if strings.TrimSpace(l) == strings.TrimSpace(before+after) {
					return true
				}
			}
			return false
		}(); !there {
			t.Errorf("row %d: %s has no line %q any more: take the row away", n+1, file, before+after)
		}
	}
	if rows == 0 {
		t.Error("no row was looked at")
	}
}
