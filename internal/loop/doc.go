// Package loop is one tick of the whole bench: sample, decide, act.
//
// It is the only place where commands reach relays. It starts no goroutine,
// opens no file, waits for nothing and never sleeps: the caller gives the time
// and calls Tick once a second, on hardware, in the demo and in virtual time.
// Recording and telling are the caller's, from the Result that Tick returns.
package loop
