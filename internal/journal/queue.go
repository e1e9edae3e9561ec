package journal

import (
	"fmt"
	"time"

	"soakwarden/internal/journal/entry"
)

// queue holds what waits for the writer: urgent items first, the rest when a
// block has closed. The journal's lock guards it.
type queue struct {
	o        *Options
	urgent   []item
	normal   []item
	blocks   int // blocks among them
	released bool
	closing  bool
	given    []entry.Summary // blocks given up while they waited
	lost     entry.Lost      // entries refused
	thinned  uint64          // blocks given up in this run
	refused  uint64          // entries refused in this run
}

const (
	batchItems     = 64   // in one transaction: a trip waits behind one batch at most
	normalAtMost   = 256  // waiting items that are written without a block's closing
	mostSummaries  = 1024 // of blocks given up while they waited, then they are joined
	summariesToRow = 256  // in one entry
)

func (q *queue) len() int { return len(q.urgent) + len(q.normal) }

// push takes an item or refuses it. Only readings give way: a block thins older
// blocks; any other entry is refused only past the bound.
func (q *queue) push(it item) error {
	if it.summary == nil && q.len()-q.blocks >= q.o.QueueEntries {
		q.refused++
		q.lost.Events++
		return fmt.Errorf("%w: %d entries wait", ErrQueueFull, q.len())
	}
	if it.summary != nil {
		q.blocks++
	}
	if it.urgent {
		q.urgent = append(q.urgent, it)
	} else {
		q.normal = append(q.normal, it)
	}
	if q.blocks > q.o.QueueBlocks {
		q.thin()
	}
	return nil
}

// thin gives up the older half of the waiting blocks that may be given up. The
// kept ones have a bound of their own, eight times as high, past which the
// newest is lost and counted.
func (q *queue) thin() {
	target := q.o.QueueBlocks / 2
	give := func(items []item) []item {
		out := items[:0]
		for _, it := range items {
			if it.summary != nil && !it.kept && q.blocks > target {
				q.blocks--
				q.thinned++
				q.given = append(q.given, *it.summary)
				continue
			}
			out = append(out, it)
		}
		clear(items[len(out):])
		return out
	}
	q.normal = give(q.normal)
	q.urgent = give(q.urgent)
	if len(q.given) > mostSummaries {
		q.given = joinSummaries(q.given)
	}
	if q.blocks > 8*q.o.QueueBlocks {
		q.loseNewest()
	}
}

func (q *queue) loseNewest() {
	for i := len(q.normal) - 1; i >= 0; i-- {
		if it := q.normal[i]; it.summary != nil {
			q.lost.Ticks += it.summary.Ticks
			q.refused++
			q.blocks--
			q.normal = append(q.normal[:i], q.normal[i+1:]...)
			return
		}
	}
}

// joinSummaries joins each two neighbours of one station and run.
func joinSummaries(in []entry.Summary) []entry.Summary {
	type key struct {
		station string
		run     uint32
		probes  int
	}
	open := map[key]int{} // place in out of a summary that waits for its neighbour
	var out []entry.Summary
	for _, s := range in {
		k := key{s.Station, s.Run, len(s.Probes)}
		i, waits := open[k]
		if !waits {
			open[k] = len(out)
			out = append(out, s)
			continue
		}
		delete(open, k)
		join(&out[i], &s)
	}
	return out
}

func join(a, b *entry.Summary) {
	a.First, a.Last = min(a.First, b.First), max(a.Last, b.Last)
	for p := range a.Probes {
		x, y := &a.Probes[p], b.Probes[p]
		switch {
		case x.Bad == a.Ticks:
			x.Min, x.Max = y.Min, y.Max
		case y.Bad < b.Ticks:
			x.Min, x.Max = min(x.Min, y.Min), max(x.Max, y.Max)
		}
		x.Bad += y.Bad
	}
	a.Ticks += b.Ticks
	a.HeatOn += b.HeatOn
}

// take gives the next batch, nil when nothing is due. Now is the time on the
// journal's clock, for what the queue itself has to say.
func (q *queue) take(header entry.Header) []item {
	var batch []item
	switch {
	case len(q.urgent) > 0:
		batch, q.urgent = split(q.urgent)
	case q.released || q.closing || len(q.normal) >= normalAtMost:
		batch, q.normal = split(q.normal)
		if len(q.normal) == 0 {
			q.released = false
		}
	}
	for i := range batch {
		if batch[i].summary != nil {
			q.blocks--
		}
	}
	if batch == nil && !(q.closing && (len(q.given) > 0 || q.lost != (entry.Lost{}))) {
		return nil
	}
	say := func(b entry.Body) {
		batch = append(batch, item{Entry: entry.Entry{Header: header, Body: b}})
	}
	if len(q.given) > 0 {
		n := min(len(q.given), summariesToRow)
		say(&entry.Thinned{Reason: "the card did not answer", Blocks: append([]entry.Summary(nil), q.given[:n]...)})
		q.given = append(q.given[:0], q.given[n:]...)
	}
	if q.lost != (entry.Lost{}) {
		l := q.lost
		l.Reason = "too much waited for the card"
		say(&l)
		q.lost = entry.Lost{}
	}
	return batch
}

// split takes a batch off the front. The rest moves down, so that a queue in
// steady use does not grow in memory.
func split(items []item) (batch, rest []item) {
	n := min(len(items), batchItems)
	if n == 0 {
		return nil, items
	}
	batch = append([]item(nil), items[:n]...)
	rest = append(items[:0], items[n:]...)
	clear(items[len(rest):])
	return batch, rest
}

// untake puts a batch that was not written back to the front.
func (q *queue) untake(batch []item) {
	var urgent, normal []item
	for _, it := range batch {
		if it.summary != nil {
			q.blocks++
		}
		if it.urgent {
			urgent = append(urgent, it)
		} else {
			normal = append(normal, it)
		}
	}
	q.urgent = append(urgent, q.urgent...)
	q.normal = append(normal, q.normal...)
	q.released = q.released || len(normal) > 0
}

// abandon ends every wait with err.
func (q *queue) abandon(err error) {
	for _, items := range [][]item{q.urgent, q.normal} {
		for i := range items {
			if r := items[i].receipt; r != nil {
				r.finish(err)
			}
		}
	}
	q.urgent, q.normal, q.blocks = nil, nil, 0
}

// dueSync says whether an ordinary batch should be synced: every one, unless the
// short blocks of a gap rule come more often.
func dueSync(o *Options, now, last time.Duration) bool { return now-last >= o.Head }
