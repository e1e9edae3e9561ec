// Package sim is the thermal model: a tub with an animal in shallow water, and
// a chamber with furnishings that are heated or frozen.
//
// It decides nothing. It answers what the water, the floor and the core of a
// branch really do when heat, room, lid and water are as the caller says, and
// its judges read that truth and never a probe. It knows nothing of any
// controller's rules, so that a rule can be found wrong.
//
// # What the caller does
//
//  1. NewTub (or NewChamber) from a spec. Zero fields take the defaults that
//     WithDefaults documents; Check says what is wrong and what to write.
//  2. Once a simulated second: Step with a Drive. The zero Drive is a tub
//     with the pad off, the lid as the spec has it, in a room at 0 °C.
//  3. Between steps: ChangeWater, Drain, PutAnimal, TakeAnimal.
//  4. Truth for everything at once, At for the temperature at a probe's place.
//
// Steady, Size and Heatup answer planning questions with the same laws.
//
// # Invariants
//
//   - A run is a pure function of spec and drives: the same bytes on amd64 with
//     and without fused multiply-add, arm64 and armv6. No clock, goroutine,
//     map iteration or global state; products that meet a sum are rounded
//     first; exp, log and noise come from sim/num.
//   - Balance of energy and water closes to 1e-9 of what went through, and is
//     summed at the boundaries, beside the step and not from it.
//   - Step does not allocate and does not fail: a tub without water is a tub
//     without water.
//
// Temperatures are °C in float64, lengths metres, powers watts, masses
// kilograms, volumes litres where a name says so. Each law stands once, with
// its source, in sim/physics.
package sim
