// Package rehearsal runs a whole bench in virtual time: the settings of a
// configuration, the model and its simulated buses, relays, card and mains on
// one side, the very loop that drives hardware on the other.
//
// A Scenario is data: what is configured, what breaks, and what people do. A
// run is a pure function of scenario, seed and version. It opens nothing: the
// buses and paths that a configuration names are replaced by simulated ones.
// What happened is read off the model's truth by judges that never look at a
// probe, and told as an Outcome, as narration and as curves. A Campaign runs
// many scenarios that are drawn from the promised envelope.
//
// The rehearsal also plays the keeper: it fills the tub, stays until every
// relay is proven, puts the animal in when the station says ready, and looks in
// often on a station that may only heat attended.
package rehearsal
