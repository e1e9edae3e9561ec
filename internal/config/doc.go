// Package config turns a configuration file into checked settings.
//
// It decides whether a file says something that a bench may be run with, and
// answers with every mistake at once, each with its line, its column in
// characters, and what to write instead. A Config that Parse returns is whole:
// references resolved, units converted, defaults filled in, and none of the
// bounds passed that can be judged without a thermal model. Those that need
// one (is the pad harmless when it sticks on?) are in package sizing.
//
// It never touches hardware, never opens a file other than the one it is
// given, and never guesses a unit: a temperature without one is a mistake,
// because 85 may be a warm bath in °F or a boiling one in °C.
//
// Invariants: what parses without an error parses again to the same settings;
// no input makes it panic; RelaysOnly finds the relays of a file whose other
// parts are broken.
//
// Sources: TOML 1.0 (through the decoder in use). The upper bounds of the
// species groups are the clinical preferred zones of WikiVet, "Preferred
// optimum temperature zone". The bounds of set point, cutoff, depth and pad
// are this project's own and are listed in SAFETY.md.
package config
