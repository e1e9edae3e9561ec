package verify

import (
	"crypto/sha256"
	"errors"
	"math/bits"
)

// Hash is a SHA-256 value.
type Hash = [sha256.Size]byte

// Leaf is the hash of one entry's canonical bytes (RFC 6962, section 2.1).
func Leaf(body []byte) Hash {
	h := sha256.New()
	h.Write([]byte{0})
	h.Write(body)
	var out Hash
	h.Sum(out[:0])
	return out
}

// Node is the hash of an inner node (RFC 6962, section 2.1).
func Node(left, right Hash) Hash {
	var b [1 + 2*sha256.Size]byte
	b[0] = 1
	copy(b[1:], left[:])
	copy(b[1+sha256.Size:], right[:])
	return sha256.Sum256(b[:])
}

// Tree is a Merkle tree that grows at its end. It keeps the roots of its full
// subtrees only, largest first: one for each bit set in its size. The zero
// value is the empty tree.
type Tree struct {
	size  uint64
	roots []Hash
}

// Append adds one leaf.
func (t *Tree) Append(leaf Hash) {
	for n := t.size; n&1 == 1; n >>= 1 {
		last := len(t.roots) - 1
		leaf = Node(t.roots[last], leaf)
		t.roots = t.roots[:last]
	}
	t.roots = append(t.roots, leaf)
	t.size++
}

// Size is the number of leaves.
func (t *Tree) Size() uint64 { return t.size }

// Root is the tree hash; that of the empty tree is SHA-256 of nothing.
func (t *Tree) Root() Hash {
	if t.size == 0 {
		return sha256.Sum256(nil)
	}
	last := len(t.roots) - 1
	root := t.roots[last]
	for i := last - 1; i >= 0; i-- {
		root = Node(t.roots[i], root)
	}
	return root
}

// Frontier is the roots of the full subtrees one after another, from which the
// tree can grow on.
func (t *Tree) Frontier() []byte {
	out := make([]byte, 0, len(t.roots)*sha256.Size)
	for _, r := range t.roots {
		out = append(out, r[:]...)
	}
	return out
}

// Clone is an independent copy.
func (t *Tree) Clone() Tree { return Tree{t.size, append([]Hash(nil), t.roots...)} }

// Resume is the tree of this size and frontier.
func Resume(size uint64, frontier []byte) (Tree, error) {
	if len(frontier) != bits.OnesCount64(size)*sha256.Size {
		return Tree{}, errors.New("the stored frontier of the chain has the wrong length")
	}
	t := Tree{size: size}
	for i := 0; i < len(frontier); i += sha256.Size {
		t.roots = append(t.roots, Hash(frontier[i:i+sha256.Size]))
	}
	return t, nil
}
