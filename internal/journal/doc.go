// Package journal is the durable record of everything that a bench did: what
// every probe said, what the controller decided, who did what and why.
//
// It decides in which order things are written, what is synced before it is
// acknowledged, and what is given up when there is no room. It never delays
// the control: Tick and every other recording method only leave a message in a
// bounded queue. It never changes what was written, except that the detail of
// old blocks of readings may be thinned by the rule below, in the open.
//
// What is kept: each tick of each station with its whole input (readings with
// time, raw code, quality and flaw, contacts, health, acts) and the command
// and reason that came out, in blocks of at most five minutes; events, acts,
// relay changes, clock jumps, saved states, settings, configurations, notes
// and documents as entries of their own. Times are exact to the resolution
// that they were given in: millisecond times make small blocks, nanosecond
// times make large ones.
//
// Order and sync: one writer, two queues, the urgent one first. A batch is one
// transaction and the chain head is stored with it. Everything but readings and
// the ordinary switchings of the control is urgent: it is written at once, with
// the readings that led to it, and synced before its Receipt is done. Readings
// and ordinary switchings are written and synced together when a block closes;
// only where blocks are shorter than Options.Head does a sync wait that long. So
// a power cut loses nothing whose Receipt was done, and of readings and ordinary
// switchings at most the last Options.Block or, where that is more, Options.Head
// before the cut: five minutes. What is lost is always the end. While the card
// does not answer, everything waits in the queues, and Health says so.
//
// Trouble: a write that fails, that takes longer than Options.Deadline or in
// which the library panics ends the session. The file is opened again, checked
// against what had been written, and an entry tells why. A file that is damaged
// is refused by Open; SetAside moves it out of the way and keeps it.
//
// Overflow and a full card: when more than Options.QueueBlocks blocks wait, the
// older half of them is replaced by summaries (extremes and counts), never one
// that was recorded under a gap rule, never an event. When the card is full,
// the oldest blocks on it are thinned in the same way: their row keeps the
// leaf hash, so the chain still verifies, and an entry lists what was thinned.
// Past Options.QueueEntries waiting entries a new one is refused; the number
// refused is recorded when writing is possible again.
//
// Time: entries carry the run (start of the program) and the monotonic time in
// it, which order them, and the wall clock as it stood with a trusted flag. A
// board without a clock of its own is normal; Timeline gives the wall time of
// such a run once its clock was set.
//
// Sources: RFC 6962 section 2.1 (tree hash), the SQLite file format and its
// documentation of write-ahead logging.
package journal
