package rehearsal

import (
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// Lengths of a campaign's runs. Six hours let the observer see its cycles; the
// fault then begins at a random moment of the next two, and is watched for six
// more: longer than the slowest promise.
const (
	learning  = 6 * time.Hour
	faultSpan = 2 * time.Hour
	aftermath = 6 * time.Hour
	faultFree = 7 * 24 * time.Hour
)

// Campaign says what to rehearse many times.
type Campaign struct {
	Runs     int
	Seed     uint64
	Fault    rig.FaultKind // only this kind; empty for all in turn
	Pairs    bool          // two faults in each run
	NoFaults bool
	Probes   ProbeSet // empty: one, two and floor in turn
	Workers  int      // 0: as many as the machine has processors
	// Unprotected takes the protective control's work away: the pad relay is
	// welded and the series relay with it, so that the judges must object. It
	// proves that they can.
	Unprotected bool
	Progress    func(done, all int)
}

// Campaigned is what a campaign found, as `campaign --json` prints it.
type Campaigned struct {
	Runs          int         `json:"runs"`
	Seed          uint64      `json:"seed"`
	TubYears      float64     `json:"tub_years"`
	FalseTrips    int         `json:"false_trips"`
	AlarmsADay    float64     `json:"alarms_a_tub_day"`
	LowAtNight    int         `json:"low_alarms_at_night"`
	WallSeconds   float64     `json:"wall_seconds"`
	Violations    []Violation `json:"violations"`
	Faults        []FaultRow  `json:"faults"`
	faultFreeDays float64
}

// Violation is one run in which a judge objects.
type Violation struct {
	Seed     uint64 `json:"seed"`
	Scenario string `json:"scenario"`
	Judge    string `json:"judge"`
	Text     string `json:"text"`
	index    int
}

// FaultRow is what became of one kind of fault with one set of probes. Times
// are seconds from its first effect to the right cause; null when none was
// found.
type FaultRow struct {
	Fault     string   `json:"fault"`
	Probes    string   `json:"probes"`
	Runs      int      `json:"runs"`
	Acted     int      `json:"with_effect"`
	Found     int      `json:"found"`
	Missed    int      `json:"missed"`
	MedianS   *float64 `json:"median_s"`
	P99S      *float64 `json:"p99_s"`
	WorstOver *float64 `json:"worst_over_set_point_k"`
}

// result is one run of a campaign.
type result struct {
	outcome  *Outcome
	probes   ProbeSet
	faults   []rig.Fault
	found    *float64 // s since the first effect
	acted    bool
	over     float64 // K, worst over the set point, heat from outside excepted
	seconds  float64
	problems []Violation
}

// Case is one run of a campaign before it is run.
type Case struct {
	Index    int
	Seed     uint64
	Probes   ProbeSet
	Drawn    *Drawn
	Scenario *Scenario
}

// Case builds run i. It depends on the campaign and i alone, so that any number
// of workers find the same.
func (c *Campaign) Case(i int) (*Case, error) {
	seed := c.Seed*1_000_003 + uint64(i)
	k := &Case{Index: i, Seed: seed, Probes: c.Probes}
	if k.Probes == "" {
		k.Probes = [...]ProbeSet{OneProbe, TwoProbes, FloorProbe}[i%3]
	}
	d, err := drawTub(seed, k.Probes)
	if err != nil {
		return nil, err
	}
	k.Drawn = d
	duration := learning + faultSpan + aftermath
	if c.NoFaults {
		duration = faultFree
	}
	k.Scenario = d.Scenario(fmt.Sprintf("campaign-%d", seed), seed, duration)
	if !c.NoFaults {
		noise := num.NewNoise(seed, 0xFA17)
		k.Scenario.Faults = c.faults(i, k.Probes, noise)
	}
	if c.Unprotected {
		for _, relay := range []string{"pad", "series"} {
			k.Scenario.Faults = append(k.Scenario.Faults, rig.Fault{Kind: rig.RelayWelded, Target: relay, At: learning})
		}
	}
	return k, nil
}

// Run rehearses the whole campaign.
func (c *Campaign) Run() (*Campaigned, error) {
	if c.Runs < 1 {
		return nil, fmt.Errorf("%d runs: write 1 or more", c.Runs)
	}
	began := time.Now()
	workers := c.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	results := make([]*result, c.Runs)
	errs := make([]error, c.Runs)
	var next, done atomic.Int64
	var progress sync.Mutex
	var group sync.WaitGroup
	for range min(workers, c.Runs) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= c.Runs {
					return
				}
				results[i], errs[i] = c.one(i)
				n := done.Add(1)
				if c.Progress != nil {
					progress.Lock()
					c.Progress(int(n), c.Runs)
					progress.Unlock()
				}
			}
		})
	}
	group.Wait()
	for i, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("run %d: %w", i, err)
		}
	}
	out := c.sum(results)
	out.WallSeconds = time.Since(began).Seconds()
	return out, nil
}

// one runs case i and judges it.
func (c *Campaign) one(i int) (*result, error) {
	k, err := c.Case(i)
	if err != nil {
		return nil, err
	}
	return k.run()
}

func (k *Case) run() (*result, error) {
	r, err := k.Scenario.NewRun(Options{Wire: k.Drawn.Wire})
	if err != nil {
		return nil, err
	}
	for r.bench.Now() < k.Scenario.Duration {
		if err := r.Step(); err != nil {
			return nil, err
		}
	}
	w := &r.watcher.stations[0]
	res := &result{
		outcome: r.Outcome(), probes: k.Probes, faults: k.Scenario.Faults,
		over: w.worstByUs, seconds: k.Scenario.Duration.Seconds(),
	}
	_, res.acted = r.bench.FirstEffect()
	res.found = firstRight(k.Scenario.Faults, w.raised)
	for _, v := range r.watcher.objections() {
		v.Seed, v.Scenario, v.index = k.Seed, k.Scenario.Name, k.Index
		res.problems = append(res.problems, v)
	}
	return res, nil
}
