// Package sizing says beforehand what a configured bench will do: whether a
// pad suits its tub, how long warming up takes, what a relay that sticks on
// would do, how long the water stays warm in a power cut, and how long a piece
// takes until its core is hot. It turns a configuration into the plain numbers
// that the controller is given.
//
// It decides nothing while a bench runs, and its numbers are nominal: the
// controller must be safe when the real tub is off by a lot.
package sizing
