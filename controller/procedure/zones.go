package procedure

import "periph.io/x/conn/v3/physic"

// lowerEnds are the lower ends of the clinical preferred zones of the groups
// that a configuration names, in °C. Source: WikiVet, "Preferred optimum
// temperature zone"; for other snakes the lower end of the quartile means over
// many species, 26.8 °C rounded down (Halliday and Blouin-Demers, appendix 1).
var lowerEnds = [...]struct {
	group   string
	celsius int64
}{
	{"python", 25}, {"boa", 28}, {"corn snake", 25}, {"rat snake", 25}, {"kingsnake", 25}, {"garter snake", 21}, {"other", 26},
}

// LowerOf is the lower end of a group's zone; a dry box may not be cooler.
func LowerOf(group string) (physic.Temperature, bool) {
	for _, z := range lowerEnds {
		if z.group == group {
			return degreesC(z.celsius), true
		}
	}
	return 0, false
}
