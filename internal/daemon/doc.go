// Package daemon is the running program: it owns every goroutine, the order of
// starting and stopping, and the watchdogs.
//
// It decides when a tick is due and in which order parts come up and go down;
// it never decides about heat. Once a second one goroutine runs one tick of
// package loop; nothing else touches a relay while it runs.
//
// Order of starting: lock the state folder; every remembered line off; read the
// configuration; open its lines, off; open the journal, read and prove the
// latch store; buses; the tick; page and socket; notifications. Stopping is the
// reverse, and relays go off first of all.
//
// Invariants:
//   - nothing is read, opened or listened to before the remembered lines are
//     off, except the lock that keeps a second daemon away from them;
//   - watchdogs and heartbeats are fed only at the end of a good tick, and a
//     relay that could not be written makes a tick not good;
//   - a panic anywhere drops the relays before anything else happens;
//   - journal, page, notifications and network never delay a tick.
package daemon
