// Package page is what a person sees in a browser: one drawing sheet, live.
//
// It draws the latest snapshot of the loop and hands a person's acts on; it
// decides nothing and never touches a relay. The sheet is rendered on the
// server and works without script; with script it is kept up to date by
// server-sent events.
//
// Invariants:
//   - numbers that may be old never look current: every value on the sheet is
//     struck through, and the title block says since when, unless a proof of
//     life came within the last seconds. The browser's style sheet alone does
//     this, so it also happens when script, network or program have died;
//   - a sheet without a running Watch is never shown as live;
//   - nothing is fetched from elsewhere, and no script or style stands inside
//     the page, so the content security policy can forbid both;
//   - an act needs a POST from the same origin with the token of this run;
//   - a browser that does not read what it is sent is dropped, never waited for;
//   - colour is never the only sign: every abnormal thing has a word and a hatch.
//
// Lines and hatches follow ISO 128 (thin and thick lines, 45° hatching of cut
// surfaces, leader lines that end in a dot), the words of alarms ISA-18.2.
package page
