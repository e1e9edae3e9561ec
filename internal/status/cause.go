package status

import (
	"fmt"
	"strings"

	"soakwarden/controller"
)

// Causes lists every cause, in the order of the controller's table.
func Causes() []controller.Cause {
	all := make([]controller.Cause, 0, len(causeTable)-1)
	for c := 1; c < len(causeTable); c++ {
		all = append(all, controller.Cause(c))
	}
	return all
}

// CauseWord names a cause as the controller's table does.
func CauseWord(c controller.Cause) string {
	if int(c) >= len(causeTable) {
		return "unknown"
	}
	return causeTable[c]
}

// Advice is what to do about a cause; it begins with one verb.
func Advice(c controller.Cause) string { return "Look at the tub." }

// ResetSeen is what must be named as looked at to reset a cause.
func ResetSeen(c controller.Cause) controller.Seen { return 0 }

// BoardOnly says whether a cause is reset only at the board.
func BoardOnly(c controller.Cause) bool { return c <= controller.OverBand }

// ParseCause reads the name of a cause, with spaces or hyphens.
func ParseCause(s string) (controller.Cause, error) {
	for _, c := range Causes() {
		if plain(CauseWord(c)) == plain(s) {
			return c, nil
		}
	}
	names := make([]string, 0, len(causeTable))
	for _, c := range Causes() {
		names = append(names, strings.ReplaceAll(CauseWord(c), " ", "-"))
	}
	return controller.NoCause, fmt.Errorf("unknown cause %q: write one of %s", s, strings.Join(names, ", "))
}

var causeTable = [...]string{"none", "over the cutoff", "over the band", "floor too hot", "too cold", "probe silent", "probe implausible", "probe jumped", "probes differ", "probe frozen", "unasked rise", "no rise", "heat from outside", "no water", "water low", "wrong tub", "on too long", "relay disagrees", "relay cannot be written", "series relay welded", "both welded", "attended too long", "nobody present", "unproven", "restarts", "loop late", "clock stepped", "journal failing", "card nearly full", "supply voltage low", "calibration overdue", "proof overdue", "over the limit", "airflow lost", "over time", "out of the piece", "door opened"}
