// Package observer finds the faults of one heated tub that no single reading
// shows: heat that nobody asked for, heat that was asked for and does not
// come, a probe that left the water, a probe that stands still.
//
// It knows the physics of a tub (gain, drift, coast) and learns the numbers of
// the one it watches. It decides nothing about relays. Its answer to a Step is
// one word of a small enumeration, a few findings about probes, and an Advice
// that can withhold heat or shape the heat that was permitted anyway; it has no
// way to ask for heat. What acts on the words is the caller's.
//
// What the caller must do:
//
//  1. Call Step about once a second with the readings of the last cycle and
//     the relay commands that were in force since the Step before.
//  2. Mark a reading Believed only while it is good and its probe counts as in
//     the water; take a probe that Findings call the jumped or frozen one out.
//  3. Follow Advice below every other rule: heat is never switched on because
//     of it.
//  4. Hand over the bytes of Save to Restore after a restart. Evidence,
//     learned numbers and a running test survive; what depends on how long the
//     gap was does not.
//  5. After a person's reset call Acquit, or the old evidence accuses again.
//
// Invariants: Step allocates nothing, reads no clock, and the same inputs give
// the same bits on every processor. Bad evidence is never good evidence: a
// demand for heat, a gap, a lid or a missing probe suspends a test and does
// not acquit. Learning is frozen while anything is suspected.
//
// What a lid does to the water looks like a dead pad, what the sun does like a
// welded relay, and both are larger than the fault. Four things tell them
// apart, in the order of their speed: the floor over the pad, which neither
// touches; the layers, which a lid makes steeper and a dead pad flatter; a
// switch through which the water went straight; and the answer to a test.
//
// Where this goes beyond the parts that the sources describe, and why:
//
//   - Both stories of a test may use one bend, at a price in nats (compare): a
//     lid at the moment of a switch imitates an answer in one case of four.
//   - The size of a transient is estimated beside its evidence (size): what a lid
//     takes is mostly more than the pad gives.
//   - The pad's layering of the water is learned (pair), so that two probes see
//     heat that their mean does not show yet.
//   - Evidence that the filter has swallowed begins anew (spent), and the floor's
//     answer is learned through unbroken heat: in a tub whose pad never rests a
//     fault of the fourth hour was found when the water was too cold.
//   - The floor accuses after one coast (lacking), before it proves anything: the
//     short pulses after a water change are enough. Of 196 dead pads with a floor
//     probe 99 in 100 were found within 27 min instead of 119, half of them
//     within 4 instead of 5.
//   - A code that stands still is held against the heat that must have moved it
//     (alone), so that the only probe in the water is tested too.
//   - A reading that falls faster than water can is told from a cold pour (fall).
//
// Sources: the filter is Kalman's (1960); the matched signature of a jump after
// a Kalman filter is Willsky and Jones (1976), "A generalized likelihood ratio
// approach to the detection and estimation of jumps in linear systems"; the
// cumulative sum is Page (1954), its thresholds Siegmund (1985), "Sequential
// Analysis". Gains that are frozen without forgetting their uncertainty are
// Schmidt's consider states (1966). Margins of the floor envelope follow from
// film coefficients; they are derived beside the constants.
package observer
