package status

import (
	"fmt"
	"strings"

	"soakwarden/controller"
)

// Causes lists every cause, in the order of the controller's table.
func Causes() []controller.Cause {
	all := make([]controller.Cause, 0, controller.CauseCount-1)
	for c := 1; c < controller.CauseCount; c++ {
		all = append(all, controller.Cause(c))
	}
	return all
}

// CauseArgument is the name of a cause as one word of a command line.
func CauseArgument(c controller.Cause) string {
	return strings.ReplaceAll(c.Rule().Name, " ", "-")
}

// ParseCause reads the name of a cause, with spaces or hyphens.
func ParseCause(s string) (controller.Cause, error) {
	names := make([]string, 0, controller.CauseCount)
	for _, c := range Causes() {
		if plain(c.Rule().Name) == plain(s) {
			return c, nil
		}
		names = append(names, CauseArgument(c))
	}
	return controller.NoCause, fmt.Errorf("unknown cause %q: write one of %s", s, strings.Join(names, ", "))
}
