package journal

import (
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// Recorder is what the program records into: a Journal on a card or a Memory.
// Every method may be called from any goroutine, except Tick, which belongs to
// the goroutine of the loop. None but Prove and Close waits for the card.
type Recorder interface {
	// Tick records one tick. It copies what it needs. The Receipt of a tick
	// that is not urgent is done at once: there is nothing to wait for.
	Tick(*loop.Result) Receipt
	// SaveState keeps the bytes of controller.Station.Save; synced. The same
	// bytes again are not written again.
	SaveState(station string, state []byte) Receipt
	// LoadStates gives the latest saved state of every station.
	LoadStates() (map[string][]byte, error)
	// Prove writes to the store, reads it back from the card by another
	// connection and compares.
	Prove() error
	// Config keeps the text of a configuration.
	Config(name string, text []byte) Receipt
	// Settings keeps what a station was told; replay needs it before the
	// station's first tick. Core is the version of the decision core.
	Settings(station, core string, s controller.Settings) Receipt
	// Restored keeps the saved state that a station began this run with, nil for
	// none; replay begins with it.
	Restored(station string, state []byte) Receipt
	// Note keeps a person's words; synced.
	Note(station, who, text string) Receipt
	// Document keeps one JSON value of a topic ("treatment", "case",
	// "calibration") under an identity; synced. It is never thinned.
	Document(station, topic, id string, json []byte) Receipt
	// GapRule shortens the station's blocks to half of rule and exempts them
	// from thinning, while a treatment runs. Zero ends it.
	GapRule(station string, rule time.Duration)
	// Stop keeps the reason for an orderly end; synced.
	Stop(reason string) Receipt
	// Health says how the record is doing.
	Health() Health
	// Close writes what waits, at most for Options.Deadline, and ends.
	Close() error
}

// Receipt follows one recording to the card. The zero Receipt is done.
type Receipt struct{ r *receipt }

type receipt struct {
	done chan struct{}
	err  error
}

func newReceipt() *receipt { return &receipt{done: make(chan struct{})} }

func (r *receipt) finish(err error) {
	r.err = err
	close(r.done)
}

var closedChannel = func() chan struct{} { c := make(chan struct{}); close(c); return c }()

// Done is closed when the recording is on the card, or never will be.
func (r Receipt) Done() <-chan struct{} {
	if r.r == nil {
		return closedChannel
	}
	return r.r.done
}

// Err says, once Done is closed, why it is not on the card. Before, it is nil.
func (r Receipt) Err() error {
	if r.r == nil {
		return nil
	}
	select {
	case <-r.r.done:
		return r.r.err
	default:
		return nil
	}
}

func refused(err error) Receipt {
	r := newReceipt()
	r.finish(err)
	return Receipt{r}
}

// Moment is the time on all clocks. Wall is UTC.
type Moment struct {
	Now     time.Duration // monotonic, since the start of the program
	Wall    time.Time
	Trusted bool
}

// Health says how the record is doing. The zero value claims nothing good.
type Health struct {
	OK         bool
	Problem    string // what a person should know, empty when OK
	NearlyFull bool   // the card has little room left
	Queue      int    // entries that wait
	Entries    uint64 // in the journal
	Durable    uint64 // of them, those that a sync has covered
	Synced     time.Time
	Head       [32]byte // chain head over Entries
	Thinned    uint64   // blocks whose detail was given up in this run
	Lost       uint64   // entries that were refused in this run
	Reopened   uint64   // times the file had to be opened again in this run
}
