package sizing

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"soakwarden/internal/config"
	"soakwarden/sim"
)

// HeatupQuestion asks how long a piece takes until its core has a temperature.
// Everything is text as a person writes it, with units; what is empty is not
// given.
type HeatupQuestion struct {
	Shape                               string // slab, cylinder, bar
	Thickness, Width, Height, Diameter  string
	Material, Moisture                  string
	Density, Conductivity, HeatCapacity string // kg/m³, W/mK, J/kgK; override the material's
	Start, Medium, Target               string
	Film                                string // W/m²K
	After                               string // asks for the temperatures at this moment too
}

// Heatup is the answer.
type Heatup struct {
	Seconds *float64      `json:"seconds_to_target"` // nil when the core never gets there
	Core    float64       `json:"core_c"`            // at the moment asked for, else when the core is there, else in the end
	Surface float64       `json:"surface_c"`
	Curve   []HeatupPoint `json:"curve"`
	At      float64       `json:"at_s"` // the moment that core_c and surface_c belong to
	Asked   bool          `json:"-"`    // a target was given
	Target  float64       `json:"-"`
	Limit   string        `json:"-"` // what the material stands, when the medium is over it
}

// HeatupPoint is one point of the curve.
type HeatupPoint struct {
	Seconds float64 `json:"s"`
	Core    float64 `json:"core_c"`
	Surface float64 `json:"surface_c"`
}

// stillMoving is the film of air that a fan moves over a piece, radiation
// included (Incropera and DeWitt, Table 1.1: forced convection of gases 25 to
// 250 W/m²K, free 2 to 25): the lower end, because a slow answer is the safe one.
const stillMoving = "20"

// AskHeatup answers a question. The error says what is wrong with it and what
// to write.
func AskHeatup(q HeatupQuestion) (Heatup, error) {
	spec, err := q.spec()
	if err != nil {
		return Heatup{}, err
	}
	r, err := sim.Heatup(spec)
	if err != nil {
		return Heatup{}, err
	}
	h := Heatup{Core: round(r.Core), Surface: round(r.Surface), At: round(r.At), Asked: q.Target != "", Target: spec.Target, Curve: []HeatupPoint{}}
	if r.Reached && h.Asked {
		h.Seconds = given(r.Seconds)
	}
	for _, p := range r.Curve {
		h.Curve = append(h.Curve, HeatupPoint{round(p.Seconds), round(p.Core), round(p.Surface)})
	}
	if limit, source, ok := spec.Piece.Limit(); ok && spec.Medium > limit {
		h.Limit = fmt.Sprintf("%s stands %s (%s), and the medium is at %s", spec.Piece.Material, both(limit), source, both(spec.Medium))
	}
	return h, nil
}

func round(v float64) float64 { return math.Round(v*1000) / 1000 }

// spec reads the question.
func (q HeatupQuestion) spec() (sim.HeatupSpec, error) {
	var h sim.HeatupSpec
	var err error
	if h.Piece, err = q.piece(); err != nil {
		return h, err
	}
	if q.Target == "" && q.After == "" {
		return h, fmt.Errorf("--target is missing: write the temperature that the core must reach, such as --target 56C, or --after 2h for the temperatures then")
	}
	for _, f := range []struct {
		flag, text, example string
		to                  *float64
	}{{"--start", q.Start, "18C", &h.Start}, {"--medium", q.Medium, "60C", &h.Medium}, {"--target", q.Target, "56C", &h.Target}} {
		if f.text == "" && f.flag != "--target" {
			return h, fmt.Errorf("%s is missing: write a temperature such as %s %s", f.flag, f.flag, f.example)
		}
		if f.text == "" {
			continue
		}
		t, err := config.ParseTemperature(f.text)
		if err != nil {
			return h, fmt.Errorf("%s: %w", f.flag, err)
		}
		*f.to = t.Celsius()
	}
	if q.Target == "" {
		h.Target = h.Medium
	}
	film := q.Film
	if film == "" {
		film = stillMoving
	}
	if h.Film, err = plain("--film", film, "20", "W/m²K", "W/m2K", "W/(m²K)"); err != nil {
		return h, err
	}
	if q.After != "" {
		d, err := config.ParseDuration(q.After)
		if err != nil {
			return h, fmt.Errorf("--after: %w", err)
		}
		if d <= 0 {
			return h, fmt.Errorf("--after: %q is not after the start: write one such as 2h", q.After)
		}
		h.After = d.Seconds()
	}
	if err := h.Check(); err != nil {
		return h, err
	}
	return h, nil
}

// piece reads the shape, its sizes and what it is made of.
func (q HeatupQuestion) piece() (sim.PieceSpec, error) {
	p := sim.PieceSpec{Material: q.Material}
	size := func(flag, text string, to *float64) error {
		if text == "" {
			return fmt.Errorf("%s is missing, which a %s needs: write it such as %s 50mm", flag, q.Shape, flag)
		}
		v, err := config.ParseLength(text)
		if err != nil {
			return fmt.Errorf("%s: %w", flag, err)
		}
		if v <= 0 {
			return fmt.Errorf("%s: %q is no size: write it such as %s 50mm", flag, text, flag)
		}
		*to = v
		return nil
	}
	var err error
	switch q.Shape {
	case "slab":
		p.Shape = sim.Slab
		err = size("--thickness", q.Thickness, &p.Thickness)
	case "cylinder":
		p.Shape = sim.Cylinder
		err = size("--diameter", q.Diameter, &p.Diameter)
	case "bar":
		// A bar's section may be given as thickness and width too.
		p.Shape = sim.Bar
		height, flag := q.Height, "--height"
		if height == "" && q.Thickness != "" {
			height, flag = q.Thickness, "--thickness"
		}
		if err = size("--width", q.Width, &p.Width); err == nil {
			err = size(flag, height, &p.Height)
		}
	case "":
		err = fmt.Errorf("--shape is missing: write --shape slab, cylinder or bar")
	default:
		err = fmt.Errorf("--shape: %q is not known: write slab, cylinder or bar", q.Shape)
	}
	if err != nil {
		return p, err
	}
	if q.Diameter != "" && q.Shape != "cylinder" {
		return p, fmt.Errorf("--diameter belongs to a cylinder: take it out, or write --shape cylinder")
	}
	if q.Thickness != "" && q.Shape == "cylinder" {
		return p, fmt.Errorf("--thickness does not belong to a cylinder: write --diameter")
	}
	return p, q.substance(&p)
}

// substance reads what the piece is made of.
func (q HeatupQuestion) substance(p *sim.PieceSpec) error {
	for _, f := range []struct {
		flag, text, example string
		to                  *float64
		units               []string
	}{
		{"--density", q.Density, "500", &p.Density, []string{"kg/m3", "kg/m³"}},
		{"--conductivity", q.Conductivity, "0.12", &p.Conductivity, []string{"W/mK", "W/(mK)"}},
		{"--heat-capacity", q.HeatCapacity, "1600", &p.HeatCapacity, []string{"J/kgK", "J/(kgK)"}},
	} {
		if f.text == "" {
			continue
		}
		v, err := plain(f.flag, f.text, f.example, f.units...)
		if err != nil {
			return err
		}
		if v <= 0 {
			return fmt.Errorf("%s: %s is not over zero: write it such as %s %s", f.flag, f.text, f.flag, f.example)
		}
		*f.to = v
	}
	if p.Material == "" && (p.Density == 0 || p.Conductivity == 0 || p.HeatCapacity == 0) {
		return fmt.Errorf("--material is missing: write one such as --material oak, or all of --density, --conductivity and --heat-capacity")
	}
	if q.Moisture != "" {
		v, err := config.ParsePercent(q.Moisture)
		if err != nil {
			return fmt.Errorf("--moisture: %w", err)
		}
		p.Moisture = v
	}
	return nil
}

// plain reads a number whose unit may be left out, because there is only one.
func plain(flag, text, example string, units ...string) (float64, error) {
	number := strings.TrimSpace(text)
	for _, u := range units {
		number = strings.TrimSpace(strings.TrimSuffix(number, u))
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%s: %q is no number: write it in %s, such as %s %s", flag, text, units[0], flag, example)
	}
	return v, nil
}

// Text writes the answer for a person.
func (h Heatup) Text() string {
	var b strings.Builder
	switch {
	case h.Seconds != nil:
		fmt.Fprintf(&b, "The core reaches %s after %s (%.0f s).\n", both(h.Target), clock(*h.Seconds), *h.Seconds)
	case h.Asked:
		change := "hotter"
		if h.Target < h.Core {
			change = "colder"
		}
		fmt.Fprintf(&b, "The core NEVER reaches %s: use a %s medium.\n", both(h.Target), change)
	}
	fmt.Fprintf(&b, "After %s the core is at %s and the surface at %s.\n", clock(h.At), both(h.Core), both(h.Surface))
	if h.Limit != "" {
		fmt.Fprintf(&b, "Mind: %s.\n", h.Limit)
	}
	b.WriteString("Real pieces differ: put a probe into the slowest one, and count time by it.\n")
	return b.String()
}
