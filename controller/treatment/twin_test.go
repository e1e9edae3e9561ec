package treatment

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// twin judges a whole log the slow way: for each row it looks back over
// everything before. It shares no code with the Judge.
type twin struct {
	rules   Rules
	rows    []row
	forced  []int    // row before which no stretch of a probe may begin
	dropped [][]bool // after each row
	ended   []bool   // silent for too long and not dropped
}

func (w *twin) value(r, p int) (float64, bool) {
	v := w.rows[r].values[p]
	return v, v != none
}

// last is the last row up to r with a value of p, −1 for none.
func (w *twin) last(r, p int) int {
	for ; r >= 0; r-- {
		if _, ok := w.value(r, p); ok {
			return r
		}
	}
	return -1
}

func (w *twin) past(r, p int) bool {
	v, _ := w.value(r, p)
	u := float64(w.rules.Probes[p].Uncertainty) / 1e9
	target := float64(w.rules.Schedule.Target-physic.ZeroCelsius) / 1e9
	if w.rules.Schedule.Freeze {
		return v+u <= target
	}
	return v-u >= target
}

// stretch is what probe p holds at row r, looking backward from its last value.
func (w *twin) stretch(r, p int) (from, to time.Duration, ok bool) {
	k := w.last(r, p)
	if k < 0 || !w.past(k, p) || w.rows[r].at-w.rows[k].at > w.rules.LongestGap && !w.was(r, p) {
		return 0, 0, false
	}
	if k < w.forced[p] {
		return 0, 0, false
	}
	from, to = w.rows[k].at, w.rows[k].at
	for {
		b := w.last(k-1, p)
		if b < w.forced[p] || b < 0 || !w.past(b, p) || w.rows[k].at-w.rows[b].at > w.rules.LongestGap {
			return from, to, true
		}
		k, from = b, w.rows[b].at
	}
}

func (w *twin) was(r, p int) bool { return r < len(w.dropped) && w.dropped[r][p] }

// led says whether p led the limiting probe in every row before r in which that
// could be seen, once any probe that counted had arrived.
func (w *twin) led(r, p int) bool {
	times := 0
	arriving := false
	for k := 0; k < r; k++ {
		for q := range w.rules.Probes {
			for b := 0; b <= k && !w.dropped[k][q]; b++ {
				if _, ok := w.value(b, q); ok && w.past(b, q) {
					arriving = true
				}
			}
		}
		l := w.last(k, p)
		if !arriving || w.dropped[k][p] || l < 0 || w.rows[k].at-w.rows[l].at > w.rules.LongestGap {
			continue
		}
		mine, _ := w.value(l, p)
		worst, any := 0.0, false
		for q := range w.rules.Probes {
			o := w.last(k, q)
			if q == p || w.dropped[k][q] || o < 0 {
				continue
			}
			v, _ := w.value(o, q)
			d := mine - v
			if w.rules.Schedule.Freeze {
				d = -d
			}
			if !any || d > worst {
				worst, any = d, true
			}
		}
		if any {
			times++
			if worst < 1 {
				return false
			}
		}
	}
	return times > 0
}

// longest judges the log.
func (w *twin) longest() time.Duration {
	n := len(w.rules.Probes)
	w.forced, w.ended = make([]int, n), make([]bool, n)
	var best time.Duration
	for r := range w.rows {
		now := make([]bool, n)
		if r > 0 {
			copy(now, w.dropped[r-1])
		}
		for p := range n {
			if _, ok := w.value(r, p); ok {
				w.ended[p] = false
				if now[p] {
					now[p], w.forced[p] = false, r
				}
			}
		}
		w.dropped = append(w.dropped, now)
		for p := range n {
			k := w.last(r, p)
			if now[p] || k < 0 || w.ended[p] || w.rows[r].at-w.rows[k].at <= w.rules.LongestGap {
				continue
			}
			remain := 0
			for q := range n {
				if q != p && !now[q] {
					remain++
				}
			}
			if w.past(k, p) && k >= w.forced[p] && remain >= w.rules.Required && w.led(r, p) {
				now[p] = true
			} else {
				w.ended[p] = true
			}
		}
		from, to, all, first := time.Duration(0), time.Duration(0), true, true
		for p := range n {
			if now[p] {
				continue
			}
			f, t, ok := w.stretch(r, p)
			if all = all && ok; !ok {
				break
			}
			if first || f > from {
				from = f
			}
			if first || t < to {
				to = t
			}
			first = false
		}
		if all && !first && to-from > best {
			best = to - from
		}
	}
	return best
}

// draw makes a log that lingers about the target, on a grid on which equality
// is common, with missing values, gaps at and about the rule, and losses.
func draw(r *rand.Rand) (Rules, []row) {
	freeze := r.IntN(2) == 1
	rules := Rules{Schedule: Schedule{Freeze: freeze, Target: celsius(50), Hold: time.Hour}, LongestGap: time.Duration(60+30*r.IntN(5)) * time.Second}
	n := 1 + r.IntN(4)
	for p := range n {
		rules.Probes = append(rules.Probes, Probe{Name: strconv.Itoa(p), Place: Surface, Uncertainty: controller.Difference(r.IntN(3)) * 500 * controller.MilliKelvin})
	}
	rules.Required = 1 + r.IntN(n)
	values := make([]float64, n)
	dead := make([]int, n)
	for p := range values {
		values[p] = 50 + float64(r.IntN(9))/2
		if freeze {
			values[p] = 100 - values[p]
		}
	}
	var rows []row
	at := time.Duration(0)
	for range 12 + r.IntN(50) {
		line := row{at: at, values: make([]float64, n)}
		for p := range n {
			if r.IntN(5) == 0 {
				values[p] += float64(r.IntN(5)-2) / 2
			}
			if r.IntN(40) == 0 {
				dead[p] = 1 + r.IntN(12)
			}
			line.values[p] = values[p]
			if dead[p] > 0 || r.IntN(25) == 0 {
				dead[p]--
				line.values[p] = none
			}
		}
		rows = append(rows, line)
		step := 30 * time.Second
		switch r.IntN(20) {
		case 0:
			step = rules.LongestGap
		case 1:
			step = rules.LongestGap + 1
		case 2:
			step = rules.LongestGap - 1
		}
		at += step
	}
	return rules, rows
}

// The Judge agrees with its slow twin on random logs, a thousand by default.
func TestJudgeAgreesWithItsTwin(t *testing.T) {
	runs := 1000
	if n, err := strconv.Atoi(os.Getenv("SOAKWARDEN_RUNS")); err == nil {
		runs = n
	}
	droppedOnce, passed, restarted := 0, 0, 0
	for seed := range runs {
		rules, rows := draw(rand.New(rand.NewPCG(uint64(seed), 5)))
		w := &twin{rules: rules, rows: rows}
		want := w.longest()
		// The exact boundary of each log: its own longest stretch is enough, a
		// nanosecond more is not.
		for _, more := range []time.Duration{0, 1} {
			rules.Schedule.Hold = max(want+more, 1)
			j := judge(t, rules)
			show(j, rows...)
			if got := j.Longest.Length(); got != want || j.Verdict().Held != (want >= rules.Schedule.Hold) {
				t.Fatalf("seed %d: %s, the twin says %s\n%s", seed, got, want, log(rules, rows))
			}
			for _, p := range j.Probes {
				if p.Dropped {
					droppedOnce++
				}
			}
			restarted += j.Restarted
		}
		if want > 0 {
			passed++
		}
	}
	if passed < runs/3 || droppedOnce < runs/50 || restarted < runs/4 {
		t.Errorf("the logs are too tame: %d with a stretch, %d dropped probes, %d restarts", passed, droppedOnce, restarted)
	}
}

func log(r Rules, rows []row) string {
	text := fmt.Sprintf("gap %s, required %d, freeze %v, target 50\n", r.LongestGap, r.Required, r.Schedule.Freeze)
	for _, p := range r.Probes {
		text += fmt.Sprintf("U %g ", float64(p.Uncertainty)/1e9)
	}
	for _, row := range rows {
		text += fmt.Sprintf("\n%12s %v", row.at, row.values)
	}
	return text
}
