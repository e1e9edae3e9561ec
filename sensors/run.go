package sensors

import (
	"context"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/onewire"
)

// hungError ends a step that was given up.
type hungError string

func (e hungError) Error() string { return string(e) }
func (e hungError) Timeout() bool { return true }

// errStopped ends a step because Run was told to stop.
var errStopped = errors.New("stopped")

// Run runs one cycle after another until ctx is done, and publishes each when
// it is complete. Cycles start a period apart or, when one takes longer, at
// once; missed ones are not caught up.
//
// The source is called from one goroutine beside this one. A call that passes
// its deadline is given up: the cycle ends with BusHung, and until that call
// comes back each further cycle says so too, without starting another
// goroutine. Its late answer is thrown away. When ctx ends during such a call,
// Run returns and the goroutine ends with the call.
//
// It returns ctx's error, or one that says why it cannot run. A panic of the
// source is a panic of Run.
func (b *Bus) Run(ctx context.Context) error {
	if b.options.Now == nil {
		return fmt.Errorf("bus %q cannot run without a clock", b.options.Name)
	}
	if !b.running.TryLock() {
		return fmt.Errorf("bus %q is already running", b.options.Name)
	}
	defer b.running.Unlock()
	r := &runner{
		ctx:     ctx,
		options: &b.options,
		jobs:    make(chan job),
		answers: make(chan answer, 1),
		ended:   make(chan struct{}),
	}
	go r.work()
	defer r.stop()
	searched := b.options.Now() - b.options.Rescan // search before the first cycle
	for ctx.Err() == nil {
		started := b.options.Now()
		if started-searched >= b.options.Rescan && r.free() {
			searched = started
			if a, err := r.call(job{kind: searchJob}, b.options.SearchDeadline); err == nil {
				b.list(started, a.found, a.err)
			}
		}
		c := &Cycle{Samples: b.emptySamples()}
		b.cycle(c, r)
		if ctx.Err() != nil {
			break // what was cut short is not a cycle
		}
		b.latest.Store(c)
		if r.wait(started+b.options.Period-b.options.Now()) != nil {
			break
		}
	}
	return ctx.Err()
}

// cycle fills c with one round of the bus.
func (b *Bus) cycle(c *Cycle, r *runner) {
	b.open(c, r.now())
	conversion, err := r.start()
	if err == nil {
		err = r.wait(conversion.Wait)
	}
	if err != nil {
		b.spoil(c, 0, err)
		b.close(c, r.now())
		return
	}
	at := c.Started
	for i := range c.Samples {
		if conversion.EachRead {
			at = r.now()
		}
		s := &c.Samples[i]
		if err := r.read(s.Address, &s.Raw, conversion.EachRead); err == nil {
			b.learned[i].take(c, s, at)
		} else if !b.miss(c, i, at, err) {
			break
		}
	}
	b.close(c, r.now())
}

type jobKind uint8

const (
	startJob jobKind = iota
	readJob
	searchJob
)

type job struct {
	kind    jobKind
	address onewire.Address
}

// answer carries everything by value, so that a late one shares no memory with
// what was published meanwhile.
type answer struct {
	conversion Conversion
	pad        [9]byte
	found      []onewire.Address
	err        error
	panicked   any // what the source panicked with
}

// runner runs the steps of a cycle in a goroutine of their own.
type runner struct {
	ctx     context.Context
	options *Options
	jobs    chan job
	answers chan answer // holds one, so that a late answer never blocks
	ended   chan struct{}
	away    bool // a call was given up and has not come back
}

func (r *runner) work() {
	defer close(r.ended)
	source := r.options.Source
	for j := range r.jobs {
		r.answers <- do(source, j)
	}
}

// do runs one job. A panic of the source goes into the answer: in this
// goroutine it would end the program before anybody could see to the relays.
func do(source Source, j job) (a answer) {
	defer func() { a.panicked = recover() }()
	switch j.kind {
	case startJob:
		a.conversion, a.err = source.Start()
	case readJob:
		a.err = source.Read(j.address, &a.pad)
	case searchJob:
		a.found, a.err = source.Search()
	}
	return a
}

// came hands on the panic of a job to whoever runs the bus.
func (a answer) came() answer {
	if a.panicked != nil {
		panic(a.panicked)
	}
	return a
}

// stop ends the goroutine, and waits for it unless it is away in a call that
// was given up. A call under way gets the longest deadline there is.
func (r *runner) stop() {
	close(r.jobs)
	if r.away {
		return
	}
	o := r.options
	timer := time.NewTimer(max(o.StartDeadline, o.ReadDeadline+time.Second, o.SearchDeadline))
	defer timer.Stop()
	select {
	case <-r.ended:
	case <-timer.C:
	}
}

// free says whether the goroutine can take a job, and throws away the answer
// that came too late.
func (r *runner) free() bool {
	if r.away {
		select {
		case a := <-r.answers:
			r.away = false
			a.came()
		default:
		}
	}
	return !r.away
}

func (r *runner) call(j job, deadline time.Duration) (answer, error) {
	if !r.free() {
		return answer{}, hungError("adapter hangs in an earlier call")
	}
	if r.ctx.Err() != nil {
		return answer{}, errStopped
	}
	r.jobs <- j // taken at once: the goroutine is idle
	timer := time.NewTimer(deadline)
	defer timer.Stop()
	select {
	case a := <-r.answers:
		return a.came(), nil
	case <-timer.C:
		r.away = true
		return answer{}, hungError(fmt.Sprintf("no answer within %v", deadline))
	case <-r.ctx.Done():
		return answer{}, errStopped
	}
}

func (r *runner) now() time.Duration { return r.options.Now() }

func (r *runner) start() (Conversion, error) {
	a, err := r.call(job{kind: startJob}, r.options.StartDeadline)
	if err != nil {
		return Conversion{}, err
	}
	return a.conversion, a.err
}

func (r *runner) wait(d time.Duration) error {
	if d <= 0 {
		return nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-r.ctx.Done():
		return errStopped
	}
}

func (r *runner) read(a onewire.Address, pad *[9]byte, converts bool) error {
	deadline := r.options.ReadDeadline
	if converts {
		deadline += time.Second
	}
	got, err := r.call(job{kind: readJob, address: a}, deadline)
	if err != nil {
		return err
	}
	*pad = got.pad
	return got.err
}
