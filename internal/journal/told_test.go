package journal

import (
	"testing"

	"soakwarden/internal/journal/entry"
)

// A document that tells something is read as a sentence in export and report.
func TestDocumentIsToldInItsOwnWords(t *testing.T) {
	for doc, want := range map[string]string{
		`{"says":"The tub is ready.","who":"a keeper"}`: "case north-1: The tub is ready. (a keeper)",
		`{"says":"The tub is ready."}`:                  "case north-1: The tub is ready.",
		`{"result":"PASS"}`:                             `case north-1: {"result":"PASS"}`,
		`["a list"]`:                                    `case north-1: ["a list"]`,
	} {
		if got := Describe(&entry.Entry{Body: &entry.Document{Topic: "case", ID: "north-1", JSON: []byte(doc)}}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
