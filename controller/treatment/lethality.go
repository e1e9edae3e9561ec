package treatment

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Constants are what a lethality is worked out with: a minute at Reference
// counts one minute, and a difference of z changes that tenfold. Below and
// Above are the z on the two sides of the reference.
type Constants struct {
	Reference physic.Temperature
	Below     controller.Difference
	Above     controller.Difference
	Species   string // of whose death the constants speak
	Source    string
}

// NoCurve is the sentence that stands in every record with a lethality.
const NoCurve = "No published time–temperature curve exists for the snake mite (Ophionyssus natricis); the lethality is worked out with the constants of other species and decides nothing."

// Usual are the constants that err on the safe side: below the reference the
// small z, which credits little, above it the large one, which credits little
// there.
func Usual() Constants {
	return Constants{
		Reference: physic.ZeroCelsius + 56*physic.Kelvin,
		Below:     4 * controller.Kelvin,
		Above:     10 * controller.Kelvin,
		Species:   "below the reference: bed bug, Cimex lectularius (z 4 K); above it: egg of the house dust mite, Dermatophagoides pteronyssinus (z 10 K)",
		Source:    "Pereira et al. 2009, J Econ Entomol 102(3):1182–1188 (z 4 K, 41 to 49 °C); z 10 K worked out from Mahakittikun et al. 2011, Exp Appl Acarol 55(4):339–347 (5 h at 50 °C, 30 min at 60 °C)",
	}
}

// Rate is how many minutes at the reference one minute at t is worth. Without a
// z on that side it is zero: what is not known is not credited.
func (c Constants) Rate(t physic.Temperature) float64 {
	z := c.Below
	if t > c.Reference {
		z = c.Above
	}
	if z <= 0 {
		return 0
	}
	return powerOfTen(float64(t-c.Reference) / float64(z))
}

// Add is the lethality in minutes of the time between two readings, by the
// trapezoid rule.
func (c Constants) Add(from, to physic.Temperature, span time.Duration) float64 {
	return Trapezoid(c.Rate(from), c.Rate(to), span)
}

// Trapezoid is the mean of two rates over a span, in minutes.
func Trapezoid(from, to float64, span time.Duration) float64 {
	return float64((from + to) / 2 * span.Minutes())
}
