package house

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The table of tubs in the README is the one that the model's own test holds.
func TestReadmeShowsTheModelsTubs(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	table, err := os.ReadFile(filepath.Join(root, "testdata/reference/envelope.md"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), "<!-- envelope begin -->\n"+string(table)+"<!-- envelope end -->") {
		t.Error("the table of tubs in README.md is not that of testdata/reference/envelope.md")
	}
}
