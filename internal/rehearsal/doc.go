// Package rehearsal runs a whole bench in virtual time: the settings of a
// configuration, the model and its simulated buses, relays, card and mains on
// one side, the very loop that drives hardware on the other.
//
// A Scenario is data: what is configured, what breaks, and what people do. A
// run is a pure function of scenario, seed and version. It opens nothing: the
// buses and paths that a configuration names are replaced by simulated ones.
// What happened is read off the model's truth by judges that never look at a
// probe, and told as an Outcome, as narration and as curves. A Campaign runs
// many scenarios that are drawn from the promised envelope: one fault each,
// every pair of faults, swarms of them, or none.
//
// Its judges blame our heat only: what sun, room or a warm pour lent is taken
// off. They hold water while there are 5 mm of it, and below that the floor of
// the empty tub. A lone probe that lies, and pairs of faults that leave nothing
// to cut the heat with, are listed by name.
//
// A plain limit (one probe, a differential, a cutoff) can control the same tubs
// for comparison. It lives here, controls nothing else, and shares no code with
// the controller.
//
// The rehearsal also plays the keeper: it fills the tub, stays until every
// relay is proven, puts the animal in when the station says ready, and looks in
// often on a station that may only heat attended.
package rehearsal
