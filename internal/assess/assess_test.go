package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// fifty is the question most tests ask: 50 °C for 10 minutes, exact probes.
func fifty() Question {
	return Question{Target: "50C", Hold: "10m", Uncertainty: "0K", LongestGap: "2m"}
}

// steady is a good log: the header, and a minute a row at v from first to last.
func steady(header string, first, last int, v string) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for n := first; n <= last; n++ {
		fmt.Fprintf(&b, "2025-11-03T12:%02d:00Z,%s\n", n, v)
	}
	return b.String()
}

func ask(t *testing.T, log string, q Question) *Assessment {
	t.Helper()
	a, err := Ask(strings.NewReader(log), q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestGoodLogs(t *testing.T) {
	semicolons := strings.NewReplacer(",", ";", "50.0", "50,0", "51.5", "51,5").Replace(steady("time,core [C],plank (°F)", 0, 10, "50.0,122"))
	for name, log := range map[string]string{
		"plain":            steady("time,core [C]", 0, 10, "50.0"),
		"two units":        steady("time,core [C],plank (°F)", 0, 10, "50,122.0"),
		"semicolons":       semicolons,
		"tabs":             strings.ReplaceAll(steady("time,core [C]", 0, 10, "50.0"), ",", "\t"),
		"spaces in header": steady("time , core  [ °C ] ", 0, 10, " 50.0 "),
		"degrees in words": steady("time,core (deg C)", 0, 10, "50"),
		"sign of degrees":  steady("time,core [℃]", 0, 10, "50"),
		"byte order mark":  "\xef\xbb\xbf" + steady("time,core [C]", 0, 10, "50.0"),
		"carriage returns": strings.ReplaceAll(steady("time,core [C]", 0, 10, "50.0"), "\n", "\r\n"),
		"comments, blanks": "# an instrument\n\n" + steady("time,core [C]", 0, 10, "50.0") + "\n\n",
		"quotes":           strings.ReplaceAll(steady(`time,"core, deep [C]"`, 0, 10, `"50.0"`), "Z,", "Z,"),
		"returns alone":    strings.ReplaceAll(steady("time,core [C]", 0, 10, "50.0"), "\n", "\r"),
		"commas at ends":   steady("time,core [C],,", 0, 10, "50.0,,"),
		"quoted comma":     steady("time,core [C]", 0, 10, `"50,0"`),
		"no leading zero":  steady("time,core [F]", 0, 10, "122.0") + "2025-11-03T12:11:00Z,+122\n",
		"a space for T":    strings.ReplaceAll(steady("time,core [C]", 0, 10, "50.0"), "03T", "03 "),
		"long numbers":     steady("time,core [C]", 0, 10, "50.00000000000001"),
		"powers of ten":    steady("time,core [C]", 0, 10, "5.0e1"),
		"winter time":      "time,core [C]\n2025-10-26T02:50:00+02:00,50\n2025-10-26T02:51:30+02:00,50\n2025-10-26T02:53:00+02:00,50\n2025-10-26T02:54:30+02:00,50\n2025-10-26T02:56:00+02:00,50\n2025-10-26T02:57:30+02:00,50\n2025-10-26T02:59:00+02:00,50\n2025-10-26T02:00:30+01:00,50\n",
	} {
		if a := ask(t, log, fifty()); a.Result != "PASS" || a.BadRows != 0 || a.LongestTogether < 600 {
			t.Errorf("%s: %s %s %v", name, a.Result, a.Reason, a.Problems)
		}
	}
	q := fifty()
	q.Unit = "f"
	if a := ask(t, steady("time,core", 0, 10, "122"), q); a.Result != "PASS" {
		t.Error(a.Reason)
	}
	q.Columns = []string{"core"}
	if a := ask(t, steady("time,core,humidity [%]", 0, 10, "122,60"), q); a.Result != "PASS" || len(a.Probes) != 1 {
		t.Error(a.Reason)
	}
}

func TestAnswerInNumbers(t *testing.T) {
	log := "time,core [C],air [C]\n" +
		"2025-11-03T12:00:00Z,20,40\n2025-11-03T12:01:00Z,50,52\n2025-11-03T12:02:00.5Z,50,\n2025-11-03T12:03:00Z,49.9,54\n"
	q := fifty()
	q.Hold, q.Reference, q.Z, q.ZAbove = "1m", "50C", "10", "10"
	a := ask(t, log, q)
	if a.Result != "FAIL" || a.LongestTogether != 0 || a.From != nil || a.Rows != 4 {
		t.Errorf("%+v", a)
	}
	core, air := a.Probes[0], a.Probes[1]
	if *core.MinC != 20 || *core.MaxC != 50 || core.LongestContinuous != 60.5 || air.LongestContinuous != 120 || air.Readings != 3 || a.LargestGapS != 120 {
		t.Errorf("%+v %+v", core, air)
	}
	// The trapezoid rule by hand: rates 10^-3, 1, 1, 10^-0.01.
	want := (0.001+1)/2 + 60.5/60 + (1+math.Pow(10, -0.01))/2*59.5/60
	if got := *core.Lethality; math.Abs(got-want) > 1e-12 {
		t.Errorf("lethality %g, want %g", got, want)
	}
	if !strings.Contains(a.Text(), "FAIL: together at 50.0 °C (122.0 °F) or above for 0s of the 1m0s") {
		t.Error(a.Text())
	}
	q.Uncertainty = "1K"
	if a := ask(t, log, q); !(*a.Probes[0].LethalityLow < *a.Probes[0].Lethality) {
		t.Error("the least lethality is not the lesser")
	}
	q = Question{Target: "-18C", Hold: "1m", Freeze: true, Uncertainty: "0.5K"}
	a = ask(t, "time,core [C]\n2025-11-03T12:00:00Z,-18.5\n2025-11-03T12:01:00Z,−18.6\n", q)
	if a.Result != "PASS" || a.Probes[0].Lethality != nil || *a.From != "2025-11-03T12:00:00Z" || len(a.Notes) != 1 {
		t.Errorf("%+v", a)
	}
	if text := a.Text(); !strings.Contains(text, "−18.0 °C (−0.4 °F) or below") || !strings.Contains(text, "No treatment would be run") {
		t.Error(text)
	}
}

// What is not said is half a kelvin, five minutes, 56 °C, z 4 and 10.
func TestDefaults(t *testing.T) {
	a := ask(t, steady("time,core [C]", 0, 30, "56.5"), Question{Schedule: "core-56-30min"})
	if a.Result != "PASS" || a.UncertaintyK != 0.5 || a.LongestGapS != 300 || math.Abs(*a.Probes[0].Lethality-30*math.Pow(10, 0.05)) > 1e-9 {
		t.Errorf("%+v", a)
	}
	if a := ask(t, steady("time,core [C]", 0, 30, "56.499"), Question{Schedule: "core-56-30min"}); a.Result != "FAIL" {
		t.Error("half a kelvin was not taken off")
	}
	if a := ask(t, steady("time,core [C]", 0, 29, "60"), Question{Schedule: "core-56-30min"}); a.Result != "FAIL" {
		t.Error("29 min passed for 30")
	}
}

func TestQuestionsThatCannotBeAnswered(t *testing.T) {
	for words, q := range map[string]Question{
		"against what?":                       {},
		"--target: \"50\" has no unit":        {Target: "50", Hold: "1h"},
		"--hold: \"48\" has no unit":          {Target: "50C", Hold: "48"},
		"--hold: \"0s\" is no time":           {Target: "50C", Hold: "0s"},
		"write --schedule core-56":            {Target: "50C"},
		"--schedule stands alone":             {Schedule: "core-56-30min", Hold: "1h"},
		"--freeze: core-56-30min heats":       {Schedule: "core-56-30min", Freeze: true},
		"there is no \"soak\"":                {Schedule: "soak"},
		"heat-110F (110 °F (43.3 °C) for any": {Schedule: "heat-110F"},
		"--unit: \"K\" is none":               {Target: "50C", Hold: "1h", Unit: "k"},
		"--uncertainty: \"0.5\" has no unit":  {Target: "50C", Hold: "1h", Uncertainty: "0.5"},
		"is outside 0K to 5K":                 {Target: "50C", Hold: "1h", Uncertainty: "-1K"},
		"--longest-gap: \"5\" has no unit":    {Target: "50C", Hold: "1h", LongestGap: "5"},
		"--longest-gap: \"2h\": write one":    {Target: "50C", Hold: "1h", LongestGap: "2h"},
		"--reference: \"56\" has no unit":     {Target: "50C", Hold: "1h", Reference: "56"},
		"--z: \"0\": write kelvin":            {Target: "50C", Hold: "1h", Z: "0"},
		"--z-above: \"x\": write kelvin":      {Target: "50C", Hold: "1h", ZAbove: "x"},
	} {
		if _, err := Ask(strings.NewReader(steady("time,core [C]", 0, 10, "50")), q); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v", words, err)
		}
	}
}

// Rows that are bad speak against a treatment and never for it.
func TestBadRowsSpeakAgainst(t *testing.T) {
	good := strings.Split(strings.TrimSpace(steady("time,a [C],b [C]", 0, 20, "50,50")), "\n")
	log := func(line int, with string) string {
		rows := append([]string(nil), good...)
		rows = append(rows[:line], append([]string{with}, rows[line:]...)...)
		return strings.Join(rows, "\n")
	}
	for name, c := range map[string]struct {
		log  string
		want float64
		bad  int
	}{
		"twice the same":                {log(10, "2025-11-03T12:08:00Z,50,50"), 1200, 1},
		"twice, and short":              {log(10, "2025-11-03T12:08:00Z,50,20"), 660, 1},
		"backward, past":                {log(10, "2025-11-03T11:00:00Z,50,50"), 1200, 1},
		"backward, short":               {log(10, "2025-11-03T11:00:00Z,20,50"), 660, 1},
		"out of range, the other past":  {log(10, "2025-11-03T12:08:30Z,-127,50"), 1200, 1},
		"out of range, the other short": {log(10, "2025-11-03T12:08:30Z,-127,20"), 660, 1},
		"power-on value once":           {log(10, "2025-11-03T12:08:30Z,85,50"), 1200, 1},
		"power-on value, other short":   {log(10, "2025-11-03T12:08:30Z,85.000,49.9"), 660, 1},
	} {
		a := ask(t, c.log, fifty())
		if a.LongestTogether != c.want || a.BadRows != c.bad || len(a.Problems) == 0 || a.Problems[0].Line != 11 {
			t.Errorf("%s: together %g, want %g; bad %d; %v", name, a.LongestTogether, c.want, a.BadRows, a.Problems)
		}
	}
	// A reading that passes through 85 °C on its way is one.
	climb := "time,a [C]\n2025-11-03T12:00:00Z,82\n2025-11-03T12:01:00Z,85\n2025-11-03T12:02:00Z,88\n"
	if a := ask(t, climb, Question{Target: "80C", Hold: "2m", Uncertainty: "0K", LongestGap: "1m"}); a.Result != "PASS" {
		t.Errorf("%s %v", a.Reason, a.Problems)
	}
}

// Every row a second of a day is judged in one go: a long log needs no more
// than its size.
func TestLongLog(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,core [C]\n")
	at := time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC)
	for range 86401 {
		fmt.Fprintf(&b, "%s,46.0\n", at.Format(time.RFC3339))
		at = at.Add(time.Second)
	}
	if a := ask(t, b.String(), Question{Target: "45C", Hold: "24h"}); a.Result != "PASS" || a.LongestTogether != 86400 {
		t.Errorf("%+v", a)
	}
}
