package report

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"strings"
)

// HTML writes the report as one page that needs nothing else: each sheet is a
// drawing of its own, and prints on a page of its own.
func HTML(w io.Writer, s *Sheet, work Paperwork) error {
	c := layout(s, work)
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Record of %s</title>
<style>
@page { size: %.1fmm %.1fmm; margin: 0 }
body { margin: 0; background: #d9d9d9 }
svg { display: block; margin: 4mm auto; background: #fff; width: %.1fmm; max-width: 100%% }
text { font-family: "Liberation Sans", Arial, Helvetica, sans-serif; white-space: pre }
@media print { body { background: #fff } svg { margin: 0; break-after: page } }
</style></head><body>
`, html.EscapeString(s.Station), work.Paper.Width, work.Paper.Height, work.Paper.Width)
	for i, marks := range c.sheets {
		fmt.Fprintf(b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.1f %.1f\" role=\"img\" aria-label=\"Sheet %d of %d\">\n",
			work.Paper.Width, work.Paper.Height, i+1, len(c.sheets))
		for k := range marks {
			marks[k].svg(b)
		}
		fmt.Fprint(b, "</svg>\n")
	}
	fmt.Fprint(b, "</body></html>\n")
	if err := b.Flush(); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	return nil
}

func (m *mark) svg(b *bufio.Writer) {
	grey := fmt.Sprintf("#%02x%02x%02x", m.grey, m.grey, m.grey)
	if m.text != "" {
		anchor := map[byte]string{'l': "start", 'm': "middle", 'r': "end"}[m.anchor]
		weight := ""
		if m.bold {
			weight = ` font-weight="bold"`
		}
		fmt.Fprintf(b, "<text x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\" text-anchor=\"%s\"%s>%s</text>\n",
			m.points[0].x, m.points[0].y, m.size, anchor, weight, html.EscapeString(m.text))
		return
	}
	var path strings.Builder
	for i, p := range m.points {
		if i > 0 {
			path.WriteByte(' ')
		}
		fmt.Fprintf(&path, "%.2f,%.2f", p.x, p.y)
	}
	if m.fill {
		fmt.Fprintf(b, "<polygon points=\"%s\" fill=\"%s\"/>\n", path.String(), grey)
		return
	}
	dash := ""
	if m.dash > 0 {
		dash = ` stroke-dasharray="` + strings.Trim(strings.ReplaceAll(fmt.Sprint(dashes[m.dash]), " ", ","), "[]") + `"`
	}
	fmt.Fprintf(b, "<polyline points=\"%s\" fill=\"none\" stroke=\"%s\" stroke-width=\"%.3f\"%s/>\n", path.String(), grey, m.weight, dash)
}
