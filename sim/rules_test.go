package sim

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// allowed are the names of package math that are exactly rounded, or only look
// at bits: they give the same on every processor.
var allowed = map[string]bool{
	"Sqrt": true, "Abs": true, "Floor": true, "Ceil": true, "Trunc": true, "RoundToEven": true, "Ldexp": true, "Frexp": true,
	"Copysign": true, "FMA": true, "Inf": true, "NaN": true, "IsNaN": true, "IsInf": true, "Float64bits": true, "Float64frombits": true,
	"Pi": true, "Sqrt2": true, "MaxInt64": true, "MaxFloat64": true,
}

// No file of sim/** outside the tests uses another name of package math, nor a
// random source but PCG.
func TestAllowedNamesOfMath(t *testing.T) {
	files := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		files++
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		names := map[string]string{}
		for _, i := range file.Imports {
			p := strings.Trim(i.Path.Value, `"`)
			name := p[strings.LastIndex(p, "/")+1:]
			if p == "math/rand/v2" {
				name = "rand"
			}
			if i.Name != nil {
				name = i.Name.Name
			}
			names[name] = p
			if p == "math/rand" || p == "math/cmplx" || strings.Contains(p, "gonum") {
				t.Errorf("%s imports %s", path, p)
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			x, ok := s.X.(*ast.Ident)
			if !ok {
				return true
			}
			switch names[x.Name] {
			case "math":
				if !allowed[s.Sel.Name] {
					t.Errorf("%s: math.%s differs between processors", set.Position(s.Pos()), s.Sel.Name)
				}
			case "math/rand/v2":
				if s.Sel.Name != "PCG" && s.Sel.Name != "NewPCG" {
					t.Errorf("%s: rand.%s is not for a run that is compared", set.Position(s.Pos()), s.Sel.Name)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 20 {
		t.Errorf("only %d files were looked at", files)
	}
}

// fused are the arm64 instructions that multiply and add with one rounding.
var fused = regexp.MustCompile(`\bFN?M(ADD|SUB)[SD]\b`)

// object is a package compiled for arm64.
type object struct{ path, dir, file string }

// objects builds packages for arm64 and returns their object files.
func objects(t *testing.T, dir string, arguments ...string) []object {
	t.Helper()
	c := exec.Command("go", append([]string{"list", "-export", "-f", "{{.ImportPath}}\t{{.Dir}}\t{{.Export}}"}, arguments...)...)
	c.Dir = dir
	c.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0")
	out, err := c.Output()
	if err != nil {
		if e, ok := err.(*exec.ExitError); ok {
			t.Fatalf("go list: %v\n%s", err, e.Stderr)
		}
		t.Fatal(err)
	}
	var found []object
	for line := range strings.Lines(string(out)) {
		if f := strings.Split(strings.TrimRight(line, "\n"), "\t"); len(f) == 3 {
			found = append(found, object{f[0], f[1], f[2]})
		}
	}
	return found
}

// place is where a line of a disassembly comes from.
var place = regexp.MustCompile(`^\s*([\w.]+\.go):(\d+)`)

// meant says whether a fused instruction is written in the source: math.FMA rounds
// once on every processor. The compiler may put it a line off.
func (o object) meant(line string) bool {
	m := place.FindStringSubmatch(line)
	if m == nil {
		return false
	}
	text, err := os.ReadFile(filepath.Join(o.dir, m[1]))
	if err != nil {
		return false
	}
	lines := strings.Split(string(text), "\n")
	n, err := strconv.Atoi(m[2])
	if err != nil || n < 1 || n > len(lines) {
		return false
	}
	return strings.Contains(strings.Join(lines[max(0, n-2):min(len(lines), n+1)], "\n"), "math.FMA(")
}

// fusedIn returns the lines of a package's disassembly that are fused.
func fusedIn(t *testing.T, object string) (lines []string, all int) {
	t.Helper()
	out, err := exec.Command("go", "tool", "objdump", object).Output()
	if err != nil {
		t.Fatalf("go tool objdump %s: %v", object, err)
	}
	for line := range strings.Lines(string(out)) {
		all++
		if fused.MatchString(line) {
			lines = append(lines, strings.TrimSpace(line))
		}
	}
	return lines, all
}

// profile guides the compiler when it builds the program.
const profile = "cmd/soakwarden/default.pgo"

// Every package of controller/** and sim/**, compiled for arm64, has no fused
// instruction: all their code is looked at, whether a program calls it or not.
func TestNoFusedInstructionOnARM64(t *testing.T) {
	looked := 0
	packages := []string{"./controller/...", "./sim/..."}
	// Twice: as they are, and with the profile of the program, with which more is
	// inlined.
	both := objects(t, "..", packages...)
	both = append(both, objects(t, "..", append([]string{"-pgo=" + profile}, packages...)...)...)
	for _, o := range both {
		if o.file == "" {
			t.Errorf("%s has no object file", o.path)
			continue
		}
		lines, all := fusedIn(t, o.file)
		looked += all
		for _, l := range lines {
			if !o.meant(l) {
				t.Errorf("%s: %s", o.path, l)
			}
		}
	}
	if looked < 10000 {
		t.Errorf("only %d lines of code were looked at", looked)
	}
}

// The search can fail: code that is known to fuse is found.
func TestFusedInstructionsAreFound(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod": "module canary\n\ngo 1.26\n",
		"canary.go": "package canary\n\nimport \"math\"\n\nfunc Fuses(x, y, z float64) float64 { return x*y + z }\n\n" +
			"func Keeps(x, y, z float64) float64 { return float64(x*y) + z }\n\nfunc Means(x, y, z float64) float64 { return math.FMA(x, y, z) }\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	canary := objects(t, dir, ".")[0]
	found, _ := fusedIn(t, canary.file)
	if len(found) != 2 {
		t.Fatalf("the canary has %d fused instructions, want 2: %q", len(found), found)
	}
	for _, line := range found {
		if want := strings.Contains(line, ":9"); canary.meant(line) != want {
			t.Errorf("meant by the source: %v, want %v: %s", !want, want, line)
		}
	}
}
