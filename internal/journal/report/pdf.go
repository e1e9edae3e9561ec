package report

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// PDF writes the report with its fonts embedded.
func PDF(w io.Writer, s *Sheet, work Paperwork) error {
	c := layout(s, work)
	f := newFonts(work.Paper)
	f.SetCatalogSort(true) // the same record gives the same bytes
	date := work.Printed
	if date.IsZero() {
		date = time.Unix(0, 0).UTC()
	}
	f.SetCreationDate(date)
	f.SetModificationDate(date)
	f.SetTitle("Record of "+s.Station, true)
	f.SetAutoPageBreak(false, 0)
	for _, marks := range c.sheets {
		f.AddPage()
		for i := range marks {
			marks[i].pdf(f)
		}
	}
	if err := f.Output(w); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	return nil
}

func (m *mark) pdf(f *fpdf.Fpdf) {
	if m.text != "" {
		style := ""
		if m.bold {
			style = "B"
		}
		f.SetFont(fontName, style, m.size*pointsPerMM)
		x := m.points[0].x
		switch m.anchor {
		case 'm':
			x -= f.GetStringWidth(m.text) / 2
		case 'r':
			x -= f.GetStringWidth(m.text)
		}
		f.Text(x, m.points[0].y, m.text)
		return
	}
	if m.fill {
		f.SetFillColor(m.grey, m.grey, m.grey)
		points := make([]fpdf.PointType, len(m.points))
		for i, p := range m.points {
			points[i] = fpdf.PointType{X: p.x, Y: p.y}
		}
		f.Polygon(points, "F")
		return
	}
	f.SetDrawColor(m.grey, m.grey, m.grey)
	f.SetLineWidth(m.weight)
	f.SetDashPattern(dashes[m.dash], 0)
	f.MoveTo(m.points[0].x, m.points[0].y)
	for _, p := range m.points[1:] {
		f.LineTo(p.x, p.y)
	}
	f.DrawPath("D")
}
