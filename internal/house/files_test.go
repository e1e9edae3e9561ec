package house

import (
	"bufio"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"
)

// longest is the most lines that a file of Go may have. A longer one wants a
// name for its parts.
const longest = 500

// walk calls visit for each file of the tree that is ours.
func walk(t *testing.T, visit func(path string)) {
	t.Helper()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && d.Name() != ".." {
			return filepath.SkipDir
		}
		if !d.IsDir() {
			visit(path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func countLines(t *testing.T, path string) int {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n := 0
	for s := bufio.NewScanner(f); s.Scan(); n++ {
		if s.Err() != nil {
			t.Fatal(s.Err())
		}
	}
	return n
}

func TestFilesCanBeReadInOneSitting(t *testing.T) {
	var lengths []int
	walk(t, func(path string) {
		if !strings.HasSuffix(path, ".go") {
			return
		}
		n := countLines(t, path)
		lengths = append(lengths, n)
		if n > longest {
			t.Errorf("%s has %d lines, at most %d", path, n, longest)
		}
	})
	sort.Ints(lengths)
	if len(lengths) == 0 {
		t.Fatal("no file of Go was found")
	}
	t.Logf("%d files, median %d lines, ninetieth percentile %d", len(lengths), lengths[len(lengths)/2], lengths[len(lengths)*9/10])
}

func TestEveryPackageSaysWhatItDecides(t *testing.T) {
	described := make(map[string]bool)
	comment := regexp.MustCompile(`(?m)^// (Package|Command) \w+ `)
	walk(t, func(path string) {
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.Dir(path)
		described[dir] = described[dir] || comment.Match(data)
	})
	for dir, ok := range described {
		if !ok {
			t.Errorf("package %s has no comment that says what it decides", dir)
		}
	}
}

// Each requirement of SAFETY.md is a row that begins with its number and names
// the test that shows it, as `folder: TestName`.
func TestRequirementsNameTheirTests(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(root, "SAFETY.md"))
	if err != nil {
		t.Fatal(err)
	}
	tests := make(map[string]bool)
	declared := regexp.MustCompile(`(?m)^func (Test\w+|Fuzz\w+)\(`)
	walk(t, func(path string) {
		if !strings.HasSuffix(path, "_test.go") {
			return
		}
		source, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range declared.FindAllSubmatch(source, -1) {
			tests[filepath.ToSlash(rel)+": "+string(m[1])] = true
		}
	})
	row := regexp.MustCompile(`(?m)^\| (S\d+) \|.*$`)
	named := regexp.MustCompile("`([\\w/]+: (?:Test|Fuzz)\\w+)`")
	seen := make(map[string]bool)
	for _, m := range row.FindAllStringSubmatch(string(data), -1) {
		if seen[m[1]] {
			t.Errorf("requirement %s stands twice", m[1])
		}
		seen[m[1]] = true
		names := named.FindAllStringSubmatch(m[0], -1)
		if len(names) == 0 {
			t.Errorf("requirement %s names no test", m[1])
		}
		for _, n := range names {
			if !tests[n[1]] {
				t.Errorf("requirement %s names %s, which is not there", m[1], n[1])
			}
		}
	}
	if len(seen) < 20 {
		t.Errorf("SAFETY.md has %d numbered requirements", len(seen))
	}
}
