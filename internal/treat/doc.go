// Package treat runs the treatments of chambers: it stands between the loop,
// which heats, the judge, who counts, and the people who start, stop and
// release.
//
// A treatment is announced with its plan, the names of the animals that live in
// the chamber and where each is now; it starts when a person has typed, anew for
// each treatment, that nothing alive is inside; then a buzzer sounds for ten
// minutes before anything heats. It ends with the schedule held, with a person's
// stop or over time, and the chamber opens when a named person has released it
// at a safe temperature. Every step goes into the journal.
//
// The package never switches a relay and never weakens the protective control:
// it says what the air should have and the station decides. It makes no PASS:
// the judge does, and only the judge, and whatever is not known counts against.
package treat
