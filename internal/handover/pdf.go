package handover

import (
	"errors"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// A4 in millimetres, and what the papers leave free at its edge.
const (
	paperWidth  = 210.0
	paperHeight = 297.0
	edge        = 10.0
	inner       = 4.0
)

// smallest is the share of the usual sizes down to which a sheet is made
// smaller so that it fits on its page.
const smallest = 0.6

const font = "LiberationSans"

// PDFSheets writes one A4 page for each sheet, with its fonts embedded. A sheet
// that is too full is written smaller, and refused when it could not be read on
// a wall.
func PDFSheets(w io.Writer, sheets []Sheet) error {
	if len(sheets) == 0 {
		return errors.New("there is no sheet to print")
	}
	f := paper("Wall sheet", sheets[0].At)
	for i := range sheets {
		if err := fitted(f, &sheets[i]); err != nil {
			return err
		}
	}
	return output(f, w)
}

// fitted adds a page with the sheet in the largest size that it fits in.
func fitted(f *fpdf.Fpdf, s *Sheet) error {
	for scale := 1.0; scale >= smallest; scale -= 0.05 {
		// Tried out on a paper of its own, because ink does not come off.
		try := brush{paper("", time.Time{}), scale}
		try.f.AddPage()
		if try.sheet(s) <= paperHeight-edge-inner {
			f.AddPage()
			b := brush{f, scale}
			b.sheet(s)
			return nil
		}
	}
	return fmt.Errorf("the sheet of %s does not fit on one page: write fewer telephone numbers", s.Station)
}

// PDFLabels writes labels to cut out, three across an A4 page.
func PDFLabels(w io.Writer, labels []Label) error {
	const across, down, width, height, gap = 3, 9, 60.0, 27.0, 3.0
	f := paper("Labels", time.Time{})
	for i, l := range labels {
		if i%(across*down) == 0 {
			f.AddPage()
		}
		x := edge + inner + float64(i%across)*(width+gap)
		y := edge + float64(i/across%down)*(height+gap)
		f.SetLineWidth(0.25)
		f.SetDashPattern([]float64{2, 1.5}, 0)
		f.Rect(x, y, width, height, "D")
		f.SetDashPattern(nil, 0)
		for k, text := range []string{l.Station, l.Animal, l.On, l.What} {
			style, size := "", 11.0
			if k == 0 {
				style, size = "B", 15
			}
			f.SetFont(font, style, size)
			for size > 5 && f.GetStringWidth(text) > width-4 { // a long name is still whole
				size -= 0.5
				f.SetFontSize(size)
			}
			f.Text(x+2, y+6.5+float64(k)*6, text)
		}
	}
	return output(f, w)
}

func paper(title string, at time.Time) *fpdf.Fpdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: paperWidth, Ht: paperHeight}})
	f.AddUTF8FontFromBytes(font, "", liberationsansregular.TTF)
	f.AddUTF8FontFromBytes(font, "B", liberationsansbold.TTF)
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(edge+inner, edge+inner, edge+inner)
	f.SetCatalogSort(true) // the same sheets give the same bytes
	if at.IsZero() {
		at = time.Unix(0, 0).UTC()
	}
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetTitle(title, true)
	return f
}

func output(f *fpdf.Fpdf, w io.Writer) error {
	if err := f.Output(w); err != nil {
		return fmt.Errorf("writing the paper: %w", err)
	}
	return nil
}

// brush writes on a page from the top down, everything in one scale.
type brush struct {
	f     *fpdf.Fpdf
	scale float64
}

// text writes a paragraph at x and returns nothing but moves down.
func (b *brush) text(style string, size, x, width float64, text string) {
	b.f.SetFont(font, style, size*b.scale)
	b.f.SetXY(x, b.f.GetY())
	b.f.MultiCell(width, size*b.scale*0.45, text, "", "L", false)
}

func (b *brush) rule(weight float64) {
	y := b.f.GetY() + 0.6*b.scale
	b.f.SetLineWidth(weight)
	b.f.Line(edge+inner, y, paperWidth-edge-inner, y)
	b.f.SetXY(edge+inner, y+1.2*b.scale)
}

func (b *brush) head(text string) {
	b.f.SetY(b.f.GetY() + 2.2*b.scale)
	b.text("B", 13, edge+inner, paperWidth-2*edge-2*inner, text)
	b.rule(0.35)
}

// row writes a name and what belongs to it, in columns split at a share of the
// width.
func (b *brush) row(split float64, style string, size float64, name, text string) {
	left, all := edge+inner, paperWidth-2*edge-2*inner
	top := b.f.GetY()
	b.text("B", size, left, all*split-2, name)
	under := b.f.GetY()
	b.f.SetY(top)
	b.text(style, size, left+all*split, all*(1-split), text)
	b.f.SetXY(left, max(under, b.f.GetY()))
	b.rule(0.18)
}

// sheet writes the wall sheet and returns where it ends.
func (b *brush) sheet(s *Sheet) float64 {
	f := b.f
	f.SetLineWidth(0.7)
	f.Rect(edge, edge, paperWidth-2*edge, paperHeight-2*edge, "D")
	f.SetXY(edge+inner, edge+inner)
	all := paperWidth - 2*edge - 2*inner
	b.text("B", 26, edge+inner, all, s.Station+" — "+s.Animal)
	if s.Invented {
		b.text("B", 12, edge+inner, all, "INVENTED: an example, no real animal.")
	}
	b.text("B", 18, edge+inner, all, s.Band)
	b.text("", 11, edge+inner, all, "set point "+s.SetPoint+"; too cold under "+s.TooCold+"; cutoff "+s.TooHot)
	b.head("Alarm: what you do first")
	for _, a := range s.Alarms {
		top := f.GetY()
		b.text("B", 16, edge+inner, all*0.3-2, a.Verb)
		under := f.GetY()
		f.SetY(top)
		b.text("B", 11, edge+inner+all*0.3, all*0.7, a.Name)
		b.text("", 11, edge+inner+all*0.3, all*0.7, a.Whole)
		f.SetXY(edge+inner, max(under, f.GetY()))
		b.rule(0.18)
	}
	b.head("Call")
	for _, p := range s.Phones {
		b.row(0.4, "B", 15, p.Who, p.Number)
	}
	for _, part := range []struct {
		name  string
		lines []Line
	}{{"Which plug", s.Plugs}, {"Lamps", s.Lamps}, {"Probes", s.Probes}} {
		b.head(part.name)
		for _, l := range part.lines {
			b.row(0.4, "", 11, l.Name, l.Text)
		}
	}
	b.head("Always")
	for _, r := range s.Rules {
		b.text("", 11, edge+inner, all, "–  "+r)
	}
	f.SetY(f.GetY() + 1.5*b.scale)
	b.text("", 9, edge+inner, all, s.Foot())
	return f.GetY()
}
