package report

import (
	"fmt"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// Paper is a size of paper in millimetres.
type Paper struct {
	Name          string
	Width, Height float64
}

// The papers.
var (
	A4     = Paper{"A4", 210, 297}
	Letter = Paper{"Letter", 215.9, 279.4}
)

// PaperOf finds a paper by its name.
func PaperOf(name string) (Paper, error) {
	for _, p := range []Paper{A4, Letter} {
		if strings.EqualFold(p.Name, name) {
			return p, nil
		}
	}
	return Paper{}, fmt.Errorf("paper %q is unknown; write A4 or Letter", name)
}

// Line weights in millimetres: two of the widths of ISO 128-2, in the ratio 2:1.
const (
	thick = 0.5
	thin  = 0.25
)

// dashes of the line types, in millimetres; the first is continuous.
var dashes = [][]float64{nil, {3, 1}, {0.6, 0.9}, {4, 1, 0.6, 1}, {4, 1, 0.6, 1, 0.6, 1}}

// mark is one thing drawn on a sheet. Lengths are in millimetres from the upper
// left corner, y downwards.
type mark struct {
	points []point // a line through them; with fill, an area
	weight float64
	dash   int
	grey   int // 0 black to 255 white
	fill   bool
	text   string
	size   float64 // height of the text
	bold   bool
	anchor byte // 'l', 'm' or 'r'
}

type point struct{ x, y float64 }

// canvas is a stack of sheets.
type canvas struct {
	paper  Paper
	sheets [][]mark
	fonts  *fpdf.Fpdf // measures text
}

const fontName = "LiberationSans"

func newFonts(p Paper) *fpdf.Fpdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: p.Width, Ht: p.Height}})
	f.AddUTF8FontFromBytes(fontName, "", liberationsansregular.TTF)
	f.AddUTF8FontFromBytes(fontName, "B", liberationsansbold.TTF)
	return f
}

func newCanvas(p Paper) *canvas { return &canvas{paper: p, fonts: newFonts(p)} }

func (c *canvas) sheet() { c.sheets = append(c.sheets, nil) }

func (c *canvas) put(m mark) {
	last := len(c.sheets) - 1
	c.sheets[last] = append(c.sheets[last], m)
}

func (c *canvas) line(weight float64, dash, grey int, p ...point) {
	c.put(mark{points: p, weight: weight, dash: dash, grey: grey})
}

func (c *canvas) box(weight, x, y, w, h float64) {
	c.line(weight, 0, 0, point{x, y}, point{x + w, y}, point{x + w, y + h}, point{x, y + h}, point{x, y})
}

func (c *canvas) area(grey int, p ...point) { c.put(mark{points: p, grey: grey, fill: true}) }

func (c *canvas) write(x, y, size float64, anchor byte, bold bool, text string) {
	c.put(mark{points: []point{{x, y}}, text: text, size: size, anchor: anchor, bold: bold})
}

const pointsPerMM = 72 / 25.4

// width of a text in millimetres.
func (c *canvas) width(text string, size float64, bold bool) float64 {
	style := ""
	if bold {
		style = "B"
	}
	c.fonts.SetFont(fontName, style, size*pointsPerMM)
	return c.fonts.GetStringWidth(text)
}

// wrap breaks a text into lines no wider than w. A word that is wider is broken.
func (c *canvas) wrap(text string, size, w float64, bold bool) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		for c.width(word, size, bold) > w {
			cut := []rune(word)
			n := len(cut)
			for n > 1 && c.width(string(cut[:n]), size, bold) > w {
				n--
			}
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines, word = append(lines, string(cut[:n])), string(cut[n:])
		}
		if next := strings.TrimSpace(line + " " + word); line == "" || c.width(next, size, bold) <= w {
			line = next
			continue
		}
		lines, line = append(lines, line), word
	}
	return append(lines, line)
}
