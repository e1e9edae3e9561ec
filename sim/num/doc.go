// Package num is exp, log, cube root and noise that give the same bits on every
// processor.
//
// The standard library's versions do not: some have assembly, some are fused
// on processors that can multiply and add in one step. These use only additions,
// multiplications rounded on their own, divisions and exact scaling, so that a
// simulated run is the same on a board and on a desk.
//
// Invariants: relative error within 4.5e-16 over the whole range for Exp, Log
// and Cbrt; the noise is PCG (O'Neill 2014) from math/rand/v2, whose Uint64
// is the same everywhere.
package num
