package journal

import (
	"errors"
	"time"
)

// Options of Open and NewMemory. The zero value of each field stands for the
// value in brackets.
type Options struct {
	Reason  string // of this start, for the record
	Version string // of the program
	Boot    string // the kernel's boot id [a random one]

	// Clock gives the time of what is recorded between ticks [time.Now, with
	// the monotonic time counted from Open and the wall clock not trusted].
	Clock func() Moment

	Block        time.Duration // longest block of ticks [5 min]
	Head         time.Duration // least time between two syncs of what is not urgent [1 min]
	Deadline     time.Duration // after which a stuck writer is abandoned [20 s]
	Retry        time.Duration // first pause after a failed write, doubling to 32 times [1 s]
	QueueBlocks  int           // blocks that may wait before they are thinned [512]
	QueueEntries int           // other entries that may wait [16384]
	NearlyFull   uint64        // bytes free on the card below which it is nearly full [64 MiB]
	Reserve      int64         // bytes kept in a file beside the journal for a full card [1 MiB]

	// Free gives the bytes free where the journal lies [statfs].
	Free func(path string) (uint64, error)

	// Troubled is told, in the writer's goroutine, why the file has to be opened
	// again, with the stack where it was a panic [nobody].
	Troubled func(reason, stack string)

	// Panicked is told of a panic in the journal's own goroutine, which then
	// ends: whoever switches relays must open them first [the program ends].
	Panicked func(v any)

	// NoTicks leaves the blocks of ticks out. Only a Memory may.
	NoTicks bool
	// Alone says that only one goroutine uses the record, so that nothing is
	// locked. Only a Memory may.
	Alone bool

	vfs      string        // name of the SQLite file layer, for tests
	busy     time.Duration // to wait for another connection's lock [2 s]
	logPages int           // pages after which the log is emptied, for tests
}

func (o *Options) defaults() {
	set(&o.Block, 5*time.Minute)
	set(&o.Head, time.Minute)
	set(&o.Deadline, 20*time.Second)
	set(&o.Retry, time.Second)
	set(&o.QueueBlocks, 512)
	set(&o.QueueEntries, 16384)
	set(&o.NearlyFull, 64<<20)
	set(&o.Reserve, 1<<20)
	set(&o.busy, 2*time.Second)
	set(&o.logPages, emptyLogAt)
	if o.Clock == nil {
		started := time.Now()
		o.Clock = func() Moment {
			t := time.Now()
			return Moment{Now: t.Sub(started).Truncate(time.Millisecond), Wall: t.UTC()}
		}
	}
	if o.Free == nil {
		o.Free = freeBytes
	}
}

func set[T comparable](p *T, v T) {
	var zero T
	if *p == zero {
		*p = v
	}
}

// The errors of this package. Test for them with errors.Is.
var (
	// ErrForeign: the file is a database, but not a journal of this program.
	ErrForeign = errors.New("not a journal of this program")
	// ErrNewer: the journal was written by a later version.
	ErrNewer = errors.New("written by a later version of this program")
	// ErrDamaged: the file was a journal, and cannot be relied upon as it is.
	ErrDamaged = errors.New("the journal is damaged")
	// ErrNotDatabase: the file is no database at all.
	ErrNotDatabase = errors.New("not a database")
	// ErrQueueFull: too much waits for a card that does not answer.
	ErrQueueFull = errors.New("the journal's queue is full")
	// ErrNotWritten: the journal was closed before this could be written.
	ErrNotWritten = errors.New("not written before the journal was closed")
	// ErrClosed: the journal is closed.
	ErrClosed = errors.New("the journal is closed")
)
