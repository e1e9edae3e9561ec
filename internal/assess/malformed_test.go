package assess

import (
	"strings"
	"testing"
)

// Logs as instruments and people spoil them. Each is an error or a FAIL, never a
// PASS, with a reason and, where there is one, the line.
func TestMalformedLogs(t *testing.T) {
	const h = "time,core [C]\n"
	good := steady("time,core [C]", 0, 20, "50")
	put := func(line int, text string) string {
		rows := strings.Split(strings.TrimSpace(good), "\n")
		rows[line-1] = text
		return strings.Join(rows, "\n") + "\n"
	}
	many := func(v string) string { return steady("time,core [C]", 0, 20, v) }
	logs := []struct {
		name, log, want string
		answered        bool // a FAIL and not an error
	}{
		{"empty", "", "line 1: the log is empty", false},
		{"blank", "\n \r\n\n", "the log is empty", false},
		{"comments alone", "# nothing\n#\n", "the log is empty", false},
		{"header alone", h, "line 1: the log has a header and no rows", false},
		{"no header", "2025-11-03T12:00:00Z,50\n2025-11-03T12:01:00Z,50\n", "line 1: there is no header", false},
		{"no probe", "time\n2025-11-03T12:00:00Z\n", "line 1: the header \"time\" has one column", false},
		{"no unit", strings.Replace(good, " [C]", "", 1), "line 1: column \"core\" has no unit", false},
		{"kelvin", strings.Replace(good, "[C]", "[K]", 1), "line 1: column \"core\" has the unit \"K\"", false},
		{"humidity", steady("time,core [C],rh [%]", 0, 20, "50,60"), "line 1: column \"rh\" has the unit \"%\"", false},
		{"name missing", strings.Replace(good, "core", "", 1), "line 1: column 2 has no name", false},
		{"value without a name", steady("time,core [C],", 0, 20, "50,7"), "line 2: column 3 has a value and no name", false},
		{"name twice", steady("time,core [C],core [F]", 0, 20, "50,122"), "line 1: two columns are called \"core\"", false},
		{"not UTF-8", strings.Replace(good, "core", "k\xf6rper", 1), "line 1: column 2 is not UTF-8", false},
		{"UTF-16", "\xff\xfet\x00i\x00m\x00e\x00", "is UTF-16", false},
		{"zero bytes", good[:100] + "\x00\x00\x00\x00", "line 5: a zero byte", false},
		{"row too short", put(7, "2025-11-03T12:05:00Z"), "line 7: 1 columns, the header has 2", false},
		{"row too long", put(7, "2025-11-03T12:05:00Z,50,"), "line 7: 3 columns, the header has 2", false},
		{"decimal comma", many("50,5"), "line 2: 3 columns, the header has 2: the row is torn; numbers with a decimal comma need", false},
		{"cut off", strings.TrimSuffix(good, "0Z,50\n"), "line 22: 1 columns", false},
		{"cut in a time", put(22, "2025-11-03T12:2,50"), "line 22: \"2025-11-03T12:2\" is no time", false},
		{"time without zone", put(2, "2025-11-03T12:00:00,50"), "line 2: time \"2025-11-03T12:00:00\" has no zone", false},
		{"day before month", put(2, "03/11/2025 12:00,50"), "line 2: \"03/11/2025 12:00\" is no time", false},
		{"day that is none", put(9, "2025-02-30T12:07:00Z,50"), "line 9: \"2025-02-30T12:07:00Z\" is no time", false},
		{"seconds since 1970", put(2, "1762171200,50"), "line 2: \"1762171200\" is no time", false},
		{"hour 24", put(3, "2025-11-03T24:01:00Z,50"), "line 3", false},
		{"word", put(8, "2025-11-03T12:06:00Z,hot"), "line 8: core: \"hot\" is no number", false},
		{"unit in the cell", put(8, "2025-11-03T12:06:00Z,50C"), "line 8: core: \"50C\" is no number", false},
		{"hexadecimal", put(8, "2025-11-03T12:06:00Z,0x32"), "line 8: core", false},
		{"infinite", put(8, "2025-11-03T12:06:00Z,Inf"), "line 8: core", false},
		{"two points", put(8, "2025-11-03T12:06:00Z,5.0.0"), "line 8: core", false},
		{"torn quotes", put(8, "2025-11-03T12:06:00Z,\"50"), "line", false},
		{"quote in a cell", put(8, "2025-11-03T12:06:00Z,5\"0"), "line 8", false},
		{"thousands", strings.ReplaceAll(strings.Replace(many("50"), ",50", ";1.000,50", -1), "time,", "time;"), "line 2: core", false},
		{"no value at all", many(""), "core gave no reading; the log ends with line 22", true},
		{"words for no value", many("NaN"), "core gave no reading", true},
		{"power-on value", many("85"), "21 of 21 rows are bad, the first in line 2: core is exactly 85 °C", true},
		{"power-on in °F", steady("time,core [F]", 0, 20, "185.0"), "is exactly 85 °C", true},
		{"disconnected", many("-127"), "the first in line 2: core is outside −55 to 125 °C", true},
		{"too hot to be true", many("125.1"), "is outside", true},
		{"far out of range", many("999999"), "is outside", true},
		{"the same time always", h + strings.Repeat("2025-11-03T12:00:00Z,50\n", 100), "99 of 100 rows are bad, the first in line 3: the time 2025-11-03T12:00:00Z is that of an earlier row", true},
		{"backward", h + "2025-11-03T12:20:00Z,50\n2025-11-03T12:10:00Z,50\n2025-11-03T12:00:00Z,50\n", "line 3: the time 2025-11-03T12:10:00Z lies before", true},
		{"first time in the future", put(2, "2035-11-03T12:00:00Z,50"), "20 of 21 rows are bad, the first in line 3", true},
		{"summer time as if there were none", h + "2025-03-30T01:55:00Z,50\n2025-03-30T01:57:00Z,50\n2025-03-30T01:59:00Z,50\n2025-03-30T03:01:00Z,50\n2025-03-30T03:03:00Z,50\n", "no data for longer than the rule allows (core); line 5", true},
		{"winter time as if there were none", h + "2025-10-26T02:56:00Z,50\n2025-10-26T02:58:00Z,50\n2025-10-26T02:00:00Z,50\n2025-10-26T02:02:00Z,20\n2025-10-26T02:59:00Z,50\n", "2 of 5 rows are bad, the first in line 4", true},
		{"gap of a night", strings.ReplaceAll(put(12, "2025-11-03T12:10:00Z,"), "12:1", "22:1"), "no data for longer", true},
		{"one row", h + "2025-11-03T12:00:00Z,50\n", "for 0s of the 10m0s asked for", true},
		{"one reading short", put(12, "2025-11-03T12:10:00Z,49.999999999"), "for 9m0s of the 10m0s asked for: the clock was restarted, the last time at 10m0s by a reading short of the target (core); line 12", true},
		{"Celsius for Fahrenheit", steady("time,core [F]", 0, 20, "50"), "core never got there, 40.0 K was missing", true},
	}
	if len(logs) < 40 {
		t.Fatalf("only %d logs", len(logs))
	}
	for _, c := range logs {
		q := fifty()
		a, err := Ask(strings.NewReader(c.log), q)
		switch {
		case err != nil && c.answered:
			t.Errorf("%s: an error: %v", c.name, err)
		case err != nil && !strings.Contains(err.Error(), c.want):
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		case err == nil && !c.answered:
			t.Errorf("%s: no error, %s: %s", c.name, a.Result, a.Reason)
		case err == nil && (a.Result != "FAIL" || !strings.Contains(a.Reason, c.want)):
			t.Errorf("%s: %s: %s, want %q", c.name, a.Result, a.Reason, c.want)
		}
	}
	if a := ask(t, good, fifty()); a.Result != "PASS" {
		t.Errorf("the log that was spoiled is no good: %s", a.Reason)
	}
}
