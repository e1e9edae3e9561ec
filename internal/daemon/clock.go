package daemon

import (
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// Clock tells the time to the daemon. Hardware uses the kernel's; the demo has
// one that is faster.
type Clock interface {
	// Now is monotonic time since the start of the program.
	Now() time.Duration
	// Wall is UTC and whether something trustworthy set it.
	Wall() (now time.Time, trusted bool)
	// Sleep returns when Now has reached until, or when stop is closed.
	Sleep(until time.Duration, stop <-chan struct{})
}

type kernelClock struct{ start time.Time }

// NewClock is the kernel's clock, counting from now.
func NewClock() Clock { return kernelClock{time.Now()} }

// Now is given in whole milliseconds: every decision is recorded with its time,
// and the noise below a millisecond would take more room on the card than the
// temperatures.
func (c kernelClock) Now() time.Duration { return time.Since(c.start).Truncate(time.Millisecond) }

func (c kernelClock) Wall() (time.Time, bool) { return time.Now().UTC(), synchronised() }

func (c kernelClock) Sleep(until time.Duration, stop <-chan struct{}) {
	timer := time.NewTimer(until - c.Now())
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-stop:
	}
}

// synchronised asks the kernel whether a time service or a real-time clock
// with a known error keeps the clock: the kernel sets the flag "unsynchronised"
// at boot and after 16 s of assumed drift without a correction. Source:
// adjtimex(2), STA_UNSYNC. Reading changes nothing.
func synchronised() bool {
	var t unix.Timex
	state, err := unix.Adjtimex(&t)
	return err == nil && state != unix.TIME_ERROR && t.Status&unix.STA_UNSYNC == 0
}

// ScaledClock is a clock whose time moves only when somebody sleeps, and then
// speed times as fast as real time. A tick that takes too long slows it down
// instead of being missed: in a demonstration a late tick would be a fault of
// the computer and not of the bench.
type ScaledClock struct {
	speed float64
	wall  time.Time

	mu   sync.Mutex
	now  time.Duration
	real time.Time // when now was reached
}

// NewScaledClock begins at wall; speed is virtual seconds in a real one.
func NewScaledClock(speed float64, wall time.Time) *ScaledClock {
	if !(speed > 0) {
		speed = 1
	}
	return &ScaledClock{speed: speed, wall: wall.UTC(), real: time.Now()}
}

// Now is the virtual time since the start.
func (c *ScaledClock) Now() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Wall is the virtual date, which is trusted.
func (c *ScaledClock) Wall() (time.Time, bool) { return c.wall.Add(c.Now()), true }

// Sleep lets virtual time pass.
func (c *ScaledClock) Sleep(until time.Duration, stop <-chan struct{}) {
	c.mu.Lock()
	due := c.real.Add(time.Duration(float64(until-c.now) / c.speed))
	c.mu.Unlock()
	timer := time.NewTimer(time.Until(due))
	defer timer.Stop()
	select {
	case <-stop:
		return
	case <-timer.C:
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if until > c.now {
		c.now = until
	}
	c.real = due
	if late := time.Since(due); late > 100*time.Millisecond {
		c.real = time.Now() // the computer cannot keep up: no burst afterwards
	}
}
