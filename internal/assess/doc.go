// Package assess judges the time–temperature log of any instrument against a
// schedule, with the same judge as a treatment that this program runs.
//
// It never guesses: a column without a unit, a time without a zone, a row that
// does not fit its header or a value that is no number is an error with its
// line. Rows that can be read and cannot be true are left out, reported, and
// count against the treatment where they speak against it. What is left out is
// a gap, and gaps restart the clock.
package assess
