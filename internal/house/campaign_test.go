package house

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"soakwarden/internal/rehearsal"
)

// committed is a result that stands in the tree with the command that made it.
func committed(t *testing.T, name string) *rehearsal.Campaigned {
	t.Helper()
	o, err := rehearsal.LoadCampaigned(filepath.Join(root, "testdata", "campaign", name+"*.json"))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// The tables are the results, and every promise is kept by them.
func TestCampaignTablesOfSafetyAreTheResults(t *testing.T) {
	singles, plain := committed(t, "singles"), committed(t, "plain")
	holdSafety(t, "single faults", singles.SinglesTable())
	holdSafety(t, "pairs of faults", committed(t, "pairs").PairsTable())
	holdSafety(t, "without a fault", committed(t, "free").FreeTable())
	table, broken := rehearsal.PromisesTable(singles, committed(t, "pairs"), committed(t, "free"))
	holdSafety(t, "promises", table)
	for _, promise := range broken {
		t.Errorf("not kept: %s", promise)
	}
	holdSafety(t, "plain limit", committed(t, "two-probes").AgainstTable(plain))
}

func TestFigureIsDrawnFromTheResults(t *testing.T) {
	path := filepath.Join(root, "testdata", "figures", "plain-limit.svg")
	now := committed(t, "two-probes").Figure(committed(t, "plain"))
	if *update {
		if err := os.WriteFile(path, now, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	old, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(old, now) {
		t.Errorf("%s is not what the results give; draw it anew with -update", path)
	}
}

// A result that was made before a kind of fault came would leave it out of the
// tables without a word.
func TestResultsKnowEveryKindOfFault(t *testing.T) {
	singles := committed(t, "singles")
	for _, kind := range rehearsal.Kinds() {
		runs := 0
		for _, row := range singles.Faults {
			if row.Fault == kind {
				runs += row.Runs
			}
			for _, by := range row.By {
				if row.Fault == kind && !rightly(kind, by.Cause) {
					t.Errorf("%s is said to be found by %q, which does not name it any more", kind, by.Cause)
				}
			}
		}
		if runs == 0 {
			t.Errorf("no run with %q: make the results anew", kind)
		}
	}
	for _, name := range []string{"singles", "two-probes", "plain", "pairs", "free", "swarm"} {
		if o := committed(t, name); !strings.HasPrefix(o.Command, "soakwarden campaign --runs ") {
			t.Errorf("%s does not say how it was made: %q", name, o.Command)
		}
	}
}

func rightly(kind, cause string) bool {
	for _, c := range rehearsal.Causes(kind) {
		if c.String() == cause {
			return true
		}
	}
	return false
}

// The short campaign looks at other tubs than the committed one. Its judges
// object to nothing that the committed result does not show, and it finds as
// large a share, but for what so few runs leave to a chance of one in a thousand.
func TestShortCampaignAgreesWithTheResults(t *testing.T) {
	runs := 36
	if s := os.Getenv("CAMPAIGN_RUNS"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatalf("CAMPAIGN_RUNS is %q: write a number of runs", s)
		}
		runs = n
	}
	c := rehearsal.Campaign{Runs: runs, Seed: 7007}
	short, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	long := committed(t, "singles")
	known := make(map[string]bool)
	for _, v := range long.Violations {
		known[v.Fault+v.Probes+v.Judge] = true
	}
	for _, v := range short.Violations {
		if !known[v.Fault+v.Probes+v.Judge] {
			t.Errorf("run %d (%s, %s): %s: %s", v.Run, v.Fault, v.Probes, v.Judge, v.Text)
		}
	}
	// What the long campaign would have missed of the same mixture. Misses are
	// rare, so they are held against a Poisson distribution, whose tail is heavier
	// than that of the sum of unequal chances that they are.
	compared, missed, expected := 0, 0, 0.0
	for _, row := range short.Faults {
		for _, other := range long.Faults {
			if all := other.Found + other.Missed; other.Fault == row.Fault && other.Probes == row.Probes && all > 0 {
				compared += row.Found + row.Missed
				missed += row.Missed
				// One more miss than was seen may always be the truth.
				expected += float64(row.Found+row.Missed) * float64(other.Missed+1) / float64(all+1)
			}
		}
	}
	if compared == 0 {
		t.Fatal("nothing to compare")
	}
	if p := atLeast(missed, expected); p < 0.001 {
		t.Errorf("%d of %d faults missed, the committed result lets expect %.1f: a chance of %.2g", missed, compared, expected, p)
	}
	t.Logf("%d of %d faults missed, %.1f expected", missed, compared, expected)
}

// atLeast is the chance of n or more where mean are expected (Poisson).
func atLeast(n int, mean float64) float64 {
	below, term := 0.0, math.Exp(-mean)
	for k := range n {
		below += term
		term *= mean / float64(k+1)
	}
	return 1 - below
}

// NIST/SEMATECH e-Handbook, 1.3.6.6.19: the distribution; e^-1 = 0.3679 by hand.
func TestPoissonTail(t *testing.T) {
	for _, c := range []struct {
		n          int
		mean, want float64
	}{{0, 1, 1}, {1, 1, 1 - 0.367879441}, {3, 1, 1 - 2.5*0.367879441}} {
		if got := atLeast(c.n, c.mean); math.Abs(got-c.want) > 1e-8 {
			t.Errorf("%d or more of %g: %g, want %g", c.n, c.mean, got, c.want)
		}
	}
}
