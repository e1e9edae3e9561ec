// Package configs carries the example configurations inside the program, so
// that the demonstration needs no file.
package configs

import _ "embed"

// Bench is the invented bench of the demonstration.
//
//go:embed bench.toml
var Bench []byte

// Tub is one tub with three probes.
//
//go:embed tub.toml
var Tub []byte
