package daemon

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"soakwarden/internal/relay"
)

const (
	lifeFile = "life"
	lifeSpan = time.Hour // unclean starts are counted over this time
)

// life is the durable note of whether the program ended in order. It is written
// as running before anything can heat, and as ended only when every relay was
// off.
type life struct {
	path    string
	Running bool        `json:"running"`
	Unclean []time.Time `json:"unclean"` // unclean starts within the last hour
}

// begin notes a start. An unreadable note counts as an unclean stop. Without a
// trustworthy clock a start may look younger than it is, never older, because
// boards without one begin where they stopped: too many are counted then, and
// steady makes up for it.
func begin(dir string, now time.Time) (*life, bool, error) {
	l := &life{path: filepath.Join(dir, lifeFile)}
	data, err := os.ReadFile(l.path)
	unclean := false
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		unclean = true
	default:
		if bad := json.Unmarshal(data, l); bad != nil {
			l.Unclean, unclean = nil, true
		} else {
			unclean = l.Running
		}
	}
	kept := l.Unclean[:0]
	for _, t := range l.Unclean {
		if age := now.Sub(t); age < lifeSpan && age > -lifeSpan {
			kept = append(kept, t)
		}
	}
	l.Unclean = kept
	if unclean {
		l.Unclean = append(l.Unclean, now.UTC())
	}
	// A note grows no further than it counts: the third start latches.
	if n := len(l.Unclean); n > 100 {
		l.Unclean = l.Unclean[n-100:]
	}
	l.Running = true
	return l, unclean, l.save()
}

// restarts is the number of unclean starts within the last hour.
func (l *life) restarts() uint8 { return uint8(len(l.Unclean)) }

// steady notes that the program ran for an hour: what was before is over.
func (l *life) steady() error {
	if len(l.Unclean) == 0 {
		return nil
	}
	l.Unclean = nil
	return l.save()
}

// undo takes back a start after an unclean stop that came to nothing.
func (l *life) undo() error {
	if n := len(l.Unclean); n > 0 {
		l.Unclean = l.Unclean[:n-1]
	}
	return l.save()
}

// end notes an orderly stop.
func (l *life) end() error {
	l.Running = false
	return l.save()
}

func (l *life) save() error {
	data, err := json.Marshal(l)
	if err == nil {
		err = relay.WriteDurable(l.path, append(data, '\n'))
	}
	if err != nil {
		return fmt.Errorf("note whether the program runs: %w", err)
	}
	return nil
}
