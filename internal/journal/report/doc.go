// Package report prints the record of one station over a time as a drawing
// sheet: the curve with its limits and events, what each probe did, what people
// did, what was not as it should be, and the chain head that pins it all.
//
// It decides how the record looks on paper, as one self-contained HTML page or
// as PDF, in A4 or Letter. It never judges a treatment: a verdict is printed as
// it stands in the record, or as not recorded. It is legible in black and
// white: nothing is told by colour.
//
// Sources: ISO 128-2 (line types and weights), ISO 7200 (title block).
package report
