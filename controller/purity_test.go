package controller

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// What the decision core may import and call. A clock, a file, a socket, a
// goroutine or a mutable global would make a Step depend on something that the
// journal does not hold.
var (
	mayImport = []string{
		"bytes", "cmp", "encoding/binary", "encoding/json", "errors", "fmt", "hash/crc32", "io", "iter", "math", "math/bits", "slices",
		"sort", "strconv", "strings", "time", "unicode/utf8",
		"crypto/sha256", "embed", "encoding/hex", "io/fs", // the core reads its own text, which is part of the program
		"periph.io/x/conn/v3/physic",
	}
	mayUseOfMath = []string{
		"Sqrt", "Abs", "Floor", "Ceil", "Trunc", "RoundToEven", "Ldexp", "Frexp", "Copysign", "FMA", "Inf", "NaN", "IsNaN", "IsInf",
		"Float64bits", "Float64frombits", "MaxInt64", "MinInt64", "MaxInt32", "MaxInt16", "MaxUint32", "MaxFloat64", "MaxUint16", "MaxUint8",
		"MaxInt", "MaxInt8", "MinInt16", "MinInt32", "Pi",
	}
	mayNotUseOfTime = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Local", "LoadLocation"}
)

func TestCoreIsPure(t *testing.T) {
	files := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		files++
		for _, why := range impurities(t, path, nil) {
			t.Error(why)
		}
		return nil
	})
	if err != nil || files < 10 {
		t.Fatalf("%d files looked at: %v", files, err)
	}
}

// TestPurityIsNoticed shows that the test above can fail.
func TestPurityIsNoticed(t *testing.T) {
	for _, src := range []string{
		`package x; import "os"`,
		`package x; import "time"; func f() { time.Now() }`,
		`package x; import "math"; func f() { math.Exp(1) }`,
		`package x; func f() { go f() }`,
		`package x; func f() { select {} }`,
		`package x; var c chan int`,
		`package x; var n int; func f() { n++ }`,
		`package x; var n [3]int; func f() { n[1] = 2 }`,
		`package x; var n int; func f() *int { return &n }`,
		`package x; var N int`,
		`package x; func f() { for range map[int]int{} {} }`,
		`package x; import "soakwarden/internal/loop"`,
	} {
		if len(impurities(t, "x.go", src)) == 0 {
			t.Errorf("not noticed: %s", src)
		}
	}
}

func impurities(t *testing.T, path string, src any) []string {
	t.Helper()
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, path, src, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	bad := func(n ast.Node, what string) { found = append(found, set.Position(n.Pos()).String()+": "+what) }
	leaf := strings.HasPrefix(path, "alarm/") || strings.HasPrefix(path, "observer/")
	for _, i := range f.Imports {
		name, _ := strconv.Unquote(i.Path.Value)
		ours := strings.HasPrefix(name, "soakwarden/controller") && !leaf || name == "soakwarden/sim/num" && !leaf
		if !slices.Contains(mayImport, name) && !ours {
			bad(i, "imports "+name)
		}
	}
	globals := map[string]bool{}
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.VAR {
			continue
		}
		for _, s := range g.Specs {
			v := s.(*ast.ValueSpec)
			for _, n := range v.Names {
				globals[n.Name] = n.Name != "_"
				if n.IsExported() && !strings.HasPrefix(n.Name, "Err") {
					bad(n, "an exported variable "+n.Name)
				}
			}
		}
	}
	root := func(e ast.Expr) string {
		for {
			switch x := e.(type) {
			case *ast.Ident:
				return x.Name
			case *ast.IndexExpr:
				e = x.X
			case *ast.SelectorExpr:
				e = x.X
			default:
				return ""
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			bad(n, "a goroutine")
		case *ast.SelectStmt, *ast.SendStmt, *ast.ChanType:
			bad(n, "a channel")
		case *ast.MapType:
			bad(n, "a map: its order is not the same twice")
		case *ast.SelectorExpr:
			switch x, _ := n.X.(*ast.Ident); {
			case x == nil:
			case x.Name == "math" && !slices.Contains(mayUseOfMath, n.Sel.Name):
				bad(n, "math."+n.Sel.Name)
			case x.Name == "time" && slices.Contains(mayNotUseOfTime, n.Sel.Name):
				bad(n, "time."+n.Sel.Name)
			}
		case *ast.AssignStmt:
			for _, l := range n.Lhs {
				if n.Tok != token.DEFINE && globals[root(l)] {
					bad(n, "the global "+root(l)+" is written")
				}
			}
		case *ast.IncDecStmt:
			if globals[root(n.X)] {
				bad(n, "the global "+root(n.X)+" is written")
			}
		case *ast.UnaryExpr:
			// A row of a table may be looked at through a pointer; a whole
			// variable may not leave.
			if x, ok := n.X.(*ast.Ident); ok && n.Op == token.AND && globals[x.Name] {
				bad(n, "the address of the global "+x.Name)
			}
		}
		return true
	})
	return found
}
