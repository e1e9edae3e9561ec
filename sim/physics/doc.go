// Package physics is each law of the thermal model once, with its source: water
// and its vapour, air, films, evaporation, holes in a lid, wood and other
// materials, and the one-term solutions of plain bodies.
//
// It holds no state and decides nothing. Temperatures are °C unless a name says
// kelvin; every other unit is SI and stands beside the function. Numbers are
// the same on every processor (see sim/num for how).
//
// Sources: IAPWS SR6-08 and IF97; ASHRAE Handbook, HVAC Applications; Smith,
// Löf and Jones 1998; Incropera and DeWitt, Fundamentals of Heat and Mass
// Transfer; Wood Handbook (FPL-GTR-190); EN 12524; Epstein 1988; BS 5925.
package physics
