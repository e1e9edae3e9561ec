package page

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// canvas collects the strokes of one drawing, in drawing units: 360 to a
// drawing's width. The style sheet gives each class its line weight, so the
// same strokes serve screen and print.
type canvas struct {
	W, H    float64
	Label   string // what a screen reader says of it
	Strokes []stroke
}

// stroke is one primitive of a drawing.
type stroke struct {
	Kind   string // "path", "rect", "circle" or "text"
	Class  string
	Fill   string // "url(#…)" of a hatch, empty for what the class says
	D      string // path
	X, Y   float64
	W, H   float64
	R      float64
	Anchor string // text: start, middle or end
	Text   string
	Turn   bool // text: reads from below
}

func (c *canvas) path(class, d string) {
	c.Strokes = append(c.Strokes, stroke{Kind: "path", Class: class, D: d})
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	c.path(class, "M"+num(x1)+" "+num(y1)+"L"+num(x2)+" "+num(y2))
}

// polygon draws a closed figure through points given as x, y, x, y, …
func (c *canvas) polygon(class, fill string, xy ...float64) {
	c.Strokes = append(c.Strokes, stroke{Kind: "path", Class: class, Fill: fill, D: polyline(xy) + "Z"})
}

func (c *canvas) rect(class, fill string, x, y, w, h float64) {
	c.Strokes = append(c.Strokes, stroke{
		Kind: "rect", Class: class, Fill: fill,
		X: tenth(x), Y: tenth(y), W: tenth(max(w, 0)), H: tenth(max(h, 0)),
	})
}

func (c *canvas) circle(class, fill string, x, y, r float64) {
	c.Strokes = append(c.Strokes, stroke{Kind: "circle", Class: class, Fill: fill, X: tenth(x), Y: tenth(y), R: tenth(r)})
}

func (c *canvas) text(class, anchor string, x, y float64, s string) {
	c.Strokes = append(c.Strokes, stroke{Kind: "text", Class: class, Anchor: anchor, X: tenth(x), Y: tenth(y), Text: s})
}

// upright writes a text that reads from below, as dimensions do, its middle at
// x, y.
func (c *canvas) upright(class string, x, y float64, s string) {
	c.Strokes = append(c.Strokes, stroke{Kind: "text", Class: class, Anchor: "middle", X: tenth(x), Y: tenth(y), Text: s, Turn: true})
}

// leader draws a leader line: a dot where it points, then a line to a shoulder.
func (c *canvas) leader(x, y, kneeX, kneeY, endX float64) {
	c.circle("dot", "", x, y, 2.4)
	c.path("thin", polyline([]float64{x, y, kneeX, kneeY, endX, kneeY}))
}

// dimension draws a vertical dimension line with an arrow at both ends.
func (c *canvas) dimension(x, y1, y2 float64) {
	c.line("thin", x, y1, x, y2)
	a := min(6.0, math.Abs(y2-y1)/3)
	c.polygon("solid", "", x, y1, x-a/3, y1+a, x+a/3, y1+a)
	c.polygon("solid", "", x, y2, x-a/3, y2-a, x+a/3, y2-a)
}

// markup writes the drawing as SVG. It does so by hand because a template
// escapes every number of every stroke, which costs thirty times as much. Class,
// Fill and D are written by this package alone; what comes from outside (Text,
// Label) is escaped here.
func (c *canvas) markup() template.HTML {
	var b strings.Builder
	b.Grow(128 * (len(c.Strokes) + 1))
	fmt.Fprintf(&b, `<svg class="drawing" viewBox="0 0 %s %s" role="img" aria-label="%s">`, num(c.W), num(c.H), template.HTMLEscapeString(c.Label))
	for i := range c.Strokes {
		s := &c.Strokes[i]
		fill := s.Fill
		if fill == "" {
			fill = "none"
		}
		switch s.Kind {
		case "path":
			b.WriteString(`<path class="` + s.Class + `" d="` + s.D + `" fill="` + fill + `"/>`)
		case "rect":
			b.WriteString(`<rect class="` + s.Class + `" x="` + num(s.X) + `" y="` + num(s.Y) + `" width="` + num(s.W) + `" height="` + num(s.H) + `" fill="` + fill + `"/>`)
		case "circle":
			b.WriteString(`<circle class="` + s.Class + `" cx="` + num(s.X) + `" cy="` + num(s.Y) + `" r="` + num(s.R) + `" fill="` + fill + `"/>`)
		case "text":
			b.WriteString(`<text class="` + s.Class + `" x="` + num(s.X) + `" y="` + num(s.Y) + `" text-anchor="` + s.Anchor + `"`)
			if s.Turn {
				b.WriteString(` transform="rotate(-90 ` + num(s.X) + ` ` + num(s.Y) + `)"`)
			}
			b.WriteString(`>` + template.HTMLEscapeString(s.Text) + `</text>`)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// polyline writes the path through points given as x, y, x, y, …
func polyline(xy []float64) string {
	b := make([]byte, 0, 7*len(xy))
	for i := 0; i+1 < len(xy); i += 2 {
		b = append(b, "ML"[min(i, 1)])
		b = strconv.AppendFloat(b, tenth(xy[i]), 'f', -1, 64)
		b = append(b, ' ')
		b = strconv.AppendFloat(b, tenth(xy[i+1]), 'f', -1, 64)
	}
	return string(b)
}

// tenth rounds to a tenth of a drawing unit; what is not a number goes to the
// corner instead of into the markup.
func tenth(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return math.Round(x*10) / 10
}

func num(x float64) string { return strconv.FormatFloat(tenth(x), 'f', -1, 64) }
