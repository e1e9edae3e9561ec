package config

import (
	"fmt"
	"strings"
)

// Unusable says whether one of the problems keeps a configuration from being used.
func Unusable(problems []Problem) bool {
	for _, p := range problems {
		if p.Severity == Error {
			return true
		}
	}
	return false
}

// Text writes problems for a person, one a line, and what they come to.
func Text(file string, problems []Problem) string {
	var b strings.Builder
	count := map[Severity]int{}
	for _, p := range problems {
		count[p.Severity]++
		fmt.Fprintf(&b, "%s:%d:%d: %s: %s\n", file, p.Line, p.Column, p.Severity, p.Message)
	}
	switch {
	case count[Error] == 1:
		fmt.Fprintf(&b, "%s: 1 mistake. It will not be used.\n", file)
	case count[Error] > 1:
		fmt.Fprintf(&b, "%s: %d mistakes. It will not be used.\n", file, count[Error])
	case count[Warning] > 0:
		fmt.Fprintf(&b, "%s: no mistakes, %d to look at. It may be used.\n", file, count[Warning])
	default:
		fmt.Fprintf(&b, "%s: no mistakes.\n", file)
	}
	return b.String()
}
