package journal

import (
	"context"
	"errors"
	"fmt"
	"time"

	"database/sql"

	"soakwarden/internal/journal/entry"
)

// Previous is what the journal knows of the runs before this one.
type Previous struct {
	First   bool // there was none
	Unclean bool // the last one did not stop in order
	// Restarts counts unclean starts, this one included, going back until the
	// runs between them make an hour. It needs no wall clock: time without
	// power is not counted, which errs to the side of more restarts.
	Restarts int
}

const (
	restartSpan = time.Hour
	mostRuns    = 20 // looked at
)

// previous looks at the last runs. The session has written nothing yet.
func (s *session) previous(ctx context.Context) (Previous, error) {
	p := Previous{First: s.tree.Size() == 0}
	if p.First {
		return p, nil
	}
	last, err := s.lastBefore(ctx, s.tree.Size()+1)
	if err != nil {
		return p, err
	}
	p.Unclean = last.Body.Kind() != entry.KindStop
	unclean, span := p.Unclean, last.Now
	for run := s.run; run > 0 && s.run-run < mostRuns; run-- {
		if unclean {
			p.Restarts++
		}
		if span >= restartSpan {
			break
		}
		start, err := s.startOf(ctx, run)
		if err != nil {
			return p, err
		}
		unclean = start.Body.(*entry.Start).Unclean
		if start.Seq <= 1 {
			break
		}
		before, err := s.lastBefore(ctx, start.Seq)
		if err != nil {
			return p, err
		}
		span += before.Now
	}
	return p, nil
}

// lastBefore is the last entry before seq whose body is there.
func (s *session) lastBefore(ctx context.Context, seq uint64) (entry.Entry, error) {
	return s.decode(ctx, "SELECT body FROM entry WHERE seq < ? AND body IS NOT NULL ORDER BY seq DESC LIMIT 1", int64(seq))
}

func (s *session) startOf(ctx context.Context, run uint32) (entry.Entry, error) {
	e, err := s.decode(ctx, "SELECT body FROM entry WHERE seq = (SELECT seq FROM run WHERE run = ?)", int64(run))
	if err == nil && e.Body.Kind() != entry.KindStart {
		err = fmt.Errorf("%s: %w: entry %d should start run %d", s.path, ErrDamaged, e.Seq, run)
	}
	return e, err
}

func (s *session) decode(ctx context.Context, query string, arg int64) (entry.Entry, error) {
	var b []byte
	err := s.conn.QueryRowContext(ctx, query, arg).Scan(&b)
	if errors.Is(err, sql.ErrNoRows) {
		return entry.Entry{}, fmt.Errorf("%s: %w: an entry near %d is missing", s.path, ErrDamaged, arg)
	}
	if err != nil {
		return entry.Entry{}, fmt.Errorf("reading the journal %s: %w", s.path, err)
	}
	e, err := entry.Decode(b)
	if err != nil {
		return e, fmt.Errorf("%s: %w near entry %d: %w", s.path, ErrDamaged, arg, err)
	}
	return e, nil
}
