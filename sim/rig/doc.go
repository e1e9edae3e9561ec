// Package rig is the world around the program, for tests, rehearsals and the
// demonstration: 1-Wire buses with thermometers, relays, room, mains, board and
// card, built around the tubs and chambers of package sim.
//
// It decides nothing about heat. It answers what each probe would say and what
// current really flows when relays are as the program left them, and it lets
// faults happen: each fault is data with a kind, a target, an amount and times.
// Buses and pins are periph's interfaces, so the program cannot tell a bench
// from hardware.
//
// Invariants: a bench is a pure function of its wiring and of what is done to
// it; the same seed gives the same bytes on every processor; nothing sleeps,
// and a bus that hangs says so at once; a fault counts as effective only from
// the first second in which it makes a difference.
package rig
