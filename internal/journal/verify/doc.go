// Package verify checks a journal without trusting anything that is stored in
// it: it computes every hash again from the entries themselves.
//
// It decides whether a record is whole. It never writes, and it imports the
// standard library and the canonical form of an entry only; where the rows
// come from is behind the small interface Source.
//
// The chain is the Merkle tree hash of RFC 6962, section 2.1: a leaf is
// SHA-256 of 0x00 and the entry, an inner node is SHA-256 of 0x01, its left
// and its right child. So a leaf can never be taken for a node, the detail of
// an old entry can be given up while its leaf hash stays, and a head that was
// printed years ago still pins everything before it.
//
// What it cannot find: somebody who rewrites the whole file, with every hash,
// when no head was ever noted elsewhere. Reports print the head for that.
package verify
