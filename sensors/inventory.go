package sensors

import (
	"slices"
	"time"

	"periph.io/x/conn/v3/onewire"
)

// Inventory is who answered the last search of a bus, set against the probes
// that it is asked to read. A new device is listed and never adopted: which
// probe hangs where is proven, not guessed.
type Inventory struct {
	At      time.Duration
	Found   []onewire.Address // every device, ascending
	Unknown []onewire.Address // found, but not among the probes
	Missing []onewire.Address // among the probes, but not found
	Err     error             // the search ended early; the lists hold what came before
}

// Inventory is the result of the last search, empty before the first.
func (b *Bus) Inventory() *Inventory { return b.inventory.Load() }

// Search looks for every device of the bus now, in the caller's goroutine and
// without a deadline: the one that calls RunCycle. Run searches by itself.
func (b *Bus) Search(now time.Duration) *Inventory {
	found, err := b.options.Source.Search()
	return b.list(now, found, err)
}

func (b *Bus) list(now time.Duration, found []onewire.Address, err error) *Inventory {
	inv := &Inventory{At: now, Found: slices.Clone(found), Err: err}
	// A shorted line answers every bit of a search with zero, and eight zero
	// bytes have a valid CRC.
	inv.Found = slices.DeleteFunc(inv.Found, func(a onewire.Address) bool { return a == 0 })
	slices.Sort(inv.Found)
	inv.Found = slices.Compact(inv.Found)
	for _, a := range inv.Found {
		if !slices.ContainsFunc(b.options.Probes, func(p Probe) bool { return p.Address == a }) {
			inv.Unknown = append(inv.Unknown, a)
		}
	}
	for _, p := range b.options.Probes {
		if _, ok := slices.BinarySearch(inv.Found, p.Address); !ok {
			inv.Missing = append(inv.Missing, p.Address)
		}
	}
	b.inventory.Store(inv)
	return inv
}
