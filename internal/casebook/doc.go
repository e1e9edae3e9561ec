// Package casebook keeps the running cases of a bench: between the people at
// page and socket, the stations of the loop, and the journal.
//
// Whether an order is in order is decided by controller/procedure; whether a
// station does what it is told is decided by the controller. The book hands the
// order on in this sequence: it is tried on a copy of the case; the station is
// told; the case takes it; the journal keeps it as a document of the topic
// "case", with the sentence that a report is made of. Nothing is said to be
// done before it is on disk.
//
// The state of every case is saved in the journal beside those of the stations,
// under "case " and its number, after every order and every ten minutes. Open
// restores it; how long the program was not running comes from the machine's
// own clock when it is the same boot, from the wall clock when both moments were
// trusted, and is unknown otherwise: then the case pauses and asks, until a
// person or a clock that was set meanwhile answers.
//
// It never heats, never waits while it holds what the tick reads, and never
// changes what a station protects.
package casebook
