// Package controller is the decision core: what a station does with its heat.
//
// It decides, once a tick and for one station at a time, whether the pad relay
// and the series relay may be closed, and says why. Step is a pure function of
// the station's state and its Input: it reads no clock, file or socket, starts
// no goroutine, allocates nothing, and the same inputs always give the same
// commands on every processor.
//
// The caller must:
//
//  1. give Input.Now from a clock that never runs backward;
//  2. hand over every reading with the moment at which it was measured, and
//     never one of an earlier cycle as if it were of this one;
//  3. write the returned Command to the relays before anything else, and say
//     so in the next Input when one could not be written;
//  4. keep what Save returns where a power cut cannot lose it, and give it to
//     Restore before the first Step; without it the station starts latched;
//  5. on any panic open every relay first.
//
// A station is built of three parts that run in this order: the observer says
// what the water is doing, the protective control says what may not be heated,
// and the operating control says what it would like. The protective control
// can only take heat away.
package controller
