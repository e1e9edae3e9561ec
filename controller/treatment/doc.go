// Package treatment judges the heating or freezing of empty furnishings: one
// judge for the running program, for the logs of other instruments and for the
// record.
//
// A schedule is a temperature that every required probe holds, all together and
// without a break, for a time. The judge is strict in both directions: heating
// counts the coldest reading minus its uncertainty, freezing the warmest plus
// it; equality counts. Its clock restarts when one probe falls out, when there
// are no data for longer than the rule allows, and after an interruption whose
// length nobody knows. Lethality is worked out beside it and never changes a
// verdict.
//
// The package decides nothing about relays and never heats. It reads no clock
// and no file: times are spans on the clock of the caller, who feeds it reading
// by reading. It holds no state but the Judge's, which State gives out and
// Resume takes back.
//
// Sources: ISPM 15 and ISPM 42 (FAO/IPPC) for the form of a schedule, coldest
// spot and record; the schedules name theirs. Lethality: the trapezoid rule on
// lethal rates 10^((T−Tr)/z), as in the FAO's example of thermal processing of
// canned fish.
package treatment
