package relay

import (
	"errors"
	"fmt"
)

// Outcome is what became of one line in AllOff.
type Outcome struct {
	Spec       Spec
	Remembered bool // from the list of lines ever driven
	Configured bool // from the configuration
	Err        error
}

// Union joins remembered and configured lines, the remembered first: where two
// names turn out to be one line, the configuration has the last word on its
// polarity, because a person wrote it last.
func Union(remembered, configured []Spec) []Outcome {
	var all, last []Outcome
	at := map[string]int{}
	for _, spec := range configured {
		if _, twice := at[spec.Place()]; !twice {
			at[spec.Place()] = len(last)
			last = append(last, Outcome{Spec: spec, Configured: true})
		}
	}
	for _, spec := range remembered {
		if i, both := at[spec.Place()]; both {
			last[i].Remembered = true
			continue
		}
		all = append(all, Outcome{Spec: spec, Remembered: true})
	}
	return append(all, last...)
}

// AllOff drives every remembered and configured line off and gives the lines
// back. It tries each line whatever the others do: one that hangs is left behind
// after 2 s. memory may be nil.
func (s System) AllOff(memory *Memory, configured []Spec) []Outcome {
	var lines []remembered
	var known []Spec
	if memory != nil {
		lines, known = memory.entries(), memory.Lines()
	}
	all := Union(known, configured)
	for i, err := range Each(len(all), func(i int) error { return s.off(all[i], lines) }) {
		if errors.Is(err, ErrNoAnswer) {
			err = fmt.Errorf("relay %s: %w", all[i].Spec, err)
		}
		all[i].Err = err
	}
	return all
}

func (s System) off(o Outcome, lines []remembered) error {
	var r *Relay
	var err error
	if o.Configured {
		r, err = s.Open(o.Spec)
	}
	for _, l := range lines {
		if r != nil || !o.Remembered || l.spec().Place() != o.Spec.Place() {
			continue
		}
		// The chip may have a new number, or the line lost its name.
		l.Off = o.Spec.offLevel()
		r, err = s.openRemembered(l)
	}
	if err != nil {
		return err
	}
	return r.Close()
}
