package daemon

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// hungLooks is how many looks in a row may find the same tick under way. Looks
// are counted and no time is measured: a program that was paused wakes with an
// old clock, and its tick is not to blame for that.
const hungLooks = 10

// looks counts how often in a row the same tick was found under way.
type looks struct {
	tick uint64
	same int
}

// hung notes one look and says whether the tick hangs. 0 is no tick.
func (l *looks) hung(tick uint64) bool {
	if tick == 0 || tick != l.tick {
		l.tick, l.same = tick, 0
		return false
	}
	l.same++
	return l.same >= hungLooks
}

var errHung = errors.New("a tick hangs: every relay was driven off")

// watchTicks drops the relays and ends the program when a tick hangs: relays
// would else stay as they were while nobody decides, for ever where no
// watchdog is fitted.
func (d *Daemon) watchTicks(ctx context.Context, every time.Duration) {
	look := time.NewTicker(every)
	defer look.Stop()
	var l looks
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		n := d.underway.Load()
		if !l.hung(n) {
			continue
		}
		off := d.gate.drop()
		d.log.Error(errHung.Error(), "tick", n, "not_off", errors.Join(off...))
		d.finish(fmt.Errorf("tick %d: %w", n, errHung))
		return
	}
}
