package relay

import (
	"fmt"
	"strings"
)

// Spec says where a relay is and which level closes it.
type Spec struct {
	Name      string // in the configuration
	Pin       string // GPIO line: its kernel name ("GPIO5") or "gpiochip0:5"; empty for a file
	Path      string // file relay: the file that is written "1" and "0"
	ActiveLow bool   // the relay closes when the line is low (the file reads "0")
}

// Place names the physical line, the same for every name and polarity.
func (s Spec) Place() string {
	if s.Path != "" {
		return "file " + s.Path
	}
	return "pin " + s.Pin
}

// String names the relay for a person.
func (s Spec) String() string {
	if s.Name == "" {
		return s.Place()
	}
	return fmt.Sprintf("%s (%s)", s.Name, s.Place())
}

// Check says what is wrong with the place, or nil.
func (s Spec) Check() error {
	switch {
	case s.Pin == "" && s.Path == "":
		return fmt.Errorf("relay %q has neither a pin nor a path", s.Name)
	case s.Pin != "" && s.Path != "":
		return fmt.Errorf("relay %q has both the pin %s and the path %s: leave one out", s.Name, s.Pin, s.Path)
	case s.Path != "" && !strings.HasPrefix(s.Path, "/"):
		return fmt.Errorf("relay %q: path %q must begin with / so that off finds it from any folder", s.Name, s.Path)
	}
	return nil
}

// offLevel is the level, high or low, at which the relay is open.
func (s Spec) offLevel() string {
	if s.ActiveLow {
		return "high"
	}
	return "low"
}
