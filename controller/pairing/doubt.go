package pairing

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// doubt asks whether the pad of one proven tub warms another's water: one rises
// with its own pad off while the other misses the heat of its pad. Sun on one
// and a lid off the other look the same by chance; tubs whose probes were put
// back crossed, with nobody saying so, look so always. Only the answer to the
// command tells them apart.
//
//	settle ─ both off, heat under way arrives
//	  ▼
//	still ── both off: how the rising water drifts without this pad
//	  ▼
//	heat ─── only the pad in doubt, for six codes of expected rise
//	  ▼
//	answer ─ both off, heat under way arrives; did the water that
//	         rises rise by half of it more than its drift? Twice: crossed
//
// A floor probe that came along proves to a station that its own pad is dead,
// and its heat is off for good. Crossed probes are crossed both ways: then the
// other pad is asked. It would warm a tub whose water it does not read, and
// nobody else would stop it.
//
// Asking takes heat away and gives none, so a doubt for nothing costs an hour at
// less heat; what stands crossed is only said after two answers that agree.
type doubt struct {
	phase  phase
	warms  int // the station whose water another's pad may warm
	heats  int // the one whose pad it is
	since  time.Duration
	base   physic.Temperature
	still  physic.Temperature // drift of the rising water in stillLong
	begun  time.Duration      // of the heat
	heated time.Duration
	votes  int
	next   int           // the pair to look at first
	quiet  time.Duration // no doubt begins before
}

type phase uint8

const (
	asksNothing phase = iota
	asksSettle
	asksStill
	asksHeat
	asksAnswer
)

// Spans of a doubt. The settling is that between turns. Ten minutes of drift
// read at two codes' error, carried over the twenty of an answer, leave an error
// under the three codes that half of the expected rise makes. A pad that asks
// for no heat within the longest wait has an answer of its own.
const (
	stillLong   = 10 * time.Minute
	longestWait = 20 * time.Minute
	quietLong   = 30 * time.Minute
	votesNeeded = 2
	doubtRise   = 2 * leastRise
)

// holds says whether the doubt takes the permit of station i.
func (d *doubt) holds(i int) bool {
	switch {
	case d.phase == asksNothing:
		return false
	case i == d.heats:
		return d.phase != asksHeat
	}
	return i == d.warms
}

// end leaves the pair alone for a while and goes on to the next.
func (d *doubt) end(now time.Duration, n int) {
	*d = doubt{next: (d.warms*n + d.heats + 1) % (n * n), quiet: now + quietLong}
}

func (d *doubt) enter(p phase, now time.Duration, base physic.Temperature) {
	d.phase, d.since, d.base = p, now, base
}

// ask begins, goes on with or ends a doubt.
func (b *Bench) ask(now time.Duration, stations []Station) {
	d := &b.doubt
	if d.phase == asksNothing {
		b.beginDoubt(now, stations)
		return
	}
	w, h := &stations[d.warms], &stations[d.heats]
	if !w.Valid || !h.Valid || !w.Proven || !h.Proven {
		d.end(now, len(stations))
		return
	}
	in := now - d.since
	switch d.phase {
	case asksSettle:
		if in >= pause {
			d.enter(asksStill, now, w.Water)
		}
	case asksStill:
		if in >= stillLong {
			d.still, d.heated = w.Water-d.base, 0
			d.enter(asksHeat, now, w.Water)
		}
	case asksHeat:
		b.trial(now, w, h, len(stations))
	case asksAnswer:
		if in >= pause {
			b.vote(now, w, h, len(stations))
		}
	}
}

// trial is the heat of the pad in doubt.
func (b *Bench) trial(now time.Duration, w, h *Station, n int) {
	d := &b.doubt
	if d.heated == 0 {
		d.base, d.begun = w.Water, now
	}
	if h.Heating {
		d.heated += now - b.last
	}
	switch {
	case h.expected(d.heated) >= doubtRise:
		d.enter(asksAnswer, now, d.base)
	case now-d.since >= longestWait:
		d.end(now, n)
	}
}

// vote judges an answer.
func (b *Bench) vote(now time.Duration, w, h *Station, n int) {
	d := &b.doubt
	drift := d.still / physic.Temperature(stillLong/time.Second) * physic.Temperature((now-d.begun)/time.Second)
	if w.Water-d.base-drift < h.expected(d.heated)/2 {
		d.end(now, n)
		return
	}
	d.votes++
	if d.votes < votesNeeded {
		d.enter(asksStill, now, w.Water)
		return
	}
	b.crossed[d.warms], b.crossed[d.heats] = true, true
	d.end(now, n)
}

func (b *Bench) beginDoubt(now time.Duration, stations []Station) {
	d := &b.doubt
	if b.turn || now < d.quiet {
		return
	}
	n := len(stations)
	for k := range n * n {
		pair := (d.next + k) % (n * n)
		i, j := pair/n, pair%n
		if i != j && stations[i].mayBeWarmed() && stations[j].mayMiss() && !b.crossed[i] && !b.crossed[j] {
			d.warms, d.heats, d.votes = i, j, 0
			if stations[j].Latched {
				d.warms, d.heats = j, i
			}
			d.enter(asksSettle, now, stations[d.warms].Water)
			return
		}
	}
}

func (s *Station) mayBeWarmed() bool { return s.Proven && s.Valid && s.Unasked && !s.Heating }
func (s *Station) mayMiss() bool     { return s.Proven && s.Valid && s.Misses }

// expected is what heat of that length gives a station's own water.
func (s *Station) expected(heated time.Duration) physic.Temperature {
	return s.Gain / 3600 * physic.Temperature(heated/time.Second)
}
