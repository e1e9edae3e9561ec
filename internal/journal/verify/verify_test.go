package verify

import (
	"encoding/hex"
	"math/bits"
	"os/exec"
	"strings"
	"testing"
)

// rfcInputs and rfcRoots are the leaf inputs and the tree heads over the first
// 1 to 8 of them that the reference implementation of RFC 6962 carries
// (certificate-transparency, merkle tree tests); from memory. The empty tree is
// SHA-256 of nothing, RFC 6962 section 2.1, and is also FIPS 180-4's value.
var rfcInputs = []string{"", "00", "10", "2021", "3031", "40414243",
	"5051525354555657", "606162636465666768696a6b6c6d6e6f"}

var rfcRoots = []string{
	"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
	"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
	"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
	"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
	"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
	"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
	"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
	"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
	"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
}

func TestTreeHasThePublishedHeads(t *testing.T) {
	var tree Tree
	for n := 0; ; n++ {
		if got := tree.Root(); hex.EncodeToString(got[:]) != rfcRoots[n] {
			t.Errorf("head over %d leaves is %x, want %s", n, got, rfcRoots[n])
		}
		if n == len(rfcInputs) {
			return
		}
		b, err := hex.DecodeString(rfcInputs[n])
		if err != nil {
			t.Fatal(err)
		}
		tree.Append(Leaf(b))
	}
}

// definition is RFC 6962 section 2.1 word for word: MTH(D[n]) splits at the
// largest power of two below n.
func definition(leaves []Hash) Hash {
	if len(leaves) == 0 {
		var empty Tree
		return empty.Root()
	}
	if len(leaves) == 1 {
		return leaves[0]
	}
	k := 1 << (bits.Len(uint(len(leaves)-1)) - 1)
	return Node(definition(leaves[:k]), definition(leaves[k:]))
}

func TestTreeAgreesWithTheDefinition(t *testing.T) {
	var tree Tree
	var leaves []Hash
	for n := 1; n <= 200; n++ {
		leaf := Leaf([]byte{byte(n), byte(n >> 8)})
		leaves = append(leaves, leaf)
		tree.Append(leaf)
		if tree.Root() != definition(leaves) {
			t.Fatalf("they differ at %d leaves", n)
		}
		again, err := Resume(tree.Size(), tree.Frontier())
		if err != nil || again.Root() != tree.Root() {
			t.Fatalf("resumed at %d leaves: %v", n, err)
		}
		if _, err := Resume(tree.Size(), tree.Frontier()[1:]); err == nil {
			t.Fatal("a frontier that is too short was taken")
		}
	}
}

func TestImportsOnlyTheStandardLibrary(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range strings.Fields(string(out)) {
		if !strings.HasPrefix(p, "soakwarden/internal/journal/") {
			t.Errorf("it imports %s", p)
		}
	}
}
