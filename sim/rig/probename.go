package rig

import (
	"fmt"
	"strings"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// Named is what a fault's target may call a probe by.
type Named struct {
	Role    controller.Role
	Address onewire.Address
}

// rom is the ROM code as a configuration writes it.
func (n Named) rom() string {
	return fmt.Sprintf("%02x-%012x", byte(n.Address), uint64(n.Address)>>8&0xFFFF_FFFF_FFFF)
}

// ProbeNames are the names of a station's probes, in their order: the role, and
// where several have the same one its number, counted from 1.
func ProbeNames(probes []Named) []string {
	count, many := [len(roleNames)]int{}, [len(roleNames)]int{}
	for _, p := range probes {
		if int(p.Role) < len(many) {
			many[p.Role]++
		}
	}
	names := make([]string, len(probes))
	for i, p := range probes {
		names[i] = RoleName(p.Role)
		if int(p.Role) < len(many) && many[p.Role] > 1 {
			count[p.Role]++
			names[i] = fmt.Sprintf("%s-%d", names[i], count[p.Role])
		}
	}
	return names
}

// FindProbe is the index of the probe that a target calls word: its name, its
// ROM code, or a role alone for the first that has it. The error lists what
// there is.
func FindProbe(probes []Named, word string) (int, error) {
	names := ProbeNames(probes)
	for i := range probes {
		if word != "" && (word == names[i] || strings.EqualFold(word, probes[i].rom())) {
			return i, nil
		}
	}
	var all []string
	for i := range probes {
		if word != "" && word == RoleName(probes[i].Role) {
			return i, nil
		}
		all = append(all, fmt.Sprintf("%s (or %s)", names[i], probes[i].rom()))
	}
	if len(all) == 0 {
		return -1, fmt.Errorf("no probe %q: there is none", word)
	}
	return -1, fmt.Errorf("no probe %q: write one of %s", word, strings.Join(all, ", "))
}
