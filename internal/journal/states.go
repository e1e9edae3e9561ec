package journal

import (
	"fmt"

	"soakwarden/internal/journal/entry"
)

// statesOf reads the saved states that an index points at.
func statesOf(index map[string]uint64, body func(seq uint64) ([]byte, error)) (map[string][]byte, error) {
	out := make(map[string][]byte, len(index))
	for station, seq := range index {
		b, err := body(seq)
		if err != nil {
			return nil, fmt.Errorf("reading the saved state of %s: %w", station, err)
		}
		e, err := entry.Decode(b)
		if err != nil {
			return nil, fmt.Errorf("reading the saved state of %s, entry %d: %w: %w", station, seq, ErrDamaged, err)
		}
		state, ok := e.Body.(*entry.State)
		if !ok || e.Seq != seq || e.Station != station {
			return nil, fmt.Errorf("reading the saved state of %s: %w: entry %d is something else", station, ErrDamaged, seq)
		}
		out[station] = state.State
	}
	return out, nil
}
