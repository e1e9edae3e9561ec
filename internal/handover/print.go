package handover

import (
	"embed"
	"fmt"
	"html/template"
	"io"
)

//go:embed papers.html
var papers embed.FS

var templates = template.Must(template.ParseFS(papers, "papers.html"))

// WriteSheets writes wall sheets as one HTML file that needs nothing else and
// prints one A4 page for each.
func WriteSheets(w io.Writer, sheets []Sheet) error {
	return write(w, "sheets", sheets)
}

// WriteLabels writes labels as one HTML file for A4.
func WriteLabels(w io.Writer, labels []Label) error {
	return write(w, "labels", labels)
}

func write(w io.Writer, name string, view any) error {
	if err := templates.ExecuteTemplate(w, name, view); err != nil {
		return fmt.Errorf("writing the paper: %w", err)
	}
	return nil
}
