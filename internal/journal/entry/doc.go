// Package entry is the canonical form of what the journal keeps: one Entry,
// one byte string, and back.
//
// It decides which bytes stand for an entry. It never opens a file, looks at a
// clock or knows a database, and it imports only the standard library, so that
// a record can be checked by a program that shares nothing else with the
// writer.
//
// Invariants:
//
//   - Decode accepts exactly the bytes that Append writes: whatever is accepted
//     encodes to the very same bytes again.
//   - Every length in the input is bounded before anything is allocated.
//   - An entry carries its own position, so that two entries cannot be swapped
//     without a trace even where no chain head covers them yet.
//
// Integers are unsigned or zigzag varints (the base 128 form of
// encoding/binary), texts and byte strings have their length in front.
package entry
