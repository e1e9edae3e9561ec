package treatment

import (
	"fmt"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Words writes a temperature to a tenth of a degree, in both units.
func Words(t physic.Temperature) string {
	milli := int64(t-physic.ZeroCelsius) / int64(physic.MilliKelvin)
	return fmt.Sprintf("%s °C (%s °F)", tenths(milli), tenths((milli*9+160_000)/5))
}

// tenths writes thousandths to a tenth, halves away from zero.
func tenths(milli int64) string {
	sign := ""
	if milli < 0 {
		sign, milli = "−", -milli
	}
	n := (milli + 50) / 100
	if n == 0 {
		sign = ""
	}
	return fmt.Sprintf("%s%d.%d", sign, n/10, n%10)
}

func kelvin(d controller.Difference) string {
	if d > 0 && d < 50*controller.MilliKelvin {
		return "less than 0.1 K" // "0.0 K was missing" reads like a mistake
	}
	return tenths(int64(d/controller.MilliKelvin)) + " K"
}
