package house

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
)

const (
	root   = "../.."
	module = "soakwarden"
)

// mayImport says which packages of ours a package may import: the imports run
// one way, from the command to the words of the controller. A package that is
// not listed fails the test, so that a new room gets its place on purpose.
var mayImport = map[string][]string{
	"controller/alarm":        {},
	"controller/observer":     {},
	"controller/pairing":      {},
	"controller/treatment":    {"controller"},
	"controller/procedure":    {},
	"controller":              {"controller/alarm", "controller/observer"},
	"sensors":                 {"controller"},
	"sensors/kernel":          {"controller", "sensors"},
	"sensors/ds248x":          {"controller", "sensors"},
	"sim/num":                 {},
	"sim/physics":             {"sim/num"},
	"sim":                     {"sim/num", "sim/physics"},
	"sim/rig":                 {"controller", "sim", "sim/num", "sim/physics"},
	"configs":                 {},
	"internal/house":          {},
	"internal/config":         {"controller", "sensors"},
	"internal/sizing":         {"controller", "controller/treatment", "internal/config", "sim", "sim/num", "sim/physics"},
	"internal/casebook":       {"controller", "controller/alarm", "controller/procedure", "internal/followup", "internal/journal", "internal/loop", "internal/status"},
	"internal/followup":       {"controller/procedure", "internal/status"},
	"internal/handover":       {"controller", "controller/procedure", "internal/casebook", "internal/config", "internal/sizing", "internal/status"},
	"internal/loop":           {"controller", "controller/alarm", "controller/pairing", "sensors"},
	"internal/plan":           {"controller", "sensors", "internal/config", "internal/sizing", "internal/loop"},
	"internal/journal/entry":  {},
	"internal/journal/verify": {"internal/journal/entry"},
	"internal/journal":        {"controller", "controller/alarm", "internal/loop", "internal/journal/entry", "internal/journal/verify"},
	"internal/journal/report": {"controller", "controller/alarm", "internal/casebook", "internal/journal", "internal/journal/entry", "internal/journal/verify", "internal/status"},
	"internal/replay":         {"controller", "internal/journal", "internal/journal/entry", "internal/journal/verify"},
	"internal/treat":          {"controller", "controller/treatment", "internal/config", "internal/journal", "internal/loop", "internal/sizing"},
	"internal/assess":         {"controller", "controller/treatment", "internal/config"},
	"internal/relay":          {"controller"},
	"internal/relay/boot":     {"controller", "internal/relay"},
	"internal/rehearsal":      {"controller", "controller/alarm", "controller/treatment", "internal/treat", "sensors", "sim", "sim/num", "sim/rig", "internal/config", "internal/sizing", "internal/plan", "internal/loop", "internal/journal", "internal/replay"},
	"internal/status":         {"controller", "controller/alarm", "controller/procedure", "internal/loop"},
	"internal/metrics":        {"controller", "controller/alarm", "controller/procedure", "internal/loop", "internal/status"},
	"internal/socket":         {"controller", "internal/casebook", "internal/loop", "internal/status"},
	"internal/page":           {"controller", "controller/alarm", "controller/procedure", "internal/casebook", "internal/loop", "internal/status"},
	"internal/demo":           {"controller", "internal/treat", "sensors", "sim/rig", "internal/config", "internal/loop", "internal/page", "internal/rehearsal", "internal/daemon"},
	"internal/daemon":         {"controller", "controller/alarm", "sensors", "sensors/kernel", "sensors/ds248x", "internal/config", "internal/sizing", "internal/plan", "internal/loop", "internal/journal", "internal/relay", "internal/notify", "internal/page", "internal/metrics", "internal/status", "internal/socket", "internal/casebook", "internal/treat"},
	"internal/notify":         {"controller", "controller/alarm", "internal/loop"},
}

// imports reads the imports of every file that is not a test, by package.
func imports(t *testing.T) map[string]map[string]string {
	t.Helper()
	found := make(map[string]map[string]string)
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && d.Name() != ".." || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		if found[pkg] == nil {
			found[pkg] = make(map[string]string)
		}
		for _, spec := range f.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			found[pkg][name] = path
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func TestImportsRunOneWay(t *testing.T) {
	found := imports(t)
	for pkg, list := range found {
		allowed, listed := mayImport[pkg]
		if !listed && !strings.HasPrefix(pkg, "cmd/") {
			t.Errorf("package %s has no place in the list of what may import what", pkg)
			continue
		}
		may := make(map[string]bool)
		for _, a := range allowed {
			may[a] = true
		}
		for name, file := range list {
			own, ours := strings.CutPrefix(name, module+"/")
			if ours && !strings.HasPrefix(pkg, "cmd/") && !may[own] {
				t.Errorf("%s: %s may not import %s", file, pkg, own)
			}
		}
	}
	for pkg := range mayImport {
		if found[pkg] == nil {
			t.Errorf("the list names package %s, which is not there", pkg)
		}
	}
}

// The decision core stands on the standard library and the units; the verifier
// of a journal on the standard library alone.
func TestCoreAndVerifierStandAlone(t *testing.T) {
	only := map[string][]string{
		"controller": {"periph.io/x/conn/v3/physic"}, "internal/journal/verify": {},
	}
	var pkgs []string
	found := imports(t)
	for pkg := range found {
		pkgs = append(pkgs, pkg)
	}
	sort.Strings(pkgs)
	for _, pkg := range pkgs {
		for base, allowed := range only {
			if pkg != base && !strings.HasPrefix(pkg, base+"/") {
				continue
			}
			for name, file := range found[pkg] {
				outside := strings.Contains(strings.SplitN(name, "/", 2)[0], ".")
				ok := false
				for _, a := range allowed {
					ok = ok || a == name
				}
				if outside && !ok {
					t.Errorf("%s imports %s", file, name)
				}
			}
		}
	}
}
