package config

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// number splits a quantity into its number, in units of 10⁻⁹, and its unit.
// Working in integers keeps "85F" exact to the nanokelvin on every processor.
func number(s string) (nano int64, unit string, err error) {
	s = strings.TrimSpace(s)
	s = strings.Replace(s, "−", "-", 1) // a typographic minus sign
	sign := int64(1)
	switch {
	case strings.HasPrefix(s, "-"):
		sign, s = -1, s[1:]
	case strings.HasPrefix(s, "+"):
		s = s[1:]
	}
	end := 0
	for end < len(s) && (s[end] >= '0' && s[end] <= '9' || s[end] == '.') {
		end++
	}
	whole, part, _ := strings.Cut(s[:end], ".")
	if whole == "" && part == "" || strings.Contains(part, ".") {
		return 0, "", errors.New("does not begin with a number")
	}
	if end < len(s) && s[end] == ',' {
		return 0, "", errors.New("has a decimal comma, write a point")
	}
	if len(whole) > 9 || len(part) > 9 {
		return 0, "", errors.New("has more digits than can be kept")
	}
	digits, err := strconv.ParseInt("0"+whole+part+strings.Repeat("0", 9-len(part)), 10, 64)
	if err != nil {
		return 0, "", errors.New("is not a number")
	}
	unit = strings.TrimLeft(s[end:], " \u00a0\u2009\u202f")
	return sign * digits, unit, nil
}

// ParseTemperature reads a temperature with its unit: "85F", "29.4C", "85 °F".
// The error says what is wrong and what to write.
func ParseTemperature(s string) (physic.Temperature, error) {
	n, unit, err := number(s)
	if err != nil {
		return 0, fmt.Errorf("%q %w: write a temperature such as \"85F\" or \"29.4C\"", s, err)
	}
	var t int64
	switch strings.ToUpper(strings.TrimLeft(strings.TrimPrefix(unit, "°"), " ")) {
	case "C":
		t = n + int64(physic.ZeroCelsius)
	case "F":
		t = scale(n-32e9, 5, 9) + int64(physic.ZeroCelsius)
	case "":
		return 0, fmt.Errorf("%q has no unit: write %s", s, withUnit(float64(n)/1e9))
	default:
		return 0, fmt.Errorf("%q has the unit %q: write °C or °F, such as \"85F\" or \"29.4C\"", s, unit)
	}
	if t < 0 {
		return 0, fmt.Errorf("%q is below the absolute zero: write a temperature such as \"85F\" or \"29.4C\"", s)
	}
	return physic.Temperature(t), nil
}

// withUnit offers both ways in which a bare number of degrees may be meant.
func withUnit(v float64) string {
	if v >= 50 {
		return fmt.Sprintf("\"%sF\" or \"%sC\"", short(v), short((v-32)*5/9))
	}
	return fmt.Sprintf("\"%sC\" or \"%sF\"", short(v), short(v*9/5+32))
}

// short writes a number with at most one decimal.
func short(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// scale returns n·num/den rounded to the nearest, halves away from zero.
func scale(n, num, den int64) int64 {
	n *= num
	if n < 0 {
		return -((-n + den/2) / den)
	}
	return (n + den/2) / den
}

// ParseDifference reads a temperature difference: "0.5F" is 0.278 K and not
// −17.5 °C. "K" and "C" mean the same for a difference.
func ParseDifference(s string) (controller.Difference, error) {
	n, unit, err := number(s)
	if err != nil {
		return 0, fmt.Errorf("%q %w: write a difference such as \"0.5F\" or \"0.28K\"", s, err)
	}
	switch strings.ToUpper(strings.TrimLeft(strings.TrimPrefix(unit, "°"), " ")) {
	case "K", "C":
		return controller.Difference(n), nil
	case "F":
		return controller.Difference(scale(n, 5, 9)), nil
	case "":
		v := float64(n) / 1e9
		return 0, fmt.Errorf("%q has no unit: write \"%sF\" or \"%sK\"", s, strconv.FormatFloat(v, 'f', -1, 64), strconv.FormatFloat(v, 'f', -1, 64))
	}
	return 0, fmt.Errorf("%q has the unit %q: write a difference such as \"0.5F\" or \"0.28K\"", s, unit)
}

// units are the units of one kind of quantity with their size in the base unit.
type units struct {
	what, example string
	factor        map[string]float64
}

var (
	lengths = units{"a length", `"400mm"`, map[string]float64{"mm": 1e-3, "cm": 1e-2, "m": 1, "in": 0.0254, "ft": 0.3048}}
	areas   = units{"an area", `"6cm2"`, map[string]float64{"mm2": 1e-6, "mm²": 1e-6, "cm2": 1e-4, "cm²": 1e-4, "m2": 1, "m²": 1, "in2": 0.0254 * 0.0254}}
	powers  = units{"a power", `"20W"`, map[string]float64{"W": 1, "kW": 1000}}
	shares  = units{"a percentage", `"12%"`, map[string]float64{"%": 0.01}}
	flows   = units{"a flow", `"60L/h"`, map[string]float64{"L/h": 1e-3 / 3600, "L/min": 1e-3 / 60, "L/s": 1e-3, "m3/h": 1.0 / 3600, "m³/h": 1.0 / 3600}}
	masses  = units{"a mass", `"1.2kg"`, map[string]float64{"g": 1e-3, "kg": 1, "lb": 0.45359237, "oz": 0.028349523125}}
	sizes   = units{"a size", `"200MB"`, map[string]float64{"kB": 1e3, "MB": 1e6, "GB": 1e9}}
	changes = units{"air changes", `"0.5/h"`, map[string]float64{"/h": 1}}
)

func (u units) parse(s string) (float64, error) {
	n, unit, err := number(s)
	if err != nil {
		return 0, fmt.Errorf("%q %w: write %s such as %s", s, err, u.what, u.example)
	}
	f, ok := u.factor[unit]
	if !ok && unit == "" {
		return 0, fmt.Errorf("%q has no unit: write %s such as %s", s, u.what, u.example)
	}
	if !ok {
		return 0, fmt.Errorf("%q has the unit %q: write %s such as %s", s, unit, u.what, u.example)
	}
	return float64(n) / 1e9 * f, nil
}

// ParseLength reads a length ("400mm", "40cm", "0.4m", "16in", "1ft") in metres.
func ParseLength(s string) (float64, error) { return lengths.parse(s) }

// ParsePower reads a power ("20W", "1.2kW") in watts.
func ParsePower(s string) (float64, error) { return powers.parse(s) }

// ParsePercent reads a percentage ("12%") as a fraction.
func ParsePercent(s string) (float64, error) { return shares.parse(s) }

// ParseFlow reads a flow ("60L/h", "1L/min", "40m3/h") in m³/s.
func ParseFlow(s string) (float64, error) { return flows.parse(s) }

// ParseDuration reads a duration: "90s", "1h30m", "48h", and whole days "7d".
func ParseDuration(s string) (time.Duration, error) {
	t := strings.TrimSpace(s)
	if days, ok := strings.CutSuffix(t, "d"); ok {
		if n, err := strconv.ParseUint(days, 10, 16); err == nil {
			return time.Duration(n) * 24 * time.Hour, nil
		}
	}
	d, err := time.ParseDuration(t)
	if err == nil {
		return d, nil
	}
	if _, err := strconv.ParseFloat(t, 64); err == nil {
		return 0, fmt.Errorf("%q has no unit: write \"%ss\" for seconds, \"%sm\" for minutes or \"%sh\" for hours", s, t, t, t)
	}
	return 0, fmt.Errorf("%q is no duration: write one such as \"90s\", \"15m\", \"48h\" or \"7d\"", s)
}
