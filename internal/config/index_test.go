package config

import (
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
)

// paths lists every path of a decoded document.
func paths(v any, path string, into map[string]bool) {
	if path != "" {
		into[path] = true
	}
	switch v := v.(type) {
	case map[string]any:
		for k, inner := range v {
			paths(inner, join(path, k), into)
		}
	case []map[string]any:
		for i, inner := range v {
			paths(inner, element(path, i), into)
		}
	case []any:
		for i, inner := range v {
			paths(inner, element(path, i), into)
		}
	}
}

// disagreement returns the paths that the index and the decoder do not share.
func disagreement(text string) []string {
	var tree map[string]any
	if _, err := toml.Decode(text, &tree); err != nil {
		return nil
	}
	want := map[string]bool{}
	paths(tree, "", want)
	x := newIndex(text)
	if len(x.twice) > 0 {
		return nil // no TOML, and the decoder keeps the one or the other
	}
	var wrong []string
	for p := range want {
		if _, ok := x.keys[p]; !ok {
			wrong = append(wrong, "not indexed: "+strings.ReplaceAll(p, "\x00", "/"))
		}
	}
	for p := range x.keys {
		if !want[p] {
			wrong = append(wrong, "not there: "+strings.ReplaceAll(p, "\x00", "/"))
		}
	}
	sort.Strings(wrong)
	return wrong
}

var indexSeeds = []string{
	"a = 1\n[b]\nc.d = \"x\"\n[[e]]\nf = [1, 2, {g = 3}]\n[[e]]\n[e.h]\n[[e.i]]\nj = '''a\n'''''\n",
	"\"quoted key\".'other' = \"\"\"a \\\n  b\"\"\"\"\n",
	"# comment\r\nx = { y = { z = [ [1], [ ] ] }, w = 1979-05-27T07:32:00Z } # end\r\n",
	"\ufeffa = \"\\u00e9\"\n\"\\u00e9\" = 2\n",
	"[a.b.c]\n[a]\nd = [ # one\n 1, # two\n]\n",
}

func TestIndexAgreesWithTheDecoder(t *testing.T) {
	for _, text := range indexSeeds {
		if wrong := disagreement(text); len(wrong) > 0 {
			t.Errorf("%q:\n%s", text, strings.Join(wrong, "\n"))
		}
	}
}

// A value for a name that is a table already is no TOML (TOML 1.0, section
// Table). The decoder keeps the one or the other of some and says nothing.
func TestWhatStandsTwiceIsAMistake(t *testing.T) {
	for _, text := range []string{
		"[a.d.c]\n[a]\nd = [ # one\n 1, # two\n]", "[page.listen.x]\n[page]\nlisten = \"127.0.0.1:8460\"\n",
	} {
		x := newIndex(text)
		if len(x.twice) != 1 || x.again[0] != (Place{3, 1}) {
			t.Errorf("%q: %q at %v", text, x.twice, x.again)
		}
		_, problems := Parse("twice.toml", []byte(text))
		if !slices.ContainsFunc(problems, func(p Problem) bool {
			return p.Line == 3 && p.Severity == Error && strings.Contains(p.Message, "stands in line 1, too")
		}) {
			t.Errorf("%q: %v", text, problems)
		}
	}
	for _, text := range indexSeeds {
		if x := newIndex(text); len(x.twice) > 0 {
			t.Errorf("%q: %q stands twice", text, x.twice)
		}
	}
}

func TestPlacesCountCharacters(t *testing.T) {
	x := newIndex("[[stätion]]\n\"é\" = { ü = \"ö\", b = 2 }\n")
	// "stätion" is no bare key, so only the second line counts here.
	if got, want := x.place(len("[[stätion]]\n\"é\" = { ü = \"ö\", ")), (Place{2, 18}); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
	x = newIndex("name = \"é\"\nt = { \"ü\" = \"öö\", b = 2 }\n")
	if got, want := x.keys["\x00t\x00b"], (Place{2, 19}); got != want {
		t.Errorf("key: got %v, want %v", got, want)
	}
	if got, want := x.values["\x00t\x00b"], (Place{2, 23}); got != want {
		t.Errorf("value: got %v, want %v", got, want)
	}
}

func FuzzIndex(f *testing.F) {
	for _, s := range indexSeeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		newIndex(text) // ends, whatever the text is
		if strings.Contains(text, "\x00") || strings.Contains(text, `\u0000`) || strings.Contains(text, `\x00`) ||
			strings.Contains(text, `\U00000000`) {
			return // a key with the separator in it may get the place of another
		}
		if wrong := disagreement(text); len(wrong) > 0 {
			t.Errorf("%q:\n%s", text, strings.Join(wrong, "\n"))
		}
	})
}
