package status

import (
	"fmt"
	"strings"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// Units says in which unit temperatures are shown. The zero value shows both.
type Units string

// The units.
const (
	Both       Units = ""
	Celsius    Units = "C"
	Fahrenheit Units = "F"
)

// ParseUnits reads "C", "F" or "both".
func ParseUnits(s string) (Units, error) {
	switch strings.ToLower(s) {
	case "c":
		return Celsius, nil
	case "f":
		return Fahrenheit, nil
	case "both":
		return Both, nil
	}
	return Both, fmt.Errorf("unknown units %q: write C, F or both", s)
}

// DegreesC is a temperature in °C.
func DegreesC(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Celsius)
}

// DegreesF is a temperature in °F.
func DegreesF(t physic.Temperature) float64 { return DegreesC(t)*1.8 + 32 }

// Temperature writes a temperature with one decimal and its unit, "29.4 °C",
// "85.0 °F" or both.
func (u Units) Temperature(t physic.Temperature) string {
	c, f := oneDecimal(DegreesC(t))+" °C", oneDecimal(DegreesF(t))+" °F"
	switch u {
	case Celsius:
		return c
	case Fahrenheit:
		return f
	}
	return c + " / " + f
}

// Difference writes a temperature difference, "0.28 K", "0.5 °F" or "0.28 K
// (0.5 °F)". Use it only where the sentence says that it is a difference.
func (u Units) Difference(d controller.Difference) string {
	k := float64(d) / float64(controller.Kelvin)
	c, f := fmt.Sprintf("%.2f K", k), oneDecimal(k*1.8)+" °F"
	if k >= 1 || k <= -1 {
		c = oneDecimal(k) + " K"
	}
	switch u {
	case Celsius:
		return c
	case Fahrenheit:
		return f
	}
	return c + " (" + f + ")"
}

// oneDecimal rounds to tenths and never writes "-0.0".
func oneDecimal(x float64) string {
	s := fmt.Sprintf("%.1f", x)
	if s == "-0.0" {
		return "0.0"
	}
	return s
}
