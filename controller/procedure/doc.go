// Package procedure leads an animal from the first suspicion of mites to the
// all-clear: what comes next, how long it lasts, what stops it.
//
// A Case is one animal with its furnishings. It goes through the stages filling
// and warming, ready, drinking, soaking, attended, dry rest, rinse, back on
// paper, watch and cleared. The package decides which order of a keeper is in
// order, and for one that is not says what to do instead; it tells the caller
// what the station must be told. It never heats, never reads a clock, never
// gives medical advice and never a dose: whatever is asked about the animal's
// state is answered "veterinarian first".
//
// Time comes from outside as time that passed (Pass) and as outages of known or
// unknown length (Resume). An outage of unknown length pauses the case until a
// person says how long it was, or that nobody knows.
//
// Invariants: one animal a tub; no animal in water before the station is ready;
// plain water before every soak water; no unbroken time in water past
// Plan.LongestWet without being asked for; furnishings go back only treated,
// sealed and labelled, and only into an enclosure that was treated. The zero
// Case is no case and takes no order but Begin. Save gives canonical bytes:
// whatever Restore accepts is saved as the very same bytes.
//
// Sources: soak band, plain-water time and length of a soak are common
// practice, no published source. Onset of skin disease of a snake lying wet and
// soiled, 24 to 48 h: a veterinarian's account, newildlife.org 2014.
// Development lines: Tucci, Prado & Araújo 2008, Rev Bras Parasitol Vet 17(2).
// The snake mite's own cycle: Camin 1953 as summarised by Barker.
package procedure
