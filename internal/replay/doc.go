// Package replay runs the decision core again over the inputs that a journal
// holds and compares every decision: command, permission, reason, effective set
// point, governing probe and events.
//
// It decides whether a record and the core agree. It never touches a relay and
// never changes a record. A journal of a board replays on a PC to the bit,
// because the core computes the same on every processor.
//
// Three answers are kept apart: the same, different, and not comparable. A run
// of another version of the core, a station whose settings are not in the
// record, and everything after a hole in the inputs are not comparable; that is
// no failure of the record.
package replay
