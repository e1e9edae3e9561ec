package rehearsal

import (
	"fmt"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/journal"
	"soakwarden/internal/replay"
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
	// Pairs are many. The question is whether the heat can be cut, and that is
	// answered sooner than the slowest fault is found.
	pairLearning  = 4 * time.Hour
	pairSpan      = time.Hour
	pairAftermath = 4 * time.Hour
)

// Campaign says what to rehearse many times.
type Campaign struct {
	Runs     int
	Seed     uint64
	Fault    rig.FaultKind // only this kind; empty for all in turn
	Pairs    bool          // two faults in each run: every pair in turn, tub by tub
	Swarm    bool          // each run has its own kinds of fault, each at a rate of its own
	NoFaults bool
	Plain    bool          // a plain limit controls the same tubs instead of the program
	Longest  time.Duration // of the wall clock, after which no further run begins; 0: none. What was run counts.
	First    int           // the number of the first run, to go on where another campaign ended
	Probes   ProbeSet      // empty: one, two and floor in turn
	Workers  int           // 0: as many as the machine has processors
	// Unprotected takes the protective control's work away: the pad relay is
	// welded and the series relay with it, so that the judges must object. It
	// proves that they can.
	Unprotected bool
	// Replay decides every run again from its record and compares. Journals is a
	// folder into which each record is written, empty for none.
	Replay   bool
	Journals string
	Progress func(done, all int)
	sized    *sync.Map // of every pair's tub, its *Sized by seed: all pairs on one tub share it
}

// Campaigned is what a campaign found, as `campaign --json` prints it.
type Campaigned struct {
	Command    string      `json:"command"` // what made it
	Runs       int         `json:"runs"`
	Seed       uint64      `json:"seed"`
	TubYears   float64     `json:"tub_years"`
	FalseTrips int         `json:"false_trips"`
	Tripped    []FalseTrip `json:"false_trip_runs"`
	// Outside are trips at the cutoff without a fault, with the water really
	// there: sun or a warm room took it so far, and no trip could be righter.
	Outside       []FalseTrip `json:"outside_heat_runs,omitempty"`
	Replayed      uint64      `json:"decisions_replayed,omitempty"` // and found the same
	AlarmsADay    float64     `json:"alarms_a_tub_day"`
	LowAtNight    int         `json:"low_alarms_at_night"`
	Alarms        []AlarmRate `json:"alarms"` // without a fault
	WallSeconds   float64     `json:"wall_seconds"`
	Violations    []Violation `json:"violations"`
	Faults        []FaultRow  `json:"faults"`
	faultFreeDays float64
}

// AlarmRate is how often one alarm came without a fault, with one set of probes.
type AlarmRate struct {
	Name    string  `json:"name"`
	Probes  string  `json:"probes"`
	ATubDay float64 `json:"a_tub_day"`
}

// FalseTrip is a latched trip that no fault called for, and the run to look at.
type FalseTrip struct {
	Run    int     `json:"run"`
	Probes string  `json:"probes"`
	Cause  string  `json:"cause"`
	AtS    float64 `json:"at_s"`
}

// Violation is one run in which a judge objects.
type Violation struct {
	Run      int    `json:"run"`   // of the campaign
	Fault    string `json:"fault"` // the row it belongs to; empty without a fault
	Probes   string `json:"probes"`
	Seed     uint64 `json:"seed"`
	Scenario string `json:"scenario"`
	Judge    string `json:"judge"`
	Text     string `json:"text"`
}

// FaultRow is what became of one kind of fault with one set of probes. Times
// are seconds from its first effect to the right cause; null when none was
// found.
type FaultRow struct {
	Fault    string   `json:"fault"`
	Probes   string   `json:"probes"`
	Runs     int      `json:"runs"`
	Acted    int      `json:"with_effect"`
	Found    int      `json:"found"`
	Standing int      `json:"standing"` // neither found nor missed: the alarm stood already
	Missed   int      `json:"missed"`
	MedianS  *float64 `json:"median_s"`
	P99S     *float64 `json:"p99_s"`
	// Exposed counts only the seconds in which the fault could be seen: commanded
	// and actual heat differed, a reading was off, in air by 1.5 K.
	ExposedMedianS *float64 `json:"exposed_median_s"`
	ExposedP99S    *float64 `json:"exposed_p99_s"`
	WorstOver      *float64 `json:"worst_over_set_point_k"`
	// By is which cause was the first right one in how many runs, the most
	// frequent first, and TimesS the times of all that were found, the shortest
	// first: with them campaigns of the same kind can be added up.
	By       []FoundBy `json:"found_by"`
	TimesS   []float64 `json:"times_s"`
	ExposedS []float64 `json:"exposed_s"`
}

// FoundBy counts the runs in which one cause was the first right one.
type FoundBy struct {
	Cause string `json:"cause"`
	Runs  int    `json:"runs"`
}

// result is one run of a campaign.
type result struct {
	outcome  *Outcome
	probes   ProbeSet
	faults   []rig.Fault
	label    string   // the row it counts in
	found    *float64 // s since the first effect
	exposed  float64  // s of them in which the fault could be seen
	by       string   // the cause that found it
	standing bool     // a right cause stood already
	acted    bool
	over     float64 // K, worst over the set point, heat from outside excepted
	seconds  float64
	replayed uint64
	problems []Violation
}

// Case is one run of a campaign before it is run.
type Case struct {
	Index    int
	Seed     uint64 // of the tub
	Probes   ProbeSet
	Drawn    *Drawn
	Scenario *Scenario
	label    string // the row of its result; empty without a fault
	plain    bool
	replay   bool
	journals string
	sized    *Sized // shared with the other pairs of the tub; may be nil
	excuse   bool   // runs in which nothing is left to cut the heat are judged by the announcement
}

// Case builds run i. It depends on the campaign and i alone, so that any number
// of workers find the same.
func (c *Campaign) Case(i int) (*Case, error) {
	tub, pair := i, 0
	if c.Pairs {
		// All pairs on one tub before the next tub.
		tub, pair = i/len(allPairs), i%len(allPairs)
	}
	seed := c.Seed*1_000_003 + uint64(tub)
	k := &Case{Index: i, Seed: seed, Probes: c.Probes, plain: c.Plain, excuse: c.Pairs || c.Swarm, replay: c.Replay}
	if k.Probes == "" {
		k.Probes = [...]ProbeSet{OneProbe, TwoProbes, FloorProbe}[tub%3]
	}
	d, err := drawTub(seed, k.Probes)
	if err != nil {
		return nil, err
	}
	k.Drawn = d
	duration := learning + faultSpan + aftermath
	switch {
	case c.NoFaults:
		duration = faultFree
	case c.Pairs:
		duration = pairLearning + pairSpan + pairAftermath
	}
	k.Scenario = d.Scenario(fmt.Sprintf("campaign-%d", seed), seed, duration)
	switch noise := num.NewNoise(c.Seed*1_000_003+uint64(i), 0xFA17); {
	case c.NoFaults:
	case c.Pairs:
		k.Scenario.Faults, k.label = allPairs[pair].draw(k.Probes, noise), allPairs[pair].String()
		k.Scenario.Name += ": " + k.label
	case c.Swarm:
		k.Scenario.Faults, k.label = swarm(k.Probes, noise), "swarm"
		d.Nuisances = wild(noise)
	default:
		k.Scenario.Faults, k.label = c.single(i, k.Probes, noise)
	}
	if c.Pairs && c.sized != nil {
		kept, _ := c.sized.LoadOrStore(seed, &Sized{})
		k.sized = kept.(*Sized)
	}
	if c.Plain {
		befallControl(k.Scenario.Faults)
	}
	if c.Unprotected {
		for _, relay := range []string{"pad", "series"} {
			k.Scenario.Faults = append(k.Scenario.Faults, rig.Fault{Kind: rig.RelayWelded, Target: relay, At: learning})
		}
		k.label = "both relays welded"
	}
	return k, nil
}

// Run rehearses the whole campaign.
func (c *Campaign) Run() (*Campaigned, error) {
	if c.Runs < 1 {
		return nil, fmt.Errorf("%d runs: write 1 or more", c.Runs)
	}
	began := time.Now()
	c.sized = new(sync.Map)
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
				if c.Longest > 0 && done.Load() > 0 && time.Since(began) > c.Longest {
					return
				}
				i := int(next.Add(1)) - 1
				if i >= c.Runs {
					return
				}
				results[i], errs[i] = c.one(c.First + i)
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
	// Every run that was begun has ended, and they were begun in their order.
	ran := *c
	ran.Runs = min(c.Runs, int(next.Load()))
	results, errs = results[:ran.Runs], errs[:ran.Runs]
	for i, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("run %d: %w", c.First+i, err)
		}
	}
	out := ran.sum(results)
	out.WallSeconds = time.Since(began).Seconds()
	return out, nil
}

// one runs case i and judges it.
func (c *Campaign) one(i int) (*result, error) {
	k, err := c.Case(i)
	if err != nil {
		return nil, err
	}
	k.journals = c.Journals
	return k.run()
}

func (k *Case) run() (*result, error) {
	if k.plain {
		return k.runPlain()
	}
	record := journal.NewMemory(journal.Options{Reason: "rehearsal", NoTicks: !k.recorded(), Alone: true})
	r, err := k.Scenario.NewRun(Options{Wire: k.Drawn.Wire, Sized: k.sized, Recorder: record})
	if err != nil {
		return nil, err
	}
	for r.bench.Now() < k.Scenario.Duration {
		if err := r.Step(); err != nil {
			return nil, err
		}
	}
	res := k.result(r)
	first, standing := firstRight(k.Scenario.Faults, r.watcher.stations[0].raised)
	if res.standing = standing; first != nil {
		res.found, res.by, res.exposed = first.since, first.cause.String(), first.exposed
	}
	if k.recorded() {
		err = k.again(record, res)
	}
	return res, err
}

// recorded says whether the run is recorded with every tick.
func (k *Case) recorded() bool { return k.replay || k.journals != "" }

// again decides the run once more from its record: what comes out otherwise, or
// cannot be compared, is an objection.
func (k *Case) again(record *journal.Memory, res *result) error {
	if err := record.Close(); err != nil {
		return err
	}
	if k.journals != "" {
		if err := record.WriteFile(filepath.Join(k.journals, fmt.Sprintf("run-%d.journal", k.Index))); err != nil {
			return err
		}
	}
	if !k.replay {
		return nil
	}
	rep, err := replay.Run(record, controller.Core())
	if err != nil {
		return err
	}
	res.replayed = rep.Compared
	if rep.OK && rep.Compared == rep.Ticks && rep.Ticks > 0 {
		return nil
	}
	text := fmt.Sprintf("%d of %d decisions could be compared", rep.Compared, rep.Ticks)
	if len(rep.Differences) > 0 {
		d := rep.Differences[0]
		text += fmt.Sprintf("; first at %.0f s of run %d: %s was %s, comes out as %s", d.NowS, d.Run, d.What, d.Recorded, d.Replayed)
	}
	res.problems = append(res.problems, Violation{Seed: k.Seed, Scenario: k.Scenario.Name, Run: k.Index, Fault: k.label,
		Probes: string(k.Probes), Judge: "record", Text: text})
	return nil
}

// result is what the judges say of a run that came to its end.
func (k *Case) result(r *Run) *result {
	res := &result{
		outcome: r.Outcome(), probes: k.Probes, faults: k.Scenario.Faults, label: k.label,
		over: r.watcher.stations[0].worstByUs, seconds: k.Scenario.Duration.Seconds(),
	}
	_, res.acted = r.bench.FirstEffect()
	r.watcher.excuse = k.excuse
	for _, v := range r.watcher.objections() {
		v.Seed, v.Scenario, v.Run, v.Fault, v.Probes = k.Seed, k.Scenario.Name, k.Index, k.label, string(k.Probes)
		res.problems = append(res.problems, v)
	}
	return res
}
