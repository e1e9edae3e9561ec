package daemon

import (
	"regexp"
	"strings"
)

// DefaultState is the state folder of a configuration that names none.
const DefaultState = "/var/lib/soakwarden"

var stateLine = regexp.MustCompile(`^\s*"?state"?\s*=\s*(?:"([^"\\]+)"|'([^']+)')\s*(?:#.*)?$`)

// StateFolder finds the state folder in the text of a configuration, however
// broken the rest of it is: the key state above the first table header.
func StateFolder(text []byte) string {
	for line := range strings.Lines(string(text)) {
		line = strings.TrimRight(strings.TrimPrefix(line, "\ufeff"), "\r\n")
		if strings.HasPrefix(strings.TrimSpace(line), "[") {
			break
		}
		if m := stateLine.FindStringSubmatch(line); m != nil {
			return m[1] + m[2]
		}
	}
	return DefaultState
}
