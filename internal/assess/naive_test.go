package assess

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
)

// naive cuts the log after each row and looks back from there: each probe's last
// reading must be past and young enough, and so must every one before it back to
// where its stretch begins. The stretches of all overlap for so long.
func naive(times []time.Duration, values [][]float64, past func(float64) bool, gap time.Duration) (best time.Duration) {
	for m := range times {
		from, to, all := time.Duration(0), times[m], true
		for p := range values[m] {
			first, after := time.Duration(-1), times[m]
			end := time.Duration(-1)
			for k := m; k >= 0; k-- {
				if values[k][p] == none {
					continue
				}
				if !past(values[k][p]) || after-times[k] > gap {
					break
				}
				first, after = times[k], times[k]
				end = max(end, times[k])
			}
			all = all && first >= 0
			from, to = max(from, first), min(to, end)
		}
		if all {
			best = max(best, to-from)
		}
	}
	return best
}

const none = -1000.0

// A thousand random logs, written in many ways, get the verdict of the naive
// judge: with exactly its time as the schedule a PASS, with a nanosecond more a
// FAIL.
func TestAssessAgreesWithANaiveJudge(t *testing.T) {
	passes, stretches := 0, 0
	for seed := range 1000 {
		r := rand.New(rand.NewPCG(uint64(seed), 11))
		n, freeze, fahrenheit := 1+r.IntN(3), r.IntN(2) == 1, r.IntN(2) == 1
		gap := time.Duration(60+30*r.IntN(4)) * time.Second
		comma := []string{",", ";", "\t"}[r.IntN(3)]
		unit := " [C]"
		if fahrenheit {
			unit = " (°F)"
		}
		u := float64(r.IntN(3)) / 2
		past := func(v float64) bool { return v-u >= 45 }
		if freeze {
			past = func(v float64) bool { return v+u <= 45 }
		}
		var log strings.Builder
		log.WriteString("time")
		for p := range n {
			fmt.Fprintf(&log, "%sp%d%s", comma, p, unit)
		}
		log.WriteString("\n")
		var times []time.Duration
		var values [][]float64
		state := make([]float64, n)
		for p := range state {
			state[p] = 45 + u + float64(r.IntN(4))/2
			if freeze {
				state[p] = 90 - state[p]
			}
		}
		at, zero := time.Duration(0), time.Date(2025, 11, 3, 23, 0, 0, 0, time.UTC)
		for range 10 + r.IntN(35) {
			line := make([]float64, n)
			text := zero.Add(at).In(time.FixedZone("", 3600*(r.IntN(5)-2))).Format(time.RFC3339Nano)
			for p := range n {
				if r.IntN(8) == 0 {
					state[p] += float64(r.IntN(3)-1) / 2
				}
				line[p] = state[p]
				v := state[p]
				if fahrenheit {
					v = v*9/5 + 32
				}
				cell := strconv.FormatFloat(v, 'f', 1, 64)
				if comma != "," && r.IntN(2) == 0 {
					cell = strings.Replace(cell, ".", ",", 1)
				}
				if r.IntN(15) == 0 {
					line[p], cell = none, ""
				}
				text += comma + cell
			}
			log.WriteString(text + "\n")
			times, values = append(times, at), append(values, line)
			at += []time.Duration{30 * time.Second, 30 * time.Second, 30 * time.Second, gap, gap + 1}[r.IntN(5)]
		}
		want := naive(times, values, past, gap)
		for _, more := range []time.Duration{0, 1} {
			q := Question{Target: "45C", Freeze: freeze, Hold: max(want+more, 1).String(), Uncertainty: fmt.Sprintf("%gK", u), LongestGap: gap.String()}
			a, err := Ask(strings.NewReader(log.String()), q)
			if err != nil {
				t.Fatalf("seed %d: %v\n%s", seed, err, log.String())
			}
			pass := want > 0 && more == 0
			if a.LongestTogether != want.Seconds() || (a.Result == "PASS") != pass {
				t.Fatalf("seed %d: %s %g s, naive %s\n%+v\n%s", seed, a.Result, a.LongestTogether, want, q, log.String())
			}
			if pass {
				passes++
			}
		}
		if want > 0 {
			stretches++
		}
	}
	if stretches < 300 || passes != stretches {
		t.Errorf("%d stretches, %d passes: the logs are too tame", stretches, passes)
	}
}
