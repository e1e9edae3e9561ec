package demo

import (
	"strings"
	"sync"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/treat"
)

// When the invented keeper treats what stands in a chamber.
const (
	treatAfter = 2 * time.Minute // from the start
	treatAgain = 2 * time.Hour   // after a release
)

// schedules are the invented keeper's: the quick one for a cabinet that heats.
var schedules = map[bool]string{false: "core-56-30min", true: "freeze-18-14d"}

// cabinets plays the keeper at the chambers: by the same ways as anybody, the
// sentence typed, the ten minutes waited.
//
// A visitor who stops a treatment or starts another through the socket has the
// chamber from then on: the keeper stays away from it.
type cabinets struct {
	desk *treat.Desk
	next map[string]time.Duration
	left map[string]bool // to a visitor
	busy chan struct{}   // holds a token while the keeper is at one of them

	mu   sync.Mutex
	mine map[string]string // number of the keeper's own treatment
}

func newCabinets(d *treat.Desk) *cabinets {
	return &cabinets{desk: d, next: map[string]time.Duration{}, left: map[string]bool{}, mine: map[string]string{}, busy: make(chan struct{}, 1)}
}

// look goes to a chamber that has something to do. Planning takes a moment, and
// no tick may wait for it.
func (c *cabinets) look(s *stage, now time.Duration) {
	if c == nil {
		return
	}
	for i := range s.cfg.Stations {
		st := &s.cfg.Stations[i]
		if st.Kind != controller.Chamber {
			continue
		}
		if _, ok := c.next[st.Name]; !ok {
			c.next[st.Name] = now + treatAfter
		}
		v := c.desk.Driver(st.Name).View()
		c.left[st.Name] = c.left[st.Name] || v != nil && c.visited(st.Name, v)
		switch {
		case c.left[st.Name]:
		case v == nil && now >= c.next[st.Name]:
			c.next[st.Name] = now + treatAgain
			c.aside(func() { c.start(st.Name, schedules[st.Chamber.Freeze]) })
		case v != nil && v.Stage == treat.Closed.Words(v.Freeze):
			c.next[st.Name] = now + treatAgain
			c.aside(func() { c.release(st.Name) })
		}
	}
}

// visited says whether somebody else is at a chamber.
func (c *cabinets) visited(station string, v *loop.TreatmentView) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return v.Number != c.mine[station] || strings.HasPrefix(v.Reason, "stopped by")
}

// aside does one thing beside the tick, and nothing while another is being done.
func (c *cabinets) aside(do func()) {
	select {
	case c.busy <- struct{}{}:
		go func() {
			defer func() { <-c.busy }()
			do()
		}()
	default:
	}
}

func (c *cabinets) start(station, schedule string) {
	challenge, err := c.desk.Announce(treat.Order{
		Station: station, Schedule: schedule, Operator: "the keeper of the demonstration (invented)",
		Residents: []treat.Resident{{Name: "a carpet python (invented)", Now: "the tub north"}},
		Load:      "a cork branch, a slate and a hide, laid with gaps (invented)",
	})
	if err == nil {
		c.mu.Lock() // so that nobody takes it for a visitor's before its number is known
		if _, _, err = c.desk.Start(station, challenge.Type); err == nil {
			c.mine[station] = challenge.Number
		}
		c.mu.Unlock()
	}
	// A bench that somebody broke has no treatment: the page says why there is
	// no heat, and the keeper comes again.
	_ = err
}

func (c *cabinets) release(station string) {
	// Refused while it is too hot: the keeper comes again.
	_, _, _ = c.desk.Release(treat.Release{
		Station: station, Who: "the keeper of the demonstration (invented)", Label: "treated (invented)", Storage: "closed box, away from the tubs (invented)",
	})
}
