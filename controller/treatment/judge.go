package treatment

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

// leads is by how much a probe must have led the limiting one to be dispensable.
const leads = controller.Kelvin

// RestartsMost is how many restarts are kept one by one, those that lost the
// most; all are counted.
const RestartsMost = 50

// Judge follows one treatment, reading by reading. Use NewJudge or Resume.
type Judge struct {
	rules Rules
	State
}

// State is everything that a Judge remembers.
type State struct {
	Begun       bool          // there was a first reading
	Start       time.Duration // moment of it
	Now         time.Duration // of the last Take or Interrupt
	Arriving    bool          // a probe was at the target once: leading counts from then on
	Longest     Stretch       // in which all were at the target together
	Restarts    []Restart     // in their order
	Restarted   int
	LastRestart Restart
	Probes      []ProbeState
}

// ProbeState is what a Judge remembers of one probe.
type ProbeState struct {
	Known      bool
	Last       Reading
	Coldest    physic.Temperature
	Hottest    physic.Temperature
	Holds      bool    // at the target or past it since Run.From
	Run        Stretch // of the present or last such stretch
	Longest    Stretch
	Arrived    bool
	ArrivedAt  time.Duration
	LargestGap time.Duration
	Lethality  float64 // min, of the readings as they are
	Least      float64 // min, of the readings minus their uncertainty
	Readings   int
	Dropped    bool
	DroppedAt  time.Duration
	Leading    bool                  // has led the limiting probe since any probe arrived
	Led        int                   // times that this could be seen
	Behind     controller.Difference // the most behind the air, before it arrived
	Doubt      Doubt
	DoubtAt    time.Duration
	Older      Reading // about half a minute to a minute ago
	Newer      Reading
}

// NewJudge makes a judge who has seen nothing. The error says what is wrong
// with the rules.
func NewJudge(rules Rules) (*Judge, error) {
	if err := rules.check(); err != nil {
		return nil, err
	}
	rules.Probes = append([]Probe(nil), rules.Probes...)
	j := &Judge{rules: rules, State: State{Probes: make([]ProbeState, len(rules.Probes))}}
	return j, nil
}

// Take is shown the readings of one moment, in the order of Rules.Probes. A
// probe without a good reading then has one that is not good. A reading that is
// no newer than the last one of its probe is no evidence for anything, but
// counts against it when it is short of the target.
func (j *Judge) Take(now time.Duration, readings []Reading) {
	if !j.Begun {
		j.Begun, j.Start, j.Now = true, now, now
	}
	j.Now = max(j.Now, now)
	// The air first: cores are compared with it.
	for _, air := range [...]bool{true, false} {
		for i := range min(len(j.Probes), len(readings)) {
			r := readings[i]
			if r.Good && r.At <= j.Now && (j.rules.Probes[i].Place == Air) == air {
				j.read(i, r)
			}
		}
	}
	j.miss()
	j.compare()
	j.together()
}

// read takes one good reading of probe i.
func (j *Judge) read(i int, r Reading) {
	p, rule := &j.Probes[i], &j.rules.Probes[i]
	past := j.rules.Schedule.Past(r.Value, rule.Uncertainty)
	if p.Known && r.At <= p.Last.At {
		if !past {
			j.end(i, FellOut)
		}
		return
	}
	if p.Dropped {
		// It speaks again, so it is heard again, from now on.
		p.Dropped = false
		j.end(i, CameBack)
	}
	if p.Known {
		gap := r.At - p.Last.At
		p.LargestGap = max(p.LargestGap, gap)
		if gap > j.rules.LongestGap {
			j.end(i, NoData)
		} else {
			j.credit(p, rule, r)
		}
	}
	j.doubt(i, r, past)
	if !p.Known || r.Value < p.Coldest {
		p.Coldest = r.Value
	}
	if !p.Known || r.Value > p.Hottest {
		p.Hottest = r.Value
	}
	switch {
	case past && !p.Holds:
		p.Holds, p.Run = true, Stretch{r.At, r.At}
		if !p.Arrived {
			p.Arrived, p.ArrivedAt = true, r.At
		}
	case past:
		p.Run.To = r.At
	default:
		j.end(i, FellOut)
	}
	if p.Holds && p.Run.Length() > p.Longest.Length() {
		p.Longest = p.Run
	}
	p.Known, p.Last = true, r
	p.Readings++
}

// credit adds the lethality of the time since the last reading.
func (j *Judge) credit(p *ProbeState, rule *Probe, r Reading) {
	c := &j.rules.Lethality
	if j.rules.Schedule.Freeze || c.Reference == 0 {
		return
	}
	u, span := rule.Uncertainty, r.At-p.Last.At
	p.Lethality += c.Add(p.Last.Value, r.Value, span)
	p.Least += c.Add(controller.Below(p.Last.Value, u), controller.Below(r.Value, u), span)
}

// end ends the stretch that probe i holds the target in, and with it the clock
// of all when it ran.
func (j *Judge) end(i int, why Why) {
	p := &j.Probes[i]
	if !p.Holds {
		return
	}
	lost, ran := j.Together()
	p.Holds = false
	if ran && j.counts(i) {
		j.note(Restart{At: j.Now, Probe: i, Why: why, Lost: lost.Length()})
	}
}

func (j *Judge) note(r Restart) {
	j.Restarted++
	j.LastRestart = r
	if len(j.Restarts) == RestartsMost {
		// A probe that flickers about the target must not crowd out the others.
		least := 0
		for i := range j.Restarts {
			if j.Restarts[i].Lost < j.Restarts[least].Lost {
				least = i
			}
		}
		if j.Restarts[least].Lost >= r.Lost {
			return
		}
		j.Restarts = append(j.Restarts[:least], j.Restarts[least+1:]...)
	}
	j.Restarts = append(j.Restarts, r)
}

// counts says whether probe i has to hold the target.
func (j *Judge) counts(i int) bool {
	return j.rules.Probes[i].Place != Air && !j.Probes[i].Dropped
}

// miss looks for probes that have been silent for too long: each is dropped if
// it may be, and restarts the clock if not.
func (j *Judge) miss() {
	for i := range j.Probes {
		p := &j.Probes[i]
		if p.Dropped || !p.Known || j.Now-p.Last.At <= j.rules.LongestGap {
			continue
		}
		p.LargestGap = max(p.LargestGap, j.Now-p.Last.At)
		if j.dispensable(i) {
			p.Dropped, p.DroppedAt = true, j.Now
			continue
		}
		j.end(i, NoData)
	}
}

// dispensable says whether a probe may be dropped: it led the limiting one
// throughout, and enough remain.
func (j *Judge) dispensable(i int) bool {
	p := &j.Probes[i]
	if !j.counts(i) || !p.Holds || !p.Leading || p.Led == 0 {
		return false
	}
	remain := 0
	for k := range j.Probes {
		if k != i && j.counts(k) {
			remain++
		}
	}
	return remain >= j.rules.Required
}

// compare notes which probes lead the limiting one, once any has arrived:
// before, all come from the same room and nobody leads.
func (j *Judge) compare() {
	if !j.Arriving {
		for i := range j.Probes {
			if j.counts(i) && j.Probes[i].Arrived {
				j.Arriving = true
			}
		}
		if !j.Arriving {
			return
		}
		for i := range j.Probes {
			j.Probes[i].Leading = true
		}
	}
	for i := range j.Probes {
		p := &j.Probes[i]
		if !j.counts(i) || !p.Known || j.Now-p.Last.At > j.rules.LongestGap {
			continue
		}
		if lead, any := j.lead(i); any {
			p.Led++
			p.Leading = p.Leading && lead >= leads
		}
	}
}

// lead is how far probe i is ahead of the limiting one of the others.
func (j *Judge) lead(i int) (least controller.Difference, any bool) {
	for k := range j.Probes {
		if k == i || !j.counts(k) || !j.Probes[k].Known {
			continue
		}
		d := controller.Between(j.Probes[k].Last.Value, j.Probes[i].Last.Value)
		if j.rules.Schedule.Freeze {
			d = -d
		}
		// The limiting probe is the one that is farthest behind.
		if !any || d > least {
			least, any = d, true
		}
	}
	return least, any
}

// Together is the stretch in which every probe that counts holds the target
// now; running is false when one does not.
func (j *Judge) Together() (s Stretch, running bool) {
	first := true
	for i := range j.Probes {
		p := &j.Probes[i]
		if !j.counts(i) {
			continue
		}
		if !p.Holds {
			return Stretch{}, false
		}
		if first || p.Run.From > s.From {
			s.From = p.Run.From
		}
		if first || p.Run.To < s.To {
			s.To = p.Run.To
		}
		first = false
	}
	if first || s.To < s.From {
		return Stretch{}, false
	}
	return s, true
}

func (j *Judge) together() {
	if s, ok := j.Together(); ok && s.Length() > j.Longest.Length() {
		j.Longest = s
	}
}

// Interrupt ends every stretch: nobody watched from the last reading until at,
// or nobody knows for how long nobody did.
func (j *Judge) Interrupt(at time.Duration) {
	lost, ran := j.Together()
	j.Now = max(j.Now, at)
	for i := range j.Probes {
		j.Probes[i].Holds = false
		j.Probes[i].Older, j.Probes[i].Newer = Reading{}, Reading{}
	}
	if ran {
		j.note(Restart{At: j.Now, Probe: -1, Why: Interrupted, Lost: lost.Length()})
	}
}
