package controller

import "periph.io/x/conn/v3/physic"

// Above is t raised by d.
func Above(t physic.Temperature, d Difference) physic.Temperature {
	return t + physic.Temperature(d)
}

// Below is t lowered by d.
func Below(t physic.Temperature, d Difference) physic.Temperature {
	return t - physic.Temperature(d)
}

// size is a difference without its sign.
func size(d Difference) Difference { return max(d, -d) }

// Between is how far t lies above from.
func Between(from, t physic.Temperature) Difference { return Difference(t - from) }
